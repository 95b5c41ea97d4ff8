"""Strokes come in; the content of a page goes out, in the operators of PDF. Decides no place: each stroke knows its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from math import fsum
from typing import NamedTuple, cast

from molewright.errors import Mistake, shortened
from molewright.render.pdf.boxes import APART, Shown, Stroke
from molewright.render.pdf.fonts import runs
from molewright.render.pdf.glyphs import drawn
from molewright.render.pdf.look import RULE

Placed = tuple[float, float, tuple[Stroke, ...]]
"""Where strokes stand: x, y, the strokes."""


class Aside(NamedTuple):
    """What stands in a reader for a piece of a line: its own words ("ActualText"), or what it is short for ("E")."""

    key: str
    words: str

    @property
    def entry(self) -> str:
        """The entry of a property list or a structure element (ISO 32000-1, 14.9.4 and 14.9.5)."""
        return f"/{self.key} {hexadecimal(self.words)}"


_ASIDES = {"says": "ActualText", "expands": "E"}
_OTHER_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f]")
_NOWHERE = -1e9  # no line of text has its baseline there
_CLOSE = 0.02  # points between what ends and what begins at one place


def hexadecimal(text: str) -> str:
    """Text as a PDF string in UTF-16, for words that are read and never drawn. Refuses what no reader can show."""
    return f"<FEFF{readable(text).encode('utf-16-be').hex().upper()}>"


def readable(text: str) -> str:
    """The text with ordinary spaces. Raises Mistake for control characters."""
    plain = text if text.isprintable() else _OTHER_SPACES.sub(" ", text)
    if not plain.isprintable():
        raise Mistake(f"a control character in {shortened(text)}", expected="printable text", do="Remove it.")
    return plain


def parted(placed: Iterable[Placed]) -> Iterator[tuple[Aside | None, str]]:
    """Page content in pieces, so that each aside has a mark of its own.

    An aside within the mark of a formula would be lost with all that follows it: readers of the structure tree end the
    formula where it ends.
    """
    waiting: list[Placed] = []
    aside: Aside | None = None
    depth = 0
    for dx, dy, strokes in placed:
        start = 0
        for at, (kind, _, _, rest) in enumerate(strokes):
            if (kind not in APART and kind != "end") or (kind == "draw" and depth):
                continue
            waiting.append((dx, dy, strokes[start:at]))
            start = at if kind == "draw" else at + 1
            if not depth:  # a character that is drawn is read as itself
                if any(held for _, _, held in waiting):
                    yield None, _all_of(waiting)
                waiting, aside = [], Aside(_ASIDES.get(kind, "ActualText"), str(rest[-1]))
            depth += (kind in _ASIDES) - (kind == "end")
            if kind == "draw":
                waiting.append((dx, dy, strokes[at : at + 1]))
                start = at + 1
            if aside is not None and not depth:
                yield aside, _all_of(waiting)
                waiting, aside = [], None
        waiting.append((dx, dy, strokes[start:]))
    if any(held for _, _, held in waiting):
        yield None, _all_of(waiting)


def _all_of(placed: Iterable[Placed]) -> str:
    made = _written(placed)
    assert made is not None, "nothing is refused"
    return made


def content(placed: Iterable[Placed]) -> str | None:
    """Page content for strokes moved by x and y; None where a reader hears some of them otherwise than they are drawn (`parted`)."""
    return _written(placed, APART)


def _written(placed: Iterable[Placed], refused: frozenset[str] = frozenset()) -> str | None:
    """One text object as far as possible, bars after it; None for a stroke of a kind that is refused.

    Text that follows on in one font is shown by one operator. Every word of a paper comes through this loop.
    """
    out: list[str] = []
    after: list[str] = []
    pending = ""  # codes that stand one after the other on one line
    font, size, pen, level = "", 0.0, 0.0, 0.0  # no font: outside a text object
    for dx, dy, strokes in placed:
        for kind, x, y, rest in strokes:
            x += dx
            y += dy
            if kind != "text":
                if kind in refused:
                    return None
                if pending:
                    out.append(f"[({pending})]TJ")
                    pending = ""
                if kind == "draw":
                    out += ["ET"] if font else []
                    font = ""
                (out if kind == "draw" else after).append(_WRITTEN[kind](x, y, *rest))
                continue
            its_font, its_size, code, width, stretch = cast(Shown, rest)
            if pending:
                if (
                    its_font == font
                    and its_size == size
                    and stretch == 1.0
                    and y == level
                    and -_CLOSE < x - pen < _CLOSE
                ):
                    pending += code
                    pen += width
                    continue
                out.append(f"[({pending})]TJ")
            if its_font != font or its_size != size:
                if not font:
                    out.append("BT")
                out.append(f"/{its_font} {its_size:g} Tf")
                font, size = its_font, its_size
            out.append(f"1 0 0 {stretch:.4g} {x:.2f} {y:.2f} Tm")
            pending = code
            pen, level = x + width, y if stretch == 1.0 else _NOWHERE
    if font:
        out += [f"[({pending})]TJ", "ET"] if pending else ["ET"]
    return "\n".join([*out, *after])


_NARROW = 30  # hundredths of its width that a word has which is not seen


@lru_cache(maxsize=64)
def unseen(words: str, face: int, size: float, end: float, baseline: float) -> str:
    """Words that are copied and read aloud and not drawn (text rendering mode 3), ending where what is seen begins."""
    held = runs(words, face)
    x = end - fsum([run.width for run in held]) * size / 1000 * _NARROW / 100
    shown = " ".join(f"/{run.font} {size:g} Tf [({run.code})]TJ" for run in held)
    return f"q BT 3 Tr {_NARROW} Tz 1 0 0 1 {x:.2f} {baseline:.2f} Tm {shown} ET Q"


def dots(x: float, y: float, width: float) -> str:
    """A rule of round dots, to write on."""
    return f"q 1 J 0.8 w [0 2.8] 0 d {x:.2f} {y:.2f} m {x + width:.2f} {y:.2f} l S Q"


_DOTTED = re.compile(r"q 1 J 0\.8 w \[0 2\.8\] 0 d ([\d.-]+) ([\d.-]+) m ([\d.-]+) [\d.-]+ l S Q")


def dotted(written: str) -> Iterator[tuple[float, float, float]]:
    """The rules that `dots` wrote into some content: x, y, width."""
    for found in _DOTTED.finditer(written):
        x, y, end = map(float, found.groups())
        yield x, y, end - x


def bar(x: float, y: float, width: float, height: float = RULE) -> str:
    """A solid rule with its lower left corner at x, y."""
    return f"{x:.2f} {y:.2f} {width:.2f} {height:.2f} re f"


def _drawing(x: float, y: float, size: float, character: str) -> str:
    drawing = drawn(character)
    return f"q {size / 1000:.5f} 0 0 {size / 1000:.5f} {x:.2f} {y:.2f} cm 1 J 1 j {drawing.weight:g} w {drawing.path} Q"


_WRITTEN: dict[str, Callable[..., str]] = {"bar": bar, "dots": dots, "draw": _drawing}
