"""What an answer's measurements come to: by hand for a back titration, and by a general library for every kind that asks for it.

The library (uncertainties) differentiates the one-line expression by itself; the budget goes step by step through the derivation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import islice
from typing import Any

import pytest
from uncertainties import ufloat

from molewright.bank.algebra import Tree, compiled
from molewright.chem.quantity import Quantity, half_up
from molewright.further_parts.pieces import Calculation, FurtherPart
from molewright.further_parts.uncertainty.budget import LIMITS, budget_of, square_root
from shared.banks import built_in
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
Draws = Callable[[str], Iterator[Calculation]]

ASKING = {"uncertainty", "combined uncertainty", "reduce uncertainty", "claim"}
KINDS = [key for key, archetype in built_in().archetypes.items() if ASKING & set(archetype.further_parts)]
ON_A_DIFFERENCE = {
    "back-portions-uncertainty", "back-portions-combined", "manganese-dioxide-combined", "antacid-claim",
    "back-portions-reduce", "soda-water-uncertainty", "magnesium-sulfate-uncertainty",
}  # fmt: skip


def by_library(calculation: Calculation) -> tuple[float, float]:
    """Greatest and combined standard uncertainty of the answer, in per cent."""
    budget = budget_of(calculation)
    given: dict[Any, Any] = {name: float(value) for name, value in calculation.given.items()}
    uncertain = {one.name: ufloat(given[one.name], float(one.absolute)) for one in budget.used}
    answer = compiled(in_floats(calculation.worked.plan.expression))({**given, **uncertain})
    shares = [abs(answer.derivatives[one]) * one.std_dev for one in uncertain.values()]
    assert answer.nominal_value == pytest.approx(float(calculation.worked.exact), rel=1e-9)
    return sum(shares) / answer.nominal_value * 100, answer.std_dev / answer.nominal_value * 100 / 3**0.5


def in_floats(tree: Tree) -> Tree:
    """An expression with its numbers as the library takes them."""
    if tree[0] == "number":
        return ("number", float(tree[1]))
    return (tree[0], *(in_floats(part) if isinstance(part, tuple) and tree[0] != "word" else part for part in tree[1:]))


@for_each("key", KINDS, shares=2)
def test_the_library_finds_the_same(key: str, draws: Draws) -> None:
    for calculation in islice(draws(key), 4):
        budget = budget_of(calculation)
        greatest, standard = by_library(calculation)
        assert float(budget.greatest) == pytest.approx(greatest, rel=1e-9)
        assert float(budget.standard) == pytest.approx(standard, rel=1e-9)
        assert budget.plain is (key not in ON_A_DIFFERENCE)
        if not budget.plain:
            plain = float(sum(one.percentage for one in budget.used))
            assert greatest != pytest.approx(plain, rel=1e-6)  # more, or less where little is left over


def test_no_printed_combined_uncertainty_contradicts_the_sum_before_it(draws: Draws) -> None:
    for key in KINDS:
        if "combined uncertainty" not in built_in().archetypes[key].further_parts:
            continue
        for calculation in islice(draws(key), 8):
            *_, whole, standard = made_parts(calculation)
            assert number(standard) < number(whole)
            greatest, combined = by_library(calculation)
            assert abs(number(whole) - Fraction(greatest)) <= Fraction("0.05")
            assert abs(number(standard) - Fraction(combined)) <= Fraction("0.05")


def made_parts(calculation: Calculation) -> tuple[FurtherPart, ...]:
    from molewright.further_parts.all_kinds import make_further_parts

    return make_further_parts(calculation.draw.archetype.further_parts, calculation)


def number(part: FurtherPart) -> Fraction:
    answer = part.points[-1].answer
    assert isinstance(answer, Quantity)
    return answer.exact


def test_a_back_titration_by_hand(calculate: Calculate) -> None:
    # n(left) = c·titre·F/P, n(total) = C·V: their absolute uncertainties add, over the difference; the mass comes on top
    calculation = calculate("back-portions", "percentage")
    given = calculation.draw.given
    titre, reagent, flask, portion, mass = (
        next(quantity.in_base for name, quantity in given.items() if name.text.startswith(start))
        for start in (
            "titre",
            "volume of HCl" if has(given, "volume of HCl") else "volume of HNO3",
            "made-up",
            "volume of aliquot",
            "mass",
        )
    )
    strengths = [quantity.exact for name, quantity in given.items() if name.kind == "concentration"]
    reagent_strength, titrant_strength = max(strengths), min(strengths)
    total = reagent_strength * reagent
    left = titrant_strength * titre * flask / portion
    of_left = Fraction("0.10") / titre + Fraction("0.30") / flask + Fraction("0.06") / portion
    of_total = Fraction("0.10") / reagent  # ISO 648 class B, 50 cm³
    by_hand = (left * of_left + total * of_total) / (total - left) + Fraction("0.001") / mass
    assert budget_of(calculation).greatest == by_hand * 100


def has(given: Any, start: str) -> bool:
    return any(name.text.startswith(start) for name in given)


def test_limits_become_a_standard_uncertainty_as_in_the_published_example() -> None:
    # Eurachem/CITAC Guide CG4, example A1: limits of ± 0.0001 give 0.0001/√3 = 0.000058
    assert str(half_up(square_root(Fraction("0.0001") ** 2 / LIMITS), 6)) == "0.000058"


def test_a_square_root_is_right_to_thirty_places() -> None:
    assert square_root(Fraction(1, 4)) == Fraction(1, 2)
    assert abs(square_root(Fraction(2)) ** 2 - 2) < Fraction(1, 10**29)
