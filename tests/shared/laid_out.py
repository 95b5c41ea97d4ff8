"""A sheet comes in; what is wrong with its pages as they are laid out goes out, read off the boxes before they become a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from math import fsum
from typing import Any
from unittest.mock import patch

from molewright.chem.units import Unit
from molewright.nodes.blocks import Sheet
from molewright.render.pdf import filling, lines, pages, tags
from molewright.render.pdf.boxes import Box
from molewright.render.pdf.slabs import height

LEAST_SHRUNK = 0.6  # what had to be made smaller than this can hardly be read
LONELY_POINTS = 30.0  # a page with less on it than two lines
MOST_EMPTY = 0.30  # of the foot of a page of a question paper that is not its last
UNITS = frozenset(str(unit).replace("\N{NO-BREAK SPACE}", " ").split()[0] for unit in Unit if str(unit).strip())


def faults(sheet: Sheet) -> list[str]:
    """Lines wider than their column, numbers parted from their units, what is too small to read, pages that run over or are bare."""
    found: list[str] = []
    lines.set_line.cache_clear()
    with _watched(found):
        pages.drawn(sheet, tags.document())
    return found


@contextmanager
def _watched(found: list[str]) -> Iterator[None]:
    chunk, shrunk, paged = lines._chunk, lines.shrunk, filling.paged

    def seen_chunk(rows: Sequence[Sequence[Box]], style: Any, width: float, align: str) -> Any:
        found.extend(_too_wide(rows, width))
        found.extend(_parted_units(rows))
        return chunk(rows, style, width, align)

    def seen_shrunk(box: Box, width: float) -> Box:
        if width < LEAST_SHRUNK * box.width:
            found.append(f"{_said(box)} is set at {width / box.width:.0%} of its size")
        return shrunk(box, width)

    def seen_paged(slabs: Any, room: float) -> Any:
        made = paged(slabs, room)
        found.extend(_bad_pages(made, room))
        return made

    with (
        patch.object(lines, "_chunk", seen_chunk),
        patch.object(lines, "shrunk", seen_shrunk),
        patch.object(pages, "paged", seen_paged),
    ):
        yield


def _too_wide(rows: Sequence[Sequence[Box]], width: float) -> Iterator[str]:
    for row in rows:
        wide = row[0].hang + fsum(box.width for box in row)
        if wide > width + 0.5 and width > 0:
            yield f"a line of {wide:.0f} points in a column of {width:.0f}: {' '.join(map(_said, row))[:80]}"


def _parted_units(rows: Sequence[Sequence[Box]]) -> Iterator[str]:
    for row, following in pairwise(rows):
        number, unit = _said(row[-1]), _said(following[0]).strip(".,;:()")
        if number[-1:].isdigit() and unit in UNITS:
            yield f"{number} at the end of a line, its unit {unit} on the next"


def _bad_pages(made: Sequence[Sequence[filling.Placed]], room: float) -> Iterator[str]:
    for number, page in enumerate(made, 1):
        foot = max((top + slab.height for slab, top, _ in page), default=0.0)
        if foot > room + 0.02:
            yield f"page {number} runs over by {foot - room:.1f} points"
        own = [slab for slab, _, again in page if not again]
        if len(made) > 1 and height(own) < LONELY_POINTS:
            yield f"page {number} holds {height(own):.0f} points of text"


def _said(box: Box) -> str:
    if box.word is not None:
        return box.word[0]
    return box.spoken.words if box.spoken is not None else "a box"
