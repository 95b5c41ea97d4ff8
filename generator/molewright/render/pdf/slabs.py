"""Strips of a page: their heights, the space between them, and how unwelcome a page break is. Knows not what a slab shows.

A slab is a full-width strip that never splits. Its tie says how unwelcome a page break just before it is; blank space to write in may
give way, or grow, within bounds (`filling` uses this).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from itertools import pairwise
from math import fsum
from typing import Literal, NamedTuple

from molewright.render.pdf.lines import Segment, Segments
from molewright.render.pdf.tags import Element


class Tie(IntEnum):
    """How a slab hangs on the one before it."""

    FORCED = -1  # a new page before it
    FREE = 0
    PART = 1  # between the parts of one question: only if much of the page would stay empty
    STEM = 2  # between what is told and the first part: only if much of the page would stay empty, as below a title
    HELD = 3  # on the same page if one page can hold it


class Mark(NamedTuple):
    """Content at a place in a slab: x on the page, y down from the slab's top. Without an element it is an artifact."""

    element: Element | None
    x: float
    y: float
    segments: Segments | tuple[Segment, ...]


class Blank(NamedTuple):
    """A place to write on, as a field of a form that is filled in on screen: x on the page, y down from the slab's top.

    A height of 0 is that of the slab. `told` says what is wanted there.
    """

    element: Element  # the field's element hangs below it
    x: float
    y: float
    width: float
    height: float
    told: str
    kind: Literal["answer", "working", "gap", "front"] = "answer"
    lines: bool = False  # it takes several


@dataclass(slots=True, kw_only=True)
class Slab:
    """A strip of the page, with the least space above and below it (none at a page's top)."""

    height: float
    least: float | None = None  # what blank space may shrink to; None where the height is fixed
    most: float | None = None  # what it may grow to
    marks: list[Mark] = field(default_factory=list)
    above: float = 0.0
    below: float = 0.0
    tie: Tie = Tie.FREE
    joined: bool = False  # its gap to the one before never grows, as between two rows of a table
    first: float | None = None  # the first baseline, from the top
    repeat: tuple[Slab, ...] = ()  # set again at the top of the page when a page starts with this slab
    bookmarks: tuple[tuple[int, str], ...] = ()
    box: tuple[Element, float, float] | None = None  # a figure that must know its place: element, x, width
    part: str = ""  # of which question it is: (b) below one, 3(b) above all
    blanks: tuple[Blank, ...] = ()  # where it is written on, on a sheet that is filled in on screen


def space(before: Slab, after: Slab) -> float:
    """Between two slabs the larger of the two wishes counts."""
    return before.below if before.below > after.above else after.above


def height(slabs: Sequence[Slab]) -> float:
    """Of all slabs one below the other."""
    if len(slabs) == 1:
        return slabs[0].height
    inner = fsum([space(before, after) for before, after in pairwise(slabs)])
    return fsum([slab.height for slab in slabs]) + inner


def least_height(slabs: Sequence[Slab]) -> float:
    """Of all slabs one below the other, once their blank space has given way."""
    return height(slabs) - fsum([slab.height - slab.least for slab in slabs if slab.least is not None])


def tied(slabs: Sequence[Slab], tie: Tie = Tie.HELD) -> Sequence[Slab]:
    """Tie every slab but the first to the one before it, unless a new page is forced there."""
    for slab in slabs[1:]:
        if slab.tie != Tie.FORCED:
            slab.tie = max(slab.tie, tie)
    return slabs
