"""A worked answer comes in; what is right there goes out: the one rule that check, scheme, marker and report ask.

A *number* is right if it lies in the accepted range to the figures of the answer. A *logarithm* (a pH) is right to the places of the
answer only: its figures are those after the point, and 3.9 has one fewer than 3.87. A *whole number* (and a *ratio* of small whole
numbers) is right by itself; where a value is shown before it is rounded, that value must lie in a range of its own, for 1.55 is
not 2 whatever it is rounded to.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Literal, get_args

from molewright.answer.written import EXACT_FIGURES, LEAST_FIGURES, Written, half_of, half_unit, to_place
from molewright.chem.quantity import (
    Quantity,
    half_up,
    last_place,
    leading_place,
    ratio_text,
    simplest_ratio,
    to_figures,
    whole_half_up,
)
from molewright.chem.units import Unit

AnswerType = Literal["number", "logarithm", "whole number", "ratio", "choice", "name", "words", "equation"]
ANSWER_TYPES: tuple[AnswerType, ...] = get_args(AnswerType)
NUMBERS: tuple[AnswerType, ...] = ("number", "logarithm")
"""Types with a range."""
MOST_HALF_WIDTH = Decimal("0.01")  # of a range of answers, as a share of the answer
NEARLY = Fraction(1, 100)  # an answer this near the right one has a rounding or calculator fault, not a fault of method
BEFORE_ROUNDING_FIGURES = 3  # of a value that is shown before it becomes a whole number


@dataclass(frozen=True, kw_only=True)  # no slots: it is asked often, and keeps what it works out of itself
class Accepted:
    """The interval of answers that earns full marks, in the unit and to the places of the answer.

    `before` is the interval of values before rounding, of a whole number or a ratio; `figures` are those that suffice for a
    number that is asked for with more.
    """

    type: AnswerType
    exact: Fraction  # in the unit of the answer
    answer: Quantity
    low: Quantity
    high: Quantity
    before: tuple[Quantity, Quantity] | None = None
    figures: int = LEAST_FIGURES

    @property
    def settled(self) -> bool:
        """Whether it has one right answer, which rounding leads to."""
        return self.type in ("whole number", "ratio")

    @property
    def ends(self) -> tuple[Quantity, Quantity]:
        """The range that a value must lie in: before rounding, where the answer is settled by rounding."""
        return self.before or (self.low, self.high)

    @property
    def too_wide(self) -> bool:
        """Whether a number's range reaches further than one per cent of it and than one unit of its last figure."""
        half = self.high.number - self.answer.number
        unit = Decimal(1).scaleb(last_place(self.answer.number))
        return self.type in NUMBERS and half > unit and half > abs(self.answer.number) * MOST_HALF_WIDTH

    @property
    def told(self) -> str:
        """The right answer as the sheets tell it: "94.9 %", "5 : 2"."""
        return ratio_text(self.exact) if self.type == "ratio" else str(self.answer)

    def is_right(self, written: Written) -> bool:
        """Whether a number as written, in the unit of the answer, is right; so must be the value that it was rounded from, if shown."""
        number = written.number
        if written.before is not None:
            return number == self._settled and self.is_right(written.before)
        if self.settled and number == self._settled:
            return True
        if not self._nearly[0] <= float(number) <= self._nearly[1]:
            return False
        low, high = self._span
        if low <= number <= high or low <= to_place(number, self._place) <= high:
            return True
        if self.settled or self.type == "logarithm" or written.figures < self.figures:
            return False
        half = min(written.half, half_unit(self.exact, self.figures))
        return number - half <= high and low <= number + half

    def short_of(self, written: Written) -> int:
        """How many figures a number as written lacks of three, a logarithm of its places; below 0 where it has more."""
        if self.type != "logarithm":
            return LEAST_FIGURES - written.figures
        return leading_place(2 * written.half) - self._place if written.half else -EXACT_FIGURES

    def is_near(self, written: Written) -> bool:
        """Whether a number is so near the right one that its fault is one of rounding or arithmetic, not of method.

        Of a logarithm one per cent says nothing (of a pH of 12 it is a quarter of the hydrogen ions): it lies at most one unit of
        the last place beyond the range.
        """
        if self.type == "logarithm":
            unit = 2 * half_of(self._place)
            low, high = self._span
            return low - unit <= to_place(written.number, self._place) <= high + unit
        return bool(self.exact) and abs(written.number / self.exact - 1) <= NEARLY

    def holds(self, number: Decimal | Fraction) -> bool:
        """Whether a number is right as it stands, not rounded any more."""
        return self.is_right(
            Written(number=Fraction(number), half=Fraction(0), figures=EXACT_FIGURES, unit=self.answer.unit)
        )

    @property
    def reach(self) -> tuple[Fraction, Fraction]:
        """The interval, its upper end left out, of values that are right once they are rounded to the places of the range."""
        half = half_of(self._place)
        low, high = self._span
        return low - half, high + half

    @cached_property
    def _span(self) -> tuple[Fraction, Fraction]:
        """The ends as exact numbers."""
        low, high = self.ends
        return low.exact, high.exact

    @cached_property
    def _nearly(self) -> tuple[float, float]:
        """Between which floats every right number lies, however it is rounded: most that are asked about lie far off."""
        low, high = self._span
        slack = 2 * max(half_of(self._place), half_unit(self.exact, self.figures))
        return float(low - slack), float(high + slack)

    @cached_property
    def _place(self) -> int:
        """The power of ten of the last figure of the range."""
        return last_place(self.ends[0].number)

    @cached_property
    def _settled(self) -> Fraction:
        return simplest_ratio(self.exact) if self.type == "ratio" else Fraction(self.answer.number)

    def wider(self, values: Iterable[Fraction]) -> Accepted:
        """The same where further values, in the unit of the answer, are right too, as those from readings of a graph."""
        if self.before:
            low, high = span_of(values, self.before[0])
            return replace(self, before=(least(self.before[0], low), most(self.before[1], high)))
        low, high = span_of(values, self.answer)
        return replace(self, low=least(self.low, low), high=most(self.high, high))


