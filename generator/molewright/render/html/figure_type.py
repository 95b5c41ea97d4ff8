"""Words of a figure come in; their lines and measures in points go out. Writes nothing.

A drawing breaks no lines by itself: they are broken here, by widths that hold for the usual sans typefaces.
"""

from __future__ import annotations

from functools import lru_cache
from math import fsum
from typing import NamedTuple

from molewright.nodes.drawing.strokes import MM, Words
from molewright.nodes.inline import Gap, Inline, Line, Symbol, Text
from molewright.render.html.escape import runs
from molewright.render.letter_widths import ems
from molewright.render.text.lines import plain_line

SIZE, LEADING = 10.5, 13.0  # points
BASELINE = 9.7  # from the top of a line to its baseline
CAPITALS = 0.36  # half their height, in ems
SMALLER = 0.72  # raised and lowered figures
_DOT = "."


class Run(NamedTuple):
    """Letters of one look: raised (1), lowered (-1) or neither."""

    text: str
    bold: bool
    italic: bool
    raised: int

    @property
    def width(self) -> float:
        """About its width in points."""
        return ems(self.text, self.bold) * SIZE * (SMALLER if self.raised else 1.0)


Word = tuple[Run, ...]


class FigureType:
    """The measures of a picture that a browser will set."""

    @property
    def leading(self) -> float:
        """From line to line."""
        return LEADING

    def width(self, line: Line, bold: bool = False) -> float:
        """Of the line when nothing breaks it."""
        return row_width(_words(line, bold))

    def widest(self, line: Line, bold: bool = False) -> float:
        """Of the widest word of the line."""
        return max((row_width((word,)) for word in _words(line, bold)), default=0.0)

    def height(self, words: Words) -> float:
        """Of all their lines."""
        return len(rows(words)) * LEADING

    def said(self, line: Line) -> str:
        """The line as words."""
        return plain_line(line)


@lru_cache(maxsize=512)
def rows(words: Words) -> list[tuple[Word, ...]]:
    """The words broken into lines that their column holds; a word too wide for it has a line of its own."""
    found: list[tuple[Word, ...]] = []
    for line, bold in words.lines:
        row: list[Word] = []
        for word in _words(line, bold):
            if row and row_width((*row, word)) > words.width + 0.5:
                found.append(tuple(row))
                row = []
            row.append(word)
        if row:
            found.append(tuple(row))
    return found


def row_width(row: tuple[Word, ...]) -> float:
    """About the width of words side by side."""
    return fsum(run.width for word in row for run in word) + max(0, len(row) - 1) * ems(" ") * SIZE


@lru_cache(maxsize=2048)
def _words(line: Line, bold: bool) -> tuple[Word, ...]:
    """A line parted at its spaces."""
    found: list[list[Run]] = [[]]
    for node in line:
        for text, strong, italic in _pieces(node, bold):
            for place, piece in enumerate(text.split(" ")):
                if place:
                    found.append([])
                found[-1] += [Run(one, strong, italic, raised) for one, raised in runs(piece)]
    return tuple(tuple(word) for word in found if word)


def _pieces(node: Inline, bold: bool) -> list[tuple[str, bool, bool]]:
    """Text, whether it is bold, whether it is italic; working stands on the line."""
    if isinstance(node, Text):
        return [(node.text, bold or node.bold, node.italic)]
    if isinstance(node, Symbol):
        return [(node.letter, bold, True), (plain_line((node,)).removeprefix(node.letter), bold, False)]
    if isinstance(node, Gap):
        dots = _DOT * max(3, round(node.width_mm * MM / (ems(_DOT) * SIZE)))
        return [(dots + plain_line((node,)).lstrip(_DOT), bold, False)]
    return [(plain_line((node,)), bold or getattr(node, "bold", False), False)]
