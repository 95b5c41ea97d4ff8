"""Slabs come in, in reading order; pages of placed slabs go out. Knows heights and ties, not what a slab shows.

A slab is a full-width strip that never splits. Its tie says how unwelcome a page break just before it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from itertools import pairwise
from math import fsum
from typing import NamedTuple

from molewright.render.pdf.lines import Segment
from molewright.render.pdf.look import ROOM
from molewright.render.pdf.tags import Element


class Tie(IntEnum):
    """How a slab hangs on the one before it."""

    FORCED = -1  # a new page before it
    FREE = 0
    PART = 1  # between the parts of one question: only if much of the page would stay empty
    HELD = 2  # on the same page if one page can hold it


class Mark(NamedTuple):
    """Content at a place in a slab: x on the page, y down from the slab's top. Without an element it is an artifact."""

    element: Element | None
    x: float
    y: float
    segments: tuple[Segment, ...]


@dataclass(slots=True, kw_only=True)
class Slab:
    """A strip of the page, with the least space above and below it (none at a page's top)."""

    height: float
    marks: list[Mark] = field(default_factory=list)
    above: float = 0.0
    below: float = 0.0
    tie: Tie = Tie.FREE
    first: float | None = None  # the first baseline, from the top
    repeat: tuple[Slab, ...] = ()  # set again at the top of the page when a page starts with this slab
    bookmarks: tuple[tuple[int, str], ...] = ()
    box: tuple[Element, float, float] | None = None  # a figure that must know its place: element, x, width


Placed = tuple[Slab, float, bool]  # its top, from the top of the page's room; whether it stands there once more
_LEAST_SQUEEZE = 0.6  # of the blank space of a question that would run over by a little
_FILLED = 0.6  # a page this full may end between two questions rather than between two parts


def space(before: Slab, after: Slab) -> float:
    """Between two slabs the larger of the two wishes counts."""
    return max(before.below, after.above)


def height(slabs: Sequence[Slab]) -> float:
    """Of all slabs one below the other."""
    inner = fsum(space(before, after) for before, after in pairwise(slabs))
    return fsum(slab.height for slab in slabs) + inner


def tied(slabs: Sequence[Slab], tie: Tie = Tie.HELD) -> Sequence[Slab]:
    """Tie every slab but the first to the one before it, unless a new page is forced there."""
    for slab in slabs[1:]:
        if slab.tie != Tie.FORCED:
            slab.tie = max(slab.tie, tie)
    return slabs


def paged(slabs: Iterable[Slab], room: float = ROOM) -> list[list[Placed]]:
    """Fill pages one after another. Every page takes at least one slab, so this always ends."""
    waiting = list(slabs)
    pages: list[list[Placed]] = []
    start = 0
    while start < len(waiting):
        page, y = _opened(waiting[start], room)
        opened = len(page)
        ends: list[float] = []  # the page's height after each slab that fits
        for index in range(start, len(waiting)):
            slab = waiting[index]
            if index > start and slab.tie == Tie.FORCED:
                break
            top = y + (space(page[-1][0], slab) if page else 0.0)
            if top + slab.height > room + 0.01 and index > start:
                break
            page.append((slab, top, False))
            y = top + slab.height
            ends.append(y)
        count = len(ends)
        kept = _best_end(waiting, start, ends, room)
        cut = start + kept
        emptier = ends[kept - 1] < _FILLED * room
        if cut < len(waiting) and _squeezed(waiting, start, cut, page[opened][1], emptier, room):
            continue  # the same page once more, with less blank space in it
        del page[len(page) - (count - kept) :]
        pages.append(page)
        start += kept
    return pages or [[]]


def _squeezed(waiting: Sequence[Slab], start: int, cut: int, top: float, emptier: bool, room: float) -> bool:
    """Whether a question ends on this page once some of its blank space has given way.

    That is tried where a new page would cut the question in two, or would leave much of this page empty (`emptier`).
    """
    if waiting[cut].tie == Tie.FORCED or (waiting[cut].tie == Tie.FREE and not emptier):
        return False
    first = max((index for index in range(start, cut + 1) if waiting[index].tie == Tie.FREE), default=start)
    end = next((index for index in range(cut + 1, len(waiting)) if waiting[index].tie <= Tie.FREE), len(waiting))
    over = top + height(waiting[start:end]) - room
    blank = fsum(slab.height for slab in waiting[first:end] if not slab.marks)
    if not 0 < over <= (1 - _LEAST_SQUEEZE) * blank:
        return False
    for slab in waiting[first:end]:
        slab.height *= 1.0 if slab.marks else 1 - over / blank
    return True


def _opened(slab: Slab, room: float) -> tuple[list[Placed], float]:
    """A page with what is repeated above its first slab, unless that leaves no room for the slab itself."""
    page: list[Placed] = []
    if slab.repeat and height((*slab.repeat, slab)) > room:
        return page, 0.0
    y = 0.0
    for above in slab.repeat:
        y += space(page[-1][0], above) if page else 0.0
        page.append((above, y, True))
        y += above.height
    return page, y


def _best_end(waiting: Sequence[Slab], start: int, ends: Sequence[float], room: float) -> int:
    """How many of the slabs that fit shall stay on this page."""
    if start + len(ends) == len(waiting) or waiting[start + len(ends)].tie == Tie.FORCED:
        return len(ends)
    last: dict[Tie, int] = {}
    for count in range(len(ends), 0, -1):
        last.setdefault(waiting[start + count].tie, count)
    free, between = last.get(Tie.FREE, 0), last.get(Tie.PART, 0)
    if free and (free > between or ends[free - 1] >= _FILLED * room):
        return free
    return between or free or len(ends)
