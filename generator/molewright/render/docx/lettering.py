"""Words come in; their measures in FiraGO and their places on a line go out. Draws nothing.

The typeface is that of the PDF, so that pictures look alike; running text of a Word document is of about the same width.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from math import fsum
from typing import TYPE_CHECKING, assert_never

from molewright.chem.units import NO_BREAK
from molewright.nodes.drawing.strokes import MM, Words
from molewright.nodes.inline import Amount, Chem, Equation, Gap, Inline, Line, Maths, Symbol, Text
from molewright.render.docx.markup import levelled
from molewright.render.pdf.look import PUPIL
from molewright.render.text.lines import plain_line

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

REGULAR, BOLD, ITALIC = range(3)  # bold italic is the sum of the two
LOWERED = 0.65  # size of a lowered letter, against the letters beside it
_MODULES = ("FiraGO_Regular", "FiraGO_Bold", "FiraGO_Italic", "FiraGO_BoldItalic")
_MEASURED_AT = 200  # pixels an em: fine enough for measures, coarse enough to be quick
_LACKING = "\U0010ffff"  # no typeface holds it

_CAPITALS = 0.345  # half their height, in ems, as in the PDF


@dataclass(frozen=True, slots=True)
class Letters:
    """Letters of one face; lowered ones are smaller."""

    text: str
    face: int
    lowered: bool = False

    @property
    def width(self) -> float:
        """In ems of the line's size."""
        return text_width(self.text, self.face) * (LOWERED if self.lowered else 1.0)


@lru_cache(maxsize=4)
def _file(face: int) -> bytes:
    held: bytes = import_module(f"pymupdf_fonts.{_MODULES[face]}").fontbuffer
    return held


@lru_cache(maxsize=32)
def font(face: int, pixels: float) -> FreeTypeFont:
    """A face at a size. Letters are placed one after the other with their kerning, whatever else is on the machine."""
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(_file(face)), pixels, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=8192)
def text_width(text: str, face: int = REGULAR) -> float:
    """In ems."""
    return font(face, _MEASURED_AT).getlength(text) / _MEASURED_AT


@lru_cache(maxsize=2048)
def has(letter: str) -> bool:
    """Whether the typeface holds a letter."""
    held = font(REGULAR, 20)
    return letter.isspace() or bytes(held.getmask(letter)) != bytes(held.getmask(_LACKING))


def _letters(text: str, face: int) -> Iterable[Letters]:
    """The typeface has raised and lowered figures of its own, but no lowered letters."""
    end = 0
    for level, piece in levelled(text):
        here = text[end : end + len(piece)]
        end += len(piece)
        yield Letters(piece, face, True) if level == "sub" and piece.isalpha() else Letters(here, face)


def _inline(node: Inline, bold: bool) -> Iterable[Letters]:
    face = BOLD if bold else REGULAR
    match node:
        case Text():
            yield from _letters(node.text, (BOLD if bold or node.bold else REGULAR) + (ITALIC if node.italic else 0))
        case Amount() | Chem():
            yield from _letters(plain_line((node,)), BOLD if bold or node.bold else REGULAR)
        case Symbol():
            yield Letters(node.letter, face + ITALIC)
            yield from _letters(plain_line((node,))[len(node.letter) :], face)
        case Gap():
            dots = max(3, round(node.width_mm * MM / (PUPIL.figure.size * text_width("."))))
            unit = f"{NO_BREAK}{node.unit.replace(' ', NO_BREAK)}" if node.unit else ""
            yield from _letters("." * dots + unit, face)
        case Equation() | Maths():
            yield from _letters(plain_line((node,)), face)
        case _:
            assert_never(node)


def _words(line: Line, bold: bool) -> list[list[Letters]]:
    """What must not break, piece by piece."""
    words: list[list[Letters]] = [[]]
    for node in line:
        for letters in _inline(node, bold):
            first, *others = letters.text.split(" ")
            words[-1].append(Letters(first, letters.face, letters.lowered))
            words += [[Letters(other, letters.face, letters.lowered)] for other in others]
    return words


def _width(word: Iterable[Letters]) -> float:
    return fsum(letters.width for letters in word)


@dataclass(frozen=True, slots=True)
class Set:
    """Letters with their left edge and baseline."""

    x: float
    baseline: float
    letters: Letters


@dataclass(frozen=True, slots=True)
class SmallType:
    """The small type of a sheet, of a size in points."""

    size: float

    @property
    def leading(self) -> float:
        """From line to line."""
        return 1.27 * self.size

    def width(self, line: Line, bold: bool = False) -> float:
        """Of the line when nothing breaks it."""
        space = text_width(" ", BOLD if bold else REGULAR)
        words = _words(line, bold)
        return self.size * (fsum(map(_width, words)) + space * (len(words) - 1))

    def widest(self, line: Line, bold: bool = False) -> float:
        """Of the widest thing in the line that must not break."""
        return self.size * max(map(_width, _words(line, bold)), default=0.0)

    def height(self, words: Words) -> float:
        """Of all their lines."""
        return self.leading * len(self._rows(words))

    def said(self, line: Line) -> str:
        """The line as words."""
        return plain_line(line)

    def lacks(self, words: Words) -> bool:
        """Whether a letter of theirs is in no face."""
        return any(
            not has(letter)
            for line, bold in words.lines
            for word in _words(line, bold)
            for letters in word
            for letter in letters.text
        )

    def placed(self, words: Words) -> tuple[list[Set], float, float]:
        """Their letters, each with its place; the top of them all, and their height."""
        rows = self._rows(words)
        tall = self.leading * len(rows)
        first = 0.9 * self.size + (self.leading - 1.25 * self.size) / 2  # from the top of a line to its baseline
        top = words.top(tall, _CAPITALS * self.size, first)
        made: list[Set] = []
        for number, (row, bold) in enumerate(rows):
            space = self.size * text_width(" ", BOLD if bold else REGULAR)
            used = self.size * fsum(map(_width, row)) + space * (len(row) - 1)
            x = words.x + {"left": 0.0, "centre": (words.width - used) / 2, "right": words.width - used}[words.across]
            for word in row:
                for letters in word:
                    drop = 0.16 * self.size if letters.lowered else 0.0
                    made.append(Set(x, top + number * self.leading + first + drop, letters))
                    x += self.size * letters.width
                x += space
        return made, top, tall

    def _rows(self, words: Words) -> list[tuple[list[list[Letters]], bool]]:
        rows: list[tuple[list[list[Letters]], bool]] = []
        for line, bold in words.lines:
            if not line:
                continue
            space = text_width(" ", BOLD if bold else REGULAR)
            row: list[list[Letters]] = []
            used = 0.0
            for word in _words(line, bold):
                wide = _width(word)
                if row and (used + space + wide) * self.size > words.width + 0.01:
                    rows.append((row, bold))
                    row, used = [], 0.0
                used += wide + (space if row else 0.0)
                row.append(word)
            rows.append((row, bold))
        return rows
