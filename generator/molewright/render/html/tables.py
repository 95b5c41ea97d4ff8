"""Tables and the periodic table come in; HTML tables in boxes of their own go out, which scroll where a screen is narrow."""

from __future__ import annotations

from math import fsum

from molewright.nodes.blocks import Cell, ElementSquare, ElementTable, Table
from molewright.nodes.inline import Line, Text
from molewright.render.html.escape import words
from molewright.render.html.lines import LineWriter
from molewright.render.html.maths import TO_SCROLL

_WORDY = 34  # letters in one line of a cell, above which a table is not squeezed into a narrow screen
_PERIODS = 7  # the rows below are series that stand apart


def table(node: Table, lines: LineWriter, grid: bool) -> str:
    """A table; with `grid` a pupil writes in it, so that it has upright rules and room."""
    total = fsum(node.widths) or 1.0
    columns = "".join(f'<col style="width:{100 * width / total:.3g}%">' for width in node.widths)
    heading = "".join(_cell(one, lines, "col") for one in node.heading)
    written = [f"<colgroup>{columns}</colgroup>"]
    if heading:
        written.append(f"<thead><tr>{heading}</tr></thead>")
    rows = []
    for place, cells in enumerate(node.rows):
        look = _classed("continued" if place in node.keep_rows else "group" if place in node.groups else "")
        rows.append(f"<tr{look}>{''.join(_cell(one, lines, 'row') for one in cells)}</tr>")
    written.append(f"<tbody>{''.join(rows)}</tbody>")
    share = f' style="width:{100 * node.width:.3g}%"' if node.width < 1 else ""
    wordy = any(_letters(line) > _WORDY for row in node.rows for cell in row for line in cell.lines)
    looks = (("grid", grid), ("whole", node.whole), ("wordy", wordy))
    kind = _classed(" ".join(name for name, given in looks if given))
    return _boxed(f"<table{kind}{share}>{_caption(node.summary)}{''.join(written)}</table>")


def _cell(node: Cell, lines: LineWriter, scope: str) -> str:
    inside = "<br>".join(map(lines.line, node.lines))
    head = bool(inside) and (scope == "col" or node.head)
    look = _classed(node.align if node.align != "left" else "")
    if head:
        return f'<th scope="{scope}"{look}>{inside}</th>'
    return f"<td{look}>{inside}</td>"


def _letters(line: Line) -> int:
    return sum(len(one.text) for one in line if isinstance(one, Text))


def elements(node: ElementTable) -> str:
    """The periodic table, a row a period; the series below the rest."""
    last = max((one.column for one in node.squares), default=0)
    heads = "".join(f'<th scope="col">{column}</th>' for column in range(1, last + 1))
    rows: dict[int, dict[int, ElementSquare]] = {}
    for one in node.squares:
        rows.setdefault(one.row, {})[one.column] = one
    series = min((row for row in rows if row > _PERIODS), default=0)
    written = []
    for row, squares in sorted(rows.items()):
        cells = "".join(_square(squares[column]) if column in squares else "<td></td>" for column in range(1, last + 1))
        written.append(f"<tr{_classed('series' if row == series else '')}>{cells}</tr>")
    body = f"<thead><tr>{heads}</tr></thead><tbody>{''.join(written)}</tbody>"
    return _boxed(f'<table class="elements whole">{_caption(node.summary)}{body}</table>')


def _square(one: ElementSquare) -> str:
    mass = f"<br>{words(one.mass)}" if one.mass else ""
    return f'<td class="element"><b>{words(one.symbol)}</b>{mass}</td>'


def _classed(name: str) -> str:
    return f' class="{name}"' if name else ""


def _caption(summary: str) -> str:
    return f'<caption><span class="told">{words(summary)}</span></caption>' if summary else ""


def _boxed(written: str) -> str:
    return f'<div class="box" {TO_SCROLL.format("Table")}>{written}</div>'
