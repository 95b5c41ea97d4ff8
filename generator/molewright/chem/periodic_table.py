"""The symbol of an element comes in; its place in the periodic table goes out.

The layout is IUPAC's (Periodic Table of the Elements, 4 May 2022): eighteen groups, the lanthanoids and actinoids below as two
series of fifteen. The place follows from the atomic number alone: a period holds 2, 8, 8, 18, 18, 32, 32 elements.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from molewright.chem.formula import ELEMENTS

PERIODS = (2, 8, 8, 18, 18, 32, 32)
GROUPS = 18
SERIES_GROUP = 3  # where a series of fifteen belongs, and below which it stands
SERIES = 15
_LEFT = 2  # elements of a period that stand in groups 1 and 2


@dataclass(frozen=True, slots=True)
class ElementPlace:
    """Period 1 to 7 and group 1 to 18; in a series (lanthanoids, actinoids) `group` is the column that it is printed in."""

    period: int
    group: int
    series: bool = False


def element_places() -> Iterator[tuple[str, ElementPlace]]:
    """Every element with its place, by atomic number."""
    ends = accumulate(PERIODS)
    for period, (end, length) in enumerate(zip(ends, PERIODS, strict=True), 1):
        for at in range(length):
            yield ELEMENTS[end - length + at], _place(period, at, length)


def _place(period: int, at: int, length: int) -> ElementPlace:
    """The place of the element that has `at` others before it in a period of so many."""
    if at < _LEFT and not (length == min(PERIODS) and at):
        return ElementPlace(period, at + 1)
    in_series = length - GROUPS + 1  # how many stand where one group is: fifteen in the long periods
    if length > GROUPS and _LEFT <= at < _LEFT + in_series:
        return ElementPlace(period, at + 1, series=True)
    return ElementPlace(period, GROUPS - (length - 1 - at))
