"""Words come in; boxes with a width and strokes go out. Decides no line and no page, and writes no page content.

A box is measured from the left end of its baseline, y upwards. A stroke is a tuple: its kind, its place, and what else its kind has.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, cast

from molewright.render.pdf import fonts
from molewright.render.pdf.look import ASCENT, DESCENT

Stroke = tuple[str, float, float, tuple[object, ...]]
"""Kind, x, y, and of a "text" (font, size, code, width, stretch), of a "bar" (width, height), of "dots" (width,), of a "draw"
(size, character), of what "says" or "expands" something (words,), of the "end" of that ()."""

Shown = tuple[str, float, str, float, float]  # what a "text" has
APART = frozenset(("says", "expands", "draw"))  # kinds that a reader hears otherwise than they are drawn


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
            strokes.append(("draw", x, rise, (size, run.drawn)))
        else:
            y = rise + run.rise * size / 1000
            strokes.append(("text", x, y, (run.font, round(size * run.scale, 2), run.code, width, 1.0)))
        x += width
    return Box(x, ASCENT * size + rise, max(0.0, DESCENT * size - rise), tuple(strokes), (text, face, size))


@lru_cache(maxsize=4096)
def unbroken_box(text: str, face: int, size: float) -> Box:
    """A word that is made smaller rather than broken where a line is too short for it."""
    return word_box(text, face, size)._replace(word=None)


@lru_cache(maxsize=256)
def space_box(face: int, size: float) -> Box:
    """A space at which a line may break."""
    word = word_box(" ", face, size)
    return Box(word.width, word.up, word.down, word.strokes, glue=True)


def moved(strokes: Iterable[Stroke], dx: float, dy: float) -> list[Stroke]:
    """The strokes at another place."""
    return [(kind, x + dx, y + dy, rest) for kind, x, y, rest in strokes]


def row(boxes: Iterable[tuple[float, Box]], space: Box | None = None) -> Box:
    """Boxes on one baseline, each after its own gap; with `space` a gap is a real space for whoever copies the text."""
    strokes: list[Stroke] = []
    x = up = down = 0.0
    for gap, box in boxes:
        if gap:
            if space is not None:
                strokes += [(kind, left + x, y, rest) for kind, left, y, rest in space.strokes]
            x += gap
        strokes += [(kind, left + x, y, rest) for kind, left, y, rest in box.strokes] if x else box.strokes
        x += box.width
        up = box.up if box.up > up else up
        down = box.down if box.down > down else down
    return Box(x, up, down, tuple(strokes))


def shrunk(box: Box, width: float) -> Box:
    """The box made small enough for a width: the last resort for what must not break."""
    share = width / box.width
    strokes: list[Stroke] = []
    for kind, x, y, rest in box.strokes:
        if kind == "text":
            font, size, code, wide, stretch = cast(Shown, rest)
            rest = (font, round(size * share, 3), code, round(wide * share, 6), stretch)
        elif kind in ("draw", "bar", "dots"):
            rest = (round(cast(float, rest[0]) * share, 3 if kind == "draw" else 6), *rest[1:])
        strokes.append((kind, x * share, y * share, rest))
    return Box(width, box.up * share, box.down * share, tuple(strokes), None, box.glue, box.spoken, box.hang)
