"""A mark scheme comes in; the parts and the numbers of its mark points go out, row by row, without other right routes."""

from __future__ import annotations

from collections.abc import Iterator

from molewright.nodes.blocks import Sheet, Table
from molewright.render.text.lines import plain_line


def mark_points(scheme: Sheet) -> Iterator[tuple[str, int]]:
    """The label of each part, where its first row tells it, and the number of the mark point: ("1(a)", 1), ("", 2), ..."""
    for block in scheme.blocks:
        if isinstance(block, Table) and block.summary.startswith("Mark points"):
            for part, _, number, *_ in block.rows:
                if plain_line(part.lines[0]) != "or":
                    yield plain_line(part.lines[0]), int(plain_line(number.lines[0]))
