"""The words of a stem, in whatever way it is told: its paragraphs, notes and tables; what stands in it as a table of readings."""

from __future__ import annotations

from typing import Any

from molewright.nodes.blocks import Note, Paragraph, Table
from molewright.render.text.lines import plain_line

READINGS = "Burette readings"


def is_readings(block: Any) -> bool:
    """Whether it is the table of burette readings."""
    return isinstance(block, Table) and block.summary.startswith(READINGS)


def said(blocks: Any) -> str:
    """All the words of some blocks but for a table of readings, line by line, with plain spaces."""
    lines: list[str] = []
    for block in blocks:
        match block:
            case Paragraph(line=line):
                lines.append(plain_line(line))
            case Note(title=title, lines=held):
                lines += [plain_line(title), *map(plain_line, held)]
            case Table(heading=heading, rows=rows) if not is_readings(block):
                lines += [plain_line(line) for row in (heading, *rows) for cell in row for line in cell.lines]
    return "\n".join(lines).replace("\N{NO-BREAK SPACE}", " ")
