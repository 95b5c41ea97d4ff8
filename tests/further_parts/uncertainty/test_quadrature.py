"""Combined standard uncertainties: one rule for direct and back titrations, and a published budget. Others: tests/reference."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.bank.algebra import parse_algebra
from molewright.chem.quantity import Quantity, half_up
from molewright.derivation.sensitivity import expression_weights
from molewright.further_parts.pieces import Calculation, Said
from molewright.further_parts.uncertainty.budget import budget_of, square_root
from molewright.further_parts.uncertainty.quadrature import ask_combined

Calculate = Callable[..., Calculation]

# Eurachem/CITAC Guide CG4, example A1: a cadmium standard, 100.28 mg of metal of purity 0.9999 ± 0.0001 in 100.0 mL. Value and
# standard uncertainty of each input as printed there; that of the purity is its limits divided by the root of three.
EURACHEM_A1 = {"mass": ("100.28", "0.05"), "purity": ("0.9999", "0.000058"), "volume": ("100.0", "0.07")}


def test_the_published_budget_of_a_standard_solution_is_reproduced() -> None:
    inputs = {name: Fraction(number) for name, (number, _) in EURACHEM_A1.items()}
    weights = expression_weights(parse_algebra("1000 * mass * purity / volume", inputs), inputs)
    found = 1000 * inputs["mass"] * inputs["purity"] / inputs["volume"]
    shares = [(weights[name] * Fraction(u) / inputs[name]) ** 2 for name, (_, u) in EURACHEM_A1.items()]
    assert half_up(found, 1) == Decimal("1002.7")  # mg/L, as printed
    assert half_up(found * square_root(sum(shares, Fraction(0))), 1) == Decimal("0.9")  # mg/L, as printed


@pytest.mark.parametrize(("key", "asked"), [("direct-purity", "percentage"), ("back-portions-combined", "percentage")])
def test_every_tolerance_is_divided_by_the_root_of_three(key: str, asked: str, calculate: Calculate) -> None:
    calculation = calculate(key, asked)
    budget = budget_of(calculation)
    by_hand = math.sqrt(sum((float(budget.factor(one) * one.percentage) / math.sqrt(3)) ** 2 for one in budget.used))
    parts = ask_combined(calculation)
    accepted, answer = parts[-1].accepted, parts[-1].points[-1].answer
    assert accepted is not None
    assert isinstance(answer, Quantity)
    assert accepted[0] <= answer.number <= accepted[1]
    assert float(answer.number) == pytest.approx(by_hand, abs=0.006)
    assert [part.kind for part in parts] == ["uncertainty", "uncertainty", "combined uncertainty"]
    assert isinstance(parts[-1].demand, Said)
    assert parts[-1].demand.key == ("combine" if budget.plain else "combine of factors")


def test_combined_parts_are_the_same_at_every_level(calculate: Calculate) -> None:
    for key in ("direct-purity", "back-portions-combined"):
        assert all(part.exam is None for part in ask_combined(calculate(key, "percentage")))
