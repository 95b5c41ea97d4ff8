"""Texts come in; the lines and cells that reports of marks are set from go out. Marks nothing."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from molewright.chem.quantity import half_up
from molewright.nodes.blocks import Cell
from molewright.nodes.inline import Line, Text
from molewright.papers.copies import SIGNS

NO_BREAK = "\u00a0"
MOST_SHOWN = 40  # letters of an answer
_PRINTABLE = re.compile("[ -~¡-ſΑ-ω⁰¹²³⁴-⁹⁺⁻₀-₉−×·–—’]")


def line(text: str, bold: bool = False) -> Line:
    """A text as a line of one piece."""
    return (Text(text, bold),) if text else ()


def cell(text: str, align: Literal["left", "centre", "right"] = "left", bold: bool = False) -> Cell:
    """A text as a cell of one line."""
    return Cell((line(text, bold),), align=align)


def and_pending(marks: str, pending: int | str) -> str:
    """Marks with those that are pending behind them: "2 (+1)"."""
    return f"{marks}{NO_BREAK}(+{pending})" if pending else marks


def mean(marks: list[int]) -> str:
    """The mean to one place, half up."""
    return str(half_up(Fraction(sum(marks), len(marks)), 1))


def as_written(answer: str) -> str:
    """An answer as written, short enough for a cell; letters that the sheet's type may not have are left to the marked table."""
    plain = "".join(letter if _PRINTABLE.fullmatch(letter) else "?" for letter in answer.replace(NO_BREAK, " "))
    return plain if len(plain) <= MOST_SHOWN else f"{plain[: MOST_SHOWN - 1]}…"


def counted(number: int, one: str, many: str = "") -> str:
    """How many of a thing: "1 pupil", "3 pupils"."""
    return f"{number} {one if number == 1 else many or f'{one}s'}"


def sign_of(level: str) -> str:
    """The sign that a level has on its sheets; it ranks nobody."""
    return SIGNS.get(level, "")


def level_told(level: str) -> str:
    """A level for the teacher: its name with its sign."""
    sign = sign_of(level)
    return f"{level} ({sign})" if sign else level
