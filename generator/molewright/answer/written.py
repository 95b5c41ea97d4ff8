"""A number as somebody wrote it: its value, half a unit of its last figure, its figures and its unit. Reads no text."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import TypeAlias

from molewright.chem.quantity import (
    TENS,
    Quantity,
    half_up,
    last_place,
    leading_place,
    leading_power,
)
from molewright.chem.units import Unit

LEAST_FIGURES = 3  # zeros at the end of a whole number count up to here: 1200 has three figures
_HALF = Fraction(1, 2)
EXACT_FIGURES = 12  # of what is written without rounding, as the fraction 1/385 or the ratio 5 : 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A number as written: exact, half a unit of its last figure, its figures, and its unit, if any.

    `before` is the value that a whole number or a ratio was rounded from, where it is shown: "1.995 = 2".
    """

    number: Fraction
    half: Fraction
    figures: int
    unit: Unit
    before: Written | None = None

    @property
    def low(self) -> Fraction:
        """The least number that is rounded to this one."""
        return self.number - self.half

    @property
    def high(self) -> Fraction:
        """The largest number that is rounded to this one."""
        return self.number + self.half

    def in_unit(self, unit: Unit) -> Written | None:
        """The same in another unit of its kind; without a unit it is taken to be in the one printed. None: another kind."""
        if self.unit in (Unit.NONE, unit):
            return self if self.unit is unit else replace(self, unit=unit)
        if self.unit.base is not unit.base:
            return None
        factor = self.unit.factor / unit.factor
        return Written(number=self.number * factor, half=self.half * factor, figures=self.figures, unit=unit)

    def to_at_most(self, figures: int) -> Written:
        """The same taken as rounded to so few figures where zeros at its end allow it: 240 may be 243 to two figures."""
        if self.half < _HALF:
            return self
        coarse = half_unit(self.number, figures)
        if self.half >= coarse or self.number % (2 * coarse):
            return self
        return Written(number=self.number, half=coarse, figures=min(self.figures, figures), unit=self.unit)


@dataclass(frozen=True, slots=True)
class Unread:
    """An answer that has no sure reading, and why."""

    why: str


Reading: TypeAlias = Written | Unread | None
"""What stands in an answer: a number, something that is not one, or nothing (None)."""


def written_digits(plain: str) -> tuple[int, int]:
    """The figures of a number without sign and power of ten, and the power of ten of its last one: 0.0950 has 3, the last is 10⁻⁴.

    Zeros that end a whole number count as figures up to LEAST_FIGURES, so in 1200 the last is 10, unless a point follows them.
    """
    whole, point, decimals = plain.partition(".")
    shown = (whole + decimals).lstrip("0")
    figures, place = len(shown) or 1, -len(decimals)
    if not point and figures > LEAST_FIGURES:
        kept = max(LEAST_FIGURES, len(shown.rstrip("0")))
        place, figures = figures - kept, kept
    return figures, place


def as_written(quantity: Quantity) -> Written:
    """A printed quantity as whoever types it from the page is understood."""
    if quantity.scientific:
        half = half_of(last_place(quantity.number))
        return Written(
            number=Fraction(quantity.number),
            half=half,
            figures=len(quantity.number.as_tuple().digits),
            unit=quantity.unit,
        )
    figures, place = written_digits(format(quantity.number.copy_abs(), "f"))
    return Written(number=Fraction(quantity.number), half=half_of(place), figures=figures, unit=quantity.unit)


def half_unit(exact: Fraction, figures: int) -> Fraction:
    """Half a unit of the last of so many figures of a number."""
    return half_of(leading_place(exact) - figures + 1) if exact else Fraction(0)


@lru_cache(maxsize=200)
def half_of(place: int) -> Fraction:
    """Half a unit of the figure at a power of ten."""
    return Fraction(10) ** place / 2


def to_place(number: Fraction, place: int) -> Fraction:
    """A number rounded half up to a power of ten."""
    return Fraction(half_up(number, -place))


def rounded(up: int, down: int, figures: int) -> tuple[int, int]:
    """A ratio of whole numbers, half up to significant figures: what a pupil who rounds each line carries on with."""
    if up == 0:
        return 0, 1
    if down < 0:
        up, down = -up, -down
    size = abs(up)
    shift = figures - 1 - leading_power(size, down)
    above, below = (size * TENS[shift], down) if shift >= 0 else (size, down * TENS[-shift])
    whole = (2 * above + below) // (2 * below)
    if up < 0:
        whole = -whole
    return (whole, TENS[shift]) if shift >= 0 else (whole * TENS[-shift], 1)
