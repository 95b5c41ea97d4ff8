"""A table of texts and numbers comes in; the sheet of a workbook that shows it goes out, its columns as wide as what they hold."""

from __future__ import annotations

import re
from collections.abc import Sequence

from molewright.machine.workbooks import Column, Page, Value

_MOST_WIDE, _LEAST_WIDE = 60, 6  # letters of a column
_MOST_IN_A_CELL = 32767  # letters, as spreadsheets have it
_NOT_IN_A_CELL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def table_page(name: str, heading: Sequence[str], rows: Sequence[Sequence[Value]]) -> Page:
    """The sheet: a text is a text, were it "=1+1" or "007"; a number is a number; None is an empty cell. The heading stays in sight."""
    told = [[_cleaned(value) for value in row] for row in rows]
    widths = (_wide([heading[at], *(row[at] for row in told)]) for at in range(len(heading)))
    return Page(name=name, heading=heading, rows=told, columns=[Column(width=wide) for wide in widths], still=0)


def _cleaned(value: Value) -> Value:
    return _NOT_IN_A_CELL.sub("", value)[:_MOST_IN_A_CELL] if isinstance(value, str) else value


def _wide(values: Sequence[Value]) -> int:
    longest = max(len("" if value is None else str(value)) for value in values)
    return min(_MOST_WIDE, max(_LEAST_WIDE, longest + 2))
