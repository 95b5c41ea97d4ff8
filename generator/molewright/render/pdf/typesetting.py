"""What every block needs to be laid out: the look, its place, the way to lay the blocks inside it. Lays nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from molewright.nodes.blocks import Block
from molewright.nodes.inline import Line
from molewright.render.pdf.lines import Chunk, Segment, set_line
from molewright.render.pdf.look import Look, Style
from molewright.render.pdf.slabs import Mark, Slab
from molewright.render.pdf.tags import Element


class Place(NamedTuple):
    """Where a block is laid: x on the page, width, the element it belongs to, the space that blank working keeps."""

    x: float
    width: float
    owner: Element
    room: float  # the height that one page offers it
    squeeze: float = 1.0  # share of the blank space for working that is left where a part is taller than a page
    question: bool = False  # inside a question


@dataclass(frozen=True, slots=True, kw_only=True)
class Typesetting:
    """The same for a whole sheet."""

    look: Look
    expansions: tuple[tuple[str, str], ...]
    teacher: bool
    question_role: str  # of a question's number: one heading level below the sections
    lay: Callable[[Iterable[Block], Typesetting, Place], list[Slab]]
    fillable: bool = False  # places to write on are fields

    def lines(
        self, line: Line, style: Style, width: float, align: str = "left", single: bool = False
    ) -> tuple[Chunk, ...]:
        """The line set in a style."""
        return set_line(line, style, width, align, self.expansions, single)


def slabs_of(chunks: Sequence[Chunk], element: Element | None, x: float) -> list[Slab]:
    """One slab for each chunk."""
    return [
        Slab(height=chunk.height, marks=[Mark(element, x, 0.0, chunk.segments)], first=chunk.first) for chunk in chunks
    ]


def spaced(slabs: list[Slab], above: float, below: float) -> list[Slab]:
    """The wishes for space above the first and below the last slab."""
    if slabs:
        slabs[0].above = above
        slabs[-1].below = below
    return slabs


def artifact(x: float, y: float, content: str) -> Mark:
    """Rules and frames, which carry no meaning of their own."""
    return Mark(None, x, y, (Segment(None, content),))
