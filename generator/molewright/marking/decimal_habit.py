"""Answers as typed come in; those with a comma that may mark thousands or decimals are read as the rest of the file is written.

Where numbers of a file are written with decimal commas (94,9; 0,0950) and none with a decimal point, 1,234 is 1.234 there.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from molewright.marking.returned_rows import Row

_COMMA = re.compile(r"(?<![0-9.,])(?:0[0-9]*,[0-9]+|[0-9]+,(?:[0-9]{1,2}|[0-9]{4,}))(?![0-9.,])")
_POINT = re.compile(r"[0-9]\.[0-9]")
_EITHER = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2}),([0-9]{3})(?![0-9.,])")
_LONGEST = 200  # letters of what is looked at


def by_habit(rows: Sequence[Row]) -> tuple[list[Row], list[str]]:
    """The rows, and a note where any was read by the habit of the file."""
    texts = [row.answer for row in rows if len(row.answer) <= _LONGEST]
    if not any(map(_COMMA.search, texts)) or any(map(_POINT.search, texts)):
        return list(rows), []
    found = [
        replace(row, answer=_EITHER.sub(r"\1.\2", row.answer)) if len(row.answer) <= _LONGEST else row for row in rows
    ]
    changed = [new.line for new, old in zip(found, rows, strict=True) if new.answer != old.answer]
    if not changed:
        return found, []
    lines = ", ".join(map(str, dict.fromkeys(changed[:12])))
    return found, [f"a comma marks decimals in this file, so also where it might mark thousands (line {lines})"]
