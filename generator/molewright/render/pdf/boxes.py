"""Words become boxes with a width and strokes; boxes on a line become page content. Decides no line and no page.

A box is measured from the left end of its baseline, y upwards. A stroke is a tuple whose first member names its kind.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, cast

from molewright.errors import Mistake, shortened
from molewright.render.pdf import fonts
from molewright.render.pdf.glyphs import drawn
from molewright.render.pdf.look import ASCENT, DESCENT, RULE

_OTHER_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f]")

# ("text", x, y, font, size, code, width, stretch) | ("bar", x, y, width, height) | ("dots", x, y, width)
# ("draw", x, y, size, character) | ("says", x, y, words) | ("expands", x, y, words) | ("end", x, y)
Stroke = tuple[str, float, float, *tuple[object, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """The words that stand for one formula in a screen reader; all strokes of the formula share the one value."""

    words: str


class Box(NamedTuple):
    """Something that never breaks. `word` is kept where it may be broken by force; `glue` is a space between boxes."""

    width: float
    up: float
    down: float
    strokes: tuple[Stroke, ...]
    word: tuple[str, int, float] | None = None  # text, face, size
    glue: bool = False
    spoken: Spoken | None = None
    hang: float = 0.0  # where a line begins that starts with this box


@lru_cache(maxsize=8192)
def word_box(text: str, face: int, size: float, rise: float = 0.0) -> Box:
    """A word in one face and size, `rise` points above the baseline."""
    strokes: list[Stroke] = []
    x = 0.0
    for run in fonts.runs(text, face):
        width = run.width * size / 1000
        if run.drawn:
            strokes.append(("draw", x, rise, size, run.drawn))
        else:
            y = rise + run.rise * size / 1000
            strokes.append(("text", x, y, run.font, round(size * run.scale, 2), run.code, width, 1.0))
        x += width
    return Box(x, ASCENT * size + rise, max(0.0, DESCENT * size - rise), tuple(strokes), (text, face, size))


@lru_cache(maxsize=256)
def space_box(face: int, size: float) -> Box:
    """A space at which a line may break."""
    word = word_box(" ", face, size)
    return Box(word.width, word.up, word.down, word.strokes, glue=True)


def moved(strokes: Iterable[Stroke], dx: float, dy: float) -> list[Stroke]:
    """The strokes at another place."""
    return [(kind, x + dx, y + dy, *rest) for kind, x, y, *rest in strokes]


def row(boxes: Iterable[tuple[float, Box]], space: Box | None = None) -> Box:
    """Boxes on one baseline, each after its own gap; with `space` a gap is a real space for whoever copies the text."""
    strokes: list[Stroke] = []
    x = up = down = 0.0
    for gap, box in boxes:
        if gap and space is not None:
            strokes.extend(moved(space.strokes, x, 0.0))
        x += gap
        strokes.extend(moved(box.strokes, x, 0.0))
        x += box.width
        up, down = max(up, box.up), max(down, box.down)
    return Box(x, up, down, tuple(strokes))


def shrunk(box: Box, width: float) -> Box:
    """The box made small enough for a width: the last resort for what must not break."""
    share = width / box.width
    strokes: list[Stroke] = []
    for kind, x, y, *rest in box.strokes:
        if kind == "text":
            font, size, code, wide, stretch = rest
            rest = [font, _smaller(size, share), code, _smaller(wide, share, 6), stretch]
        elif kind == "draw":
            rest = [_smaller(rest[0], share), *rest[1:]]
        elif kind in ("bar", "dots"):
            rest = [_smaller(rest[0], share, 6), *rest[1:]]
        strokes.append((kind, x * share, y * share, *rest))
    return Box(width, box.up * share, box.down * share, tuple(strokes), None, box.glue, box.spoken, box.hang)


def _smaller(number: object, share: float, places: int = 3) -> float:
    assert isinstance(number, int | float)
    return round(number * share, places)


def hexadecimal(text: str) -> str:
    """Text as a PDF string in UTF-16, for words that are read and never drawn. Refuses what no reader can show."""
    return f"<FEFF{readable(text).encode('utf-16-be').hex().upper()}>"


def readable(text: str) -> str:
    """The text with ordinary spaces. Raises Mistake for control characters."""
    plain = text if text.isprintable() else _OTHER_SPACES.sub(" ", text)
    if not plain.isprintable():
        raise Mistake(f"a control character in {shortened(text)}", expected="printable text", do="Remove it.")
    return plain


def content(placed: Iterable[tuple[float, float, tuple[Stroke, ...]]]) -> str:
    """Page content for strokes moved by x and y: one text object as far as possible, bars after it."""
    out: list[str] = []
    after: list[str] = []
    pending: list[str] = []
    inside = False
    font = ""
    size = pen = level = 0.0
    for kind, x, y, rest in ((s[0], s[1] + dx, s[2] + dy, s[3:]) for dx, dy, strokes in placed for s in strokes):
        if kind == "text":
            its_font, its_size, code, width, stretch = cast(tuple[str, float, str, float, float], rest)
            same = its_font == font and its_size == size and inside and stretch == 1.0
            if same and pending and y == level and abs(x - pen) < 0.02:
                pending.append(code)
                pen += width
                continue
            if pending:
                out.append(f"[({''.join(pending)})]TJ")
            if not inside:
                out.append("BT")
                inside = True
                same = its_font == font and its_size == size
            if its_font != font or its_size != size:
                out.append(f"/{its_font} {its_size:g} Tf")
                font, size = its_font, its_size
            out.append(f"1 0 0 {stretch:.4g} {x:.2f} {y:.2f} Tm")
            pending = [code]
            pen, level = x + width, y if stretch == 1.0 else -1e9
            continue
        if pending:
            out.append(f"[({''.join(pending)})]TJ")
            pending = []
        if kind == "bar":
            after.append(f"{x:.2f} {y:.2f} {rest[0]:.2f} {rest[1]:.2f} re f")
        elif kind == "dots":
            after.append(dots(x, y, rest[0]))
        else:
            if inside:
                out.append("ET")
                inside = False
                font = ""
            if kind == "says":
                out.append(f"/Span <</ActualText {hexadecimal(str(rest[0]))}>> BDC")
            elif kind == "expands":
                out.append(f"/Span <</E {hexadecimal(str(rest[0]))}>> BDC")
            elif kind == "end":
                out.append("EMC")
            else:
                out.append(_drawing(x, y, rest[0], str(rest[1])))
    if pending:
        out.append(f"[({''.join(pending)})]TJ")
    if inside:
        out.append("ET")
    return "\n".join(out + after)


def dots(x: float, y: float, width: object) -> str:
    """A rule of round dots, to write on."""
    assert isinstance(width, int | float)
    return f"q 1 J 0.8 w [0 2.8] 0 d {x:.2f} {y:.2f} m {x + width:.2f} {y:.2f} l S Q"


def bar(x: float, y: float, width: float, height: float = RULE) -> str:
    """A solid rule with its lower left corner at x, y."""
    return f"{x:.2f} {y:.2f} {width:.2f} {height:.2f} re f"


def _drawing(x: float, y: float, size: object, character: str) -> str:
    assert isinstance(size, int | float)
    drawing = drawn(character)
    return (
        f"/Span <</ActualText {hexadecimal(character)}>> BDC "
        f"q {size / 1000:.5f} 0 0 {size / 1000:.5f} {x:.2f} {y:.2f} cm 1 J 1 j {drawing.weight:g} w {drawing.path} Q EMC"
    )
