"""A line of inlines comes in; lines of a given width go out as page content, measured. Knows no page.

Breaks at spaces only; what is wider than the line is broken by force (words) or made smaller (formulae).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import fsum
from typing import NamedTuple, assert_never

from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Inline,
    Line,
    Maths,
    Symbol,
    Text,
)
from molewright.render.pdf import fonts, maths
from molewright.render.pdf.boxes import APART, Box, Spoken, Stroke, moved, shrunk, space_box, word_box
from molewright.render.pdf.content import Aside, Placed, content, parted
from molewright.render.pdf.look import DESCENT, ROOM, Style

Expansions = tuple[tuple[str, str], ...]

_SMALLER_YET = 1.5  # a word up to so many times too wide is made smaller, a wider one is cut
_WHOLE = 7  # a paragraph of up to this many lines is one piece; a longer one may break between lines


class Segment(NamedTuple):
    """Page content with one mark: the formula it belongs to, and what stands for it in a reader."""

    owner: Spoken | None
    content: str
    aside: Aside | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunk:
    """Lines that stay together, as content measured from their top left corner."""

    height: float
    width: float
    first: float  # from the top to the first baseline
    last: float  # from the top to the last baseline
    segments: tuple[Segment, ...]
    lines: int


@lru_cache(maxsize=4096)
def set_line(
    line: Line, style: Style, width: float, align: str = "left", expansions: Expansions = (), single: bool = False
) -> tuple[Chunk, ...]:
    """The line broken to the width. With `single` each line is a chunk of its own. Nothing to set gives ()."""
    lines = break_lines(boxes_of(line, style, width, dict(expansions)), width)
    if not lines:
        return ()
    tall = fsum(max(box.up + box.down for box in each) for each in lines) > ROOM / 3
    cuts = range(1, len(lines)) if single else _cuts(len(lines), 1 if tall else _WHOLE)
    starts = [0, *cuts, len(lines)]
    return tuple(_chunk(lines[start:end], style, width, align) for start, end in pairwise(starts))


def _cuts(count: int, whole: int) -> Sequence[int]:
    """Where a paragraph of more than so many lines may part: never one or two lines alone, unless it has no more than four."""
    if count <= whole:
        return ()
    return range(3, count - 2) if count > 5 else range(1, count)


def boxes_of(line: Iterable[Inline], style: Style, width: float, expansions: dict[str, str]) -> list[Box]:
    """Boxes and the spaces between them."""
    boxes: list[Box] = []
    for inline in line:
        match inline:
            case Text():
                boxes += _text_boxes(inline, style, expansions)
            case Amount():
                boxes.append(maths.amount_box(inline, style))
            case Chem():
                boxes.append(maths.chem_box(inline, style))
            case Symbol():
                boxes.append(maths.symbol_box(inline, style))
            case Gap():
                boxes.append(maths.gap_box(inline, style, width))
            case Equation():
                boxes += _equation(inline, style, width)
            case Maths():
                boxes += _between(maths.maths_boxes(inline, style, width), style)
            case _:
                assert_never(inline)
    return boxes


def _equation(equation: Equation, style: Style, width: float) -> list[Box]:
    """One box if the line can hold the whole equation, else its pieces with spaces."""
    pieces = maths.equation_boxes(equation, style)
    spaced = _between(pieces, style)
    if fsum(box.width for box in spaced) > width:
        return spaced
    strokes: list[Stroke] = []
    x = 0.0
    for box in spaced:
        strokes += moved(box.strokes, x, 0.0)
        x += box.width
    return [Box(x, max(b.up for b in pieces), max(b.down for b in pieces), tuple(strokes), spoken=pieces[0].spoken)]


def _between(pieces: list[Box], style: Style) -> list[Box]:
    space = space_box(maths.face_of(style), style.size)
    made: list[Box] = []
    for piece in pieces:
        if made:
            made.append(space._replace(spoken=piece.spoken))
        made.append(piece)
    return made


def _text_boxes(text: Text, style: Style, expansions: dict[str, str]) -> list[Box]:
    face = maths.face_of(style, text.bold, text.italic)
    space = space_box(face, style.size)
    boxes: list[Box] = []
    for index, word in enumerate(text.text.split(" ")):
        if index and not (boxes and boxes[-1].glue):
            boxes.append(space)
        if word:
            box = word_box(word, face + fonts.TABULAR if style.tabular else face, style.size)
            said = expansions.get(word.strip(".,;:()")) if expansions else None
            boxes.append(_expanded(box, said) if said else box)
    return boxes


def _expanded(box: Box, words: str) -> Box:
    """The box with the words that a screen reader says for its abbreviation."""
    return box._replace(strokes=(("expands", 0.0, 0.0, (words,)), *box.strokes, ("end", 0.0, 0.0, ())))


def break_lines(boxes: Iterable[Box], width: float) -> list[list[Box]]:
    """First fit: what stands between two spaces moves to the next line together."""
    lines: list[list[Box]] = []
    current: list[Box] = []
    used = 0.0
    space: Box | None = None
    for cluster, glue in _clusters(boxes):
        if glue is not None:
            space = glue
        hang = cluster[0].hang
        wide = fsum(box.width for box in cluster)
        gap = space.width if space is not None and current else 0.0
        if current and used + gap + wide > width + 0.01:
            lines.append(current)
            current, used, gap = [], hang, 0.0
        if not current:
            used = hang if lines else 0.0
        if wide > width - used + 0.01 and not current:
            for part in _forced(cluster, width, used):
                if current and used + part.width > width + 0.01:
                    lines.append(current)
                    current, used = [], 0.0
                current.append(part)
                used += part.width
            continue
        if gap and space is not None:
            current.append(space)
        current += cluster
        used += gap + wide
    if current:
        lines.append(current)
    return lines


def _clusters(boxes: Iterable[Box]) -> Iterable[tuple[list[Box], Box | None]]:
    """Boxes that touch, each cluster with the space before it."""
    cluster: list[Box] = []
    space: Box | None = None
    for box in boxes:
        if box.glue:
            if cluster:
                yield cluster, space
                cluster = []
            space = box
        else:
            cluster.append(box)
    if cluster:
        yield cluster, space


def _forced(cluster: list[Box], width: float, used: float) -> Iterable[Box]:
    """The boxes of a cluster that is too wide: words cut where the line ends, everything else made to fit."""
    room = width - used
    for box in cluster:
        if box.width <= width - used:
            yield box
        elif box.word is None or box.width < _SMALLER_YET * room:
            yield shrunk(box, room)
        else:
            yield from _cut(box, room)


def _cut(box: Box, room: float) -> Iterable[Box]:
    assert box.word is not None
    text, face, size = box.word
    piece = ""
    for character in text:
        if piece and word_box(piece + character, face, size).width > room:
            yield word_box(piece, face, size)._replace(spoken=box.spoken)
            piece = ""
        piece += character
    yield word_box(piece, face, size)._replace(spoken=box.spoken)


def _chunk(lines: Sequence[Sequence[Box]], style: Style, width: float, align: str) -> Chunk:
    """Boxes placed: baselines, alignment, a space at each line's end so that readers do not join words."""
    segments: list[Segment] = []
    placed: list[Placed] = []
    owner: Spoken | None = None
    y = first = last = widest = 0.0
    natural = style.baseline
    end_space = space_box(maths.face_of(style), style.size)
    for number, line in enumerate(lines):
        up = max(natural, max(box.up for box in line) + 0.2 * style.size)
        if up < natural + 0.08 * style.size:
            up = natural
        deep = max(box.down for box in line)
        down = style.leading - natural
        if deep > (DESCENT + 0.01) * style.size:
            down = max(down, deep + 0.2 * style.size)
        used = fsum(box.width for box in line)
        x = {"right": width - used, "centre": (width - used) / 2}.get(align, line[0].hang)
        baseline = y + up
        if number == 0:
            first = baseline
        for box in (*line, end_space):
            if box.spoken is not owner and box is not end_space:
                if placed:
                    segments += _segments(owner, placed)
                    placed = []
                owner = box.spoken
            placed.append((x, -baseline, box.strokes))
            x += box.width
        widest = max(widest, x - end_space.width)
        last = baseline
        y = baseline + down
    segments += _segments(owner, placed)
    return Chunk(height=round(y, 3), width=widest, first=first, last=last, segments=tuple(segments), lines=len(lines))


def _segments(owner: Spoken | None, placed: Sequence[Placed]) -> Iterable[Segment]:
    if not any(stroke[0] in APART for _, _, strokes in placed for stroke in strokes):
        return (Segment(owner, content(placed)),)
    return [Segment(owner, written, aside) for aside, written in parted(placed)]


def natural_width(line: Line, style: Style) -> float:
    """How wide the line is when nothing breaks it."""
    return fsum(box.width for box in boxes_of(line, style, 1e6, {}))


def widest_word(line: Line, style: Style, width: float = 1e6) -> float:
    """The widest thing in the line that must not break, in a column of a width."""
    clusters = _clusters(boxes_of(line, style, width, {}))
    return max((fsum(box.width for box in cluster) for cluster, _ in clusters), default=0.0)
