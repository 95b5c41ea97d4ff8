"""Parts on the course of a reaction: what is printed of them works out as printed, and nothing is told that is asked."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, to_figures
from molewright.further_parts.pieces import FurtherPart, Piece, Quotient, Reckoning, Strong
from shared.figures import SEEDS, Make, sheets, told

KINDS = ("peroxide-course", "iodine-course", "saponification-course", "ester-course")


def number(piece: Piece) -> Fraction:
    """A number as it stands on the page."""
    return Fraction(piece.number) if isinstance(piece, Quantity) else Fraction(str(piece))


def fractions_printed(part: FurtherPart) -> list[tuple[Quotient, Quantity]]:
    """Each fraction of two printed numbers, with what is printed as its value."""
    found = []
    for point in part.points:
        for line in point.lines:
            if isinstance(line, Reckoning):
                quotient = next((one for one in line.pieces if isinstance(one, Quotient)), None)
                value = next((one.piece for one in line.pieces if isinstance(one, Strong)), None)
                if quotient is not None and isinstance(value, Quantity):
                    found.append((quotient, value))
    return found


@pytest.mark.parametrize("key", KINDS)
def test_every_fraction_comes_to_what_is_printed_after_it(make: Make, key: str) -> None:
    # 0.177 over 11 is not 0.0164, though it is over 10.8
    seen = 0
    for seed in SEEDS:
        for part in make(key, seed).further_parts:
            for quotient, value in fractions_printed(part):
                (over,), (under,) = quotient.top, quotient.bottom
                assert to_figures(number(over) / number(under), 3) == value.number, part.kind
                low, high = part.accepted or (value.number, value.number)
                assert low <= value.number <= high
                seen += 1
    assert seen >= len(SEEDS)


def test_of_equal_concentrations_the_graph_tells_the_order_with_respect_to_both_together(
    bank: Bank, make: Make
) -> None:
    # rate = k[ester][OH-] is of first order with respect to each; with [ester] = [OH-] it falls as of second order
    question, scheme, *_ = (told(sheet) for sheet in sheets(bank, make("saponification-course", 1), "exam", "dm3"))
    assert "State the order of the reaction overall" in question
    assert "Second order overall" in scheme.replace(" | ", " ")
    assert "order with respect to NaOH, for" not in scheme.replace(" | ", " ")


def test_the_rate_constant_is_asked_for_without_telling_the_order(bank: Bank, make: Make) -> None:
    question = told(sheets(bank, make("peroxide-course", 1), "exam", "dm3")[0])
    assert "reaction of first order" not in question
    assert "min⁻¹" not in question.partition("Calculate the rate constant")[2].partition("(f)")[0]
