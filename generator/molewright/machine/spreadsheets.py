"""A text comes in; the cell of a table goes out that no spreadsheet takes for a formula, and back again."""

from __future__ import annotations

import re

_ACTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "|", "%")
_PLAIN_NUMBER = re.compile(r"[-+]?[0-9]{1,15}(?:\.[0-9]{1,15})?(?:[eE][-+]?[0-9]{1,3})?")


def safe(cell: str) -> str:
    """A cell that a spreadsheet takes as text, or as the plain number that it is."""
    if cell.startswith(_ACTS) and not _PLAIN_NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


def unsafe(cell: str) -> str:
    """The text of a cell that `safe` has written: without the apostrophe that keeps it a text."""
    return cell[1:] if cell.startswith("'") and safe(cell[1:]) == cell else cell
