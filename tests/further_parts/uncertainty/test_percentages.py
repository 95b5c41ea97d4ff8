"""Percentage uncertainties: the school rule by hand, the sensitivity of a back titration. A published budget: tests/reference."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.chem.quantity import half_up
from molewright.draw.refusal import Refusal
from molewright.further_parts.pieces import Calculation
from molewright.further_parts.uncertainty.percentages import (
    ask_uncertainty,
    combined_relative,
    measurements,
    outcome,
    sensitivity,
    square_root,
    total_percentage,
    used_measurements,
)
from molewright.further_parts.uncertainty.quadrature import LIMITS, ask_combined, standard_percentage

Calculate = Callable[..., Calculation]


def test_a_titre_has_two_readings_and_a_pipette_one(calculate: Calculate) -> None:
    found = {
        one.kind: one for one in measurements(calculate("direct-solutions").bank, calculate("direct-solutions").draw)
    }
    assert found["burette"].absolute == Fraction("0.10")  # class B, shared by two readings of 0.05
    assert found["pipette"].absolute == Fraction("0.06")  # ISO 648 class B, 20 and 25 cm³


def test_a_mass_by_difference_has_two_readings(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    balance = next(one for one in measurements(calculation.bank, calculation.draw) if one.kind == "balance")
    assert balance.absolute == Fraction("0.001")


def test_the_whole_is_the_sum_of_the_percentages(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    given = calculation.draw.given
    mass, titre, pipette, flask = (
        next(quantity.exact for name, quantity in given.items() if name.text.startswith(start))
        for start in ("mass", "titre", "volume of aliquot", "made-up")
    )
    by_hand = (
        Fraction("0.001") / mass + Fraction("0.10") / titre + Fraction("0.06") / pipette + Fraction("0.30") / flask
    ) * 100
    assert total_percentage(calculation) == by_hand


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
    for key in ("direct-purity", "direct-solutions", "back-portions", "diluted-liquid"):
        for part in ask_uncertainty(calculate(key)):
            assert part.accepted is not None
            low, high = part.accepted
            assert all(not low <= wrong.answer.number <= high for wrong in part.wrong)


def test_the_error_of_a_back_titre_is_passed_on_as_left_over_by_reacted(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    exact = {step.variable.name: step.exact for step in calculation.worked.steps}
    left = next(value for name, value in exact.items() if name.stage == "left over")
    reacted = next(value for name, value in exact.items() if name.stage == "reacted")
    titre = calculation.slips.surroundings.titre
    found = sensitivity(outcome(calculation), calculation.given, titre)
    assert abs(found + left / reacted) < Fraction(1, 10**12)


def test_in_quadrature_the_whole_is_smaller_than_the_sum_with_factors(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    parts = ask_combined(calculation)
    measured = outcome(calculation)
    every = measurements(calculation.bank, calculation.draw)
    combined = combined_relative(measured, calculation.given, {one.name: one.percentage for one in every})
    weighed = [abs(sensitivity(measured, calculation.given, one.name)) * one.percentage for one in every]
    assert max(weighed) < combined < sum(weighed)
    assert parts[-1].accepted is not None
    assert parts[-1].accepted[0] <= half_up(combined, 2) <= parts[-1].accepted[1] or combined >= 1


def test_a_direct_titration_combines_standard_uncertainties(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    found = used_measurements(calculation)
    parts = ask_combined(calculation)
    by_hand = math.sqrt(sum((float(one.percentage) / math.sqrt(3)) ** 2 for one in found))
    assert float(standard_percentage(found)) == pytest.approx(by_hand, rel=1e-9)
    assert [part.kind for part in parts] == ["uncertainty", "uncertainty", "combined uncertainty"]
    accepted, answer = parts[-1].accepted, parts[-1].points[-1].answer
    assert accepted is not None
    assert not isinstance(answer, str)
    assert accepted[0] <= answer.number <= accepted[1]
    assert by_hand < float(total_percentage(calculation))


def test_what_is_not_passed_on_as_it_is_is_not_combined_so_simply(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_combined(calculate("soda-water", "water"))  # x hangs on the molar mass less that of the salt


# Eurachem/CITAC Guide CG4, example A1: a cadmium standard, 100.28 mg of metal of purity 0.9999 ± 0.0001 in 100.0 mL. Value and
# standard uncertainty of each input as printed there; that of the purity is its limits divided by the root of three.
EURACHEM_A1 = {"mass": ("100.28", "0.05"), "purity": ("0.9999", "0.000058"), "volume": ("100.0", "0.07")}


def test_the_published_budget_of_a_standard_solution_is_reproduced() -> None:
    def measured(values: Mapping[str, Fraction]) -> Fraction:
        return 1000 * values["mass"] * values["purity"] / values["volume"]

    inputs = {name: Fraction(number) for name, (number, _) in EURACHEM_A1.items()}
    relative = {name: Fraction(u) / inputs[name] for name, (_, u) in EURACHEM_A1.items()}
    found = measured(inputs)
    assert half_up(found, 1) == Decimal("1002.7")  # mg/L, as printed
    assert half_up(found * combined_relative(measured, inputs, relative), 1) == Decimal("0.9")  # mg/L, as printed


def test_limits_become_a_standard_uncertainty_as_in_the_published_example() -> None:
    # Eurachem/CITAC Guide CG4, example A1: limits of ± 0.0001 give 0.0001/√3 = 0.000058
    assert half_up(square_root(Fraction("0.0001") ** 2 / LIMITS), 6) == Decimal("0.000058")


def test_a_square_root_is_right_to_thirty_places() -> None:
    assert square_root(Fraction(1, 4)) == Fraction(1, 2)
    assert abs(square_root(Fraction(2)) ** 2 - 2) < Fraction(1, 10**29)
