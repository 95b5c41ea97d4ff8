"""Percentage uncertainties: tolerances and the school rule by hand, and the mistakes that are listed beside them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from molewright.further_parts.pieces import Calculation
from molewright.further_parts.uncertainty.budget import budget_of
from molewright.further_parts.uncertainty.measured import measurements
from molewright.further_parts.uncertainty.percentages import ask_uncertainty

Calculate = Callable[..., Calculation]


def test_a_titre_has_two_readings_and_a_pipette_one(calculate: Calculate) -> None:
    calculation = calculate("direct-solutions")
    found = {one.kind: one for one in measurements(calculation.bank, calculation.draw)}
    assert found["burette"].absolute == Fraction("0.10")  # class B, shared by two readings of 0.05
    assert found["pipette"].absolute == Fraction("0.06")  # ISO 648 class B, 20 and 25 cm³


def test_a_mass_by_difference_has_two_readings(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    balance = next(one for one in measurements(calculation.bank, calculation.draw) if one.kind == "balance")
    assert balance.absolute == Fraction("0.001")


def test_the_whole_of_a_quotient_is_the_sum_of_the_percentages(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    given = calculation.draw.given
    mass, titre, pipette, flask = (
        next(quantity.exact for name, quantity in given.items() if name.text.startswith(start))
        for start in ("mass", "titre", "volume of aliquot", "made-up")
    )
    by_hand = (
        Fraction("0.001") / mass + Fraction("0.10") / titre + Fraction("0.06") / pipette + Fraction("0.30") / flask
    ) * 100
    assert budget_of(calculation).greatest == by_hand


def test_a_mass_that_no_step_uses_adds_no_uncertainty(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "mass of")
    assert "balance" in {one.kind for one in measurements(calculation.bank, calculation.draw)}
    _, whole = ask_uncertainty(calculation)
    assert not any("S69" in slip for wrong in whole.wrong for slip, _ in wrong.slips)


def test_burette_uncertainty_not_doubled_is_a_listed_wrong_answer(calculate: Calculate) -> None:
    titre, whole = ask_uncertainty(calculate("direct-purity", "percentage"))
    assert [wrong.slips[0][0] for wrong in titre.wrong] == ["S67"]
    answer = titre.points[0].answer
    assert not isinstance(answer, str)
    assert abs(titre.wrong[0].answer.number * 2 - answer.number) <= Decimal("0.02")
    assert {"S68", "S69"} <= {wrong.slips[0][0] for wrong in whole.wrong}


def test_no_wrong_answer_lies_in_the_accepted_range(calculate: Calculate) -> None:
    for key in ("direct-purity", "direct-solutions", "back-portions-uncertainty", "diluted-liquid", "soda-water"):
        for part in ask_uncertainty(calculate(key)):
            assert part.accepted is not None
            low, high = part.accepted
            assert all(not low <= wrong.answer.number <= high for wrong in part.wrong)