def answer_number(type_of_answer: AnswerType, exact: Fraction, figures: int, places: int) -> Decimal:
    """The number that is printed as an answer: to `places` where it is a logarithm, whole, or to `figures`."""
    match type_of_answer:
        case "whole number":
            return half_up(exact, 0)
        case "logarithm":
            return half_up(exact, places)
        case "ratio":
            return to_figures(simplest_ratio(exact), figures)
        case _:
            return to_figures(exact, figures)


def accepted(type_of_answer: AnswerType, values: Sequence[Fraction], answer: Quantity) -> Accepted:
    """What is right for an answer: `values` are the exact one, first, and what rounded working by every route comes to.

    All are in the unit of the answer.
    """
    exact, *rounded = values
    return accepted_by(type_of_answer, exact, [(value.numerator, value.denominator) for value in rounded], answer)


def accepted_by(
    type_of_answer: AnswerType, exact: Fraction, rounded: Sequence[tuple[int, int]], answer: Quantity
) -> Accepted:
    """The same, where what rounded working comes to is told in pairs of whole numbers, as it is worked."""
    if type_of_answer in NUMBERS:
        half = half_width([(exact.numerator, exact.denominator), *rounded], answer)
        low, high = (_written_alike(answer, answer.number + side * half) for side in (-1, 1))
        return Accepted(type=type_of_answer, exact=exact, answer=answer, low=low, high=high)
    shown = Quantity(to_figures(exact, BEFORE_ROUNDING_FIGURES), answer.unit)
    return Accepted(
        type=type_of_answer,
        exact=exact,
        answer=answer,
        low=answer,
        high=answer,
        before=span_of([exact, *(Fraction(*pair) for pair in rounded)], shown),
    )


def half_width(values: Iterable[tuple[int, int]], answer: Quantity) -> Decimal:
    """How far from the answer any of some values lies once it is rounded to the answer's places; one unit of its last figure at least.

    It holds to both sides: working that is rounded in some steps only may err to either. Values are pairs of whole numbers.
    """
    place = last_place(answer.number)
    shown = int(answer.number.scaleb(-place))
    widest = max(1, *(abs(whole_half_up(up, down, -place) - shown) for up, down in values))
    return Decimal(widest).scaleb(place)


def _written_alike(quantity: Quantity, number: Decimal) -> Quantity:
    """The quantity with another number, written in the same way."""
    return Quantity(number, quantity.unit, quantity.scientific)


def in_range(low: Decimal, high: Decimal, unit: Unit) -> Accepted:
    """What is right for a number that is read or chosen within a stated range: what lies in it once rounded to its places."""
    return Accepted(
        type="number",
        exact=(Fraction(low) + Fraction(high)) / 2,
        answer=Quantity(high, unit),
        low=Quantity(low, unit),
        high=Quantity(high, unit),
        figures=EXACT_FIGURES,
    )


def span_of(values: Iterable[Fraction], answer: Quantity) -> tuple[Quantity, Quantity]:
    """The span of some values, half a unit of the answer's last figure wider, rounded outwards to that figure."""
    found = tuple(values)
    exponent = last_place(answer.number)
    unit = Fraction(10) ** exponent
    low = (min(found) - unit / 2) // unit
    high = -((-max(found) - unit / 2) // unit)
    return (
        Quantity(Decimal(low).scaleb(exponent), answer.unit, answer.scientific),
        Quantity(Decimal(high).scaleb(exponent), answer.unit, answer.scientific),
    )


def least(*ends: Quantity) -> Quantity:
    """The least of some quantities in one unit."""
    return min(ends, key=lambda end: end.number)


def most(*ends: Quantity) -> Quantity:
    """The largest of some quantities in one unit."""
    return max(ends, key=lambda end: end.number)
