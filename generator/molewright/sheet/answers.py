"""The marked parts of a paper come in; the sheet of right values goes out, question by question, for pupils who check themselves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import Amount, Inline, Line, Text
from molewright.sheet.marked_parts import MarkedPart


def answers_table(questions: Iterable[tuple[int, Sequence[MarkedPart]]]) -> Table:
    """A row for each question, its parts one after another; no range, no working: half a page for six questions."""
    rows = [
        (Cell(((Text(str(number), bold=True),),)), Cell((_in_a_row(parts),)))
        for number, parts in questions
        if parts  # a worked example has nothing to check
    ]
    heading = tuple(Cell(((Text(text),),), head=True) for text in ("Question", "Right answers"))
    return Table(widths=(0.12, 0.88), heading=heading, rows=tuple(rows), summary="Right answers")


def _in_a_row(parts: Sequence[MarkedPart]) -> Line:
    line: list[Inline] = []
    for part in parts:
        if line:
            line.append(Text("; "))
        if part.label:
            line.append(Text(f"{part.label}\N{NO-BREAK SPACE}", bold=True))
        line += [replace(one, bold=False) if isinstance(one, Text | Amount) else one for one in part.value]
    return tuple(line)
