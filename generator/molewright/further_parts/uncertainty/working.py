"""Measurements come in; what the parts on uncertainty print of them goes out: lines of working, rows of a table, accepted ends."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, figures_to_show, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.pieces import FurtherPoint, Piece, Quotient, Reckoning, Rows, Said, Strong, said
from molewright.further_parts.uncertainty.measured import FIGURES, Measurement

MOST_FIGURES = 4  # of a percentage in working, so that what is worked out from it rounds to the answer


# ------------------------------------------------------------------ numbers


def enough_figures(worked_out: Callable[[int], Iterable[Fraction]], exact: Iterable[Fraction], least: int) -> int:
    """With how many figures numbers are written so that all that comes of them, as printed, rounds to the answers.

    Raises Refusal where that would be a long row of figures: an answer lies on the edge of a rounding.
    """
    right = [to_figures(one, FIGURES) for one in exact]
    for figures in range(least, MOST_FIGURES + 1):
        if [to_figures(one, FIGURES) for one in worked_out(figures)] == right:
            return figures
    raise Refusal("uncertainty", "what is worked out rounds either way")


def quantity(exact: Fraction, unit: Unit, figures: int = FIGURES) -> Quantity:
    """A number to so many figures, in standard form where amounts are."""
    return Quantity(to_figures(exact, figures), unit, in_standard_form(exact, unit))


def rounded_off(exact: Fraction, unit: Unit = Unit.PERCENT) -> tuple[Piece, ...]:
    """An uncertainty before and after it is rounded, as the end of a line of working."""
    answer = quantity(exact, unit)
    before = quantity(exact, unit, figures_to_show(exact, FIGURES + 1, FIGURES))
    return ("=", Strong(answer)) if before.number == answer.number else ("=", before, "=", Strong(answer))


def span(values: Iterable[Fraction]) -> tuple[Decimal, Decimal]:
    """From the smallest to the largest of these, each rounded to two figures."""
    rounded = [to_figures(value, FIGURES) for value in values]
    return min(rounded), max(rounded)


# ------------------------------------------------------------------ lines and rows


def plus(terms: Iterable[Piece]) -> tuple[Piece, ...]:
    """Terms with a sign between them."""
    found: list[Piece] = []
    for term in terms:
        found += [*(["+"] if found else []), term]
    return tuple(found)


def tolerance(one: Measurement) -> Piece:
    """The printed uncertainty: "± 0.06 cm³"."""
    return ("±\N{NO-BREAK SPACE}", one.each)


def tolerance_of_each(one: Measurement) -> Piece:
    """The same, and that each of two readings has it."""
    return (tolerance(one), (" ", said("each reading")) if one.readings > 1 else "")


def called(one: Measurement) -> Said:
    """A measurement and what it was made with: "25.0 cm³ by pipette"."""
    return said(f"apparatus {one.kind}", quantity=one.quantity)


def reckoned(one: Measurement) -> Reckoning:
    """The percentage of one measurement, worked out."""
    top: tuple[Piece, ...] = (one.each.number_text,)
    if one.readings > 1:
        top = (str(one.readings), "×", one.each.number_text)
    return Reckoning((Quotient(top, (one.quantity.number_text,)), "×", "100", "=", Strong(one.percentage_shown)))


def percentages_to_fill(others: Sequence[Measurement]) -> Rows:
    """The table in which the percentage uncertainty of each piece of apparatus is still to be written."""
    of_one = " of one" if len(others) == 1 else ""
    return Rows(
        heading=(said("apparatus head"), said("tolerance head"), said("percentage head")),
        rows=tuple((called(one), tolerance_of_each(one), "") for one in others),
        widths=(0.36, 0.34, 0.30),
        summary=said(f"apparatus summary{of_one}"),
    )


def percentages_point(others: Iterable[Measurement]) -> FurtherPoint:
    """The mark for the percentage of every measurement in a table."""
    listed = tuple(others)
    guidance = [said("guide every apparatus of one" if len(listed) == 1 else "guide every apparatus")]
    guidance += [said("guide by difference")] if any(one.kind == "balance" for one in listed) else []
    lines: tuple[Piece, ...] = tuple((called(one), ": ", reckoned(one)) for one in listed)
    return FurtherPoint(lines, "; ".join(str(one.percentage_shown) for one in listed), tuple(guidance))


# ------------------------------------------------------------------ common mistakes


def named_slip(bank: Bank, wrong: str) -> tuple[str, str]:
    """The key and the name of the bank's slip that gives a kind of wrong number; where it has none, what is wrong twice."""
    slip = bank.slip_seen_in(wrong)
    return (slip.key, slip.name) if slip is not None else (wrong, wrong)
