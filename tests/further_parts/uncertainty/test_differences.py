"""Answers that rest on a difference: its terms, the numbers by hand, and which parts stand at which level."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice

import pytest

from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.pieces import Calculation, FurtherPart, Reckoning, Rows
from molewright.further_parts.uncertainty.budget import budget_of
from molewright.further_parts.uncertainty.differences import difference_in
from molewright.further_parts.uncertainty.percentages import ask_uncertainty
from molewright.question.check import Questions
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
Draws = Callable[[str], Iterator[Calculation]]
RESTING = ("back-portions-uncertainty", "soda-water-uncertainty", "magnesium-sulfate-uncertainty")


def answer(part: FurtherPart) -> Fraction:
    found = part.points[-1].answer
    assert isinstance(found, Quantity)
    return found.exact


def parts_of(calculation: Calculation) -> tuple[list[FurtherPart], list[FurtherPart]]:
    """Those below exam style and those in it."""
    try:
        found = ask_uncertainty(calculation)
    except Refusal:
        return [], []
    return [part for part in found if part.exam is not True], [part for part in found if part.exam is not False]


def test_a_back_titration_rests_on_total_less_what_is_left_over(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    difference = difference_in(calculation, budget_of(calculation))
    assert [term.name.stage for term in difference.terms] == ["added", "left over"]
    assert [[one.kind for one in term.measured] for term in difference.terms] == [
        ["pipette"], ["volumetric flask", "pipette", "burette"]
    ]  # fmt: skip
    assert [one.kind for one in difference.after] == ["balance"]


def test_water_of_crystallisation_rests_on_a_molar_mass_less_that_of_the_salt(calculate: Calculate) -> None:
    calculation = calculate("soda-water", "water")
    difference = difference_in(calculation, budget_of(calculation))
    assert [term.name.kind for term in difference.terms] == ["molar mass"]
    assert not difference.after


def test_a_purity_rests_on_no_difference(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    with pytest.raises(Refusal):
        difference_in(calculation, budget_of(calculation))


@for_each("key", RESTING)
def test_both_styles_lead_to_the_same_uncertainty(key: str, draws: Draws) -> None:
    seen = 0
    for calculation in islice(draws(key), 12):
        below, exam = parts_of(calculation)
        if not below:
            continue
        seen += 1
        greatest = budget_of(calculation).greatest
        assert answer(below[-1]) == answer(exam[-1]) == Fraction(to_figures(greatest, 2))
        assert [part.unit for part in below[1:]] == [
            Unit.PERCENT, Unit.MOL if key.startswith("back") else Unit.G_PER_MOL, Unit.PERCENT
        ]  # fmt: skip
    assert seen > 8


def test_absolute_uncertainties_add_in_a_difference(draws: Draws) -> None:
    for calculation in islice(draws("back-portions-uncertainty"), 8):
        below, _ = parts_of(calculation)
        if below:
            left, reacted, _ = below[1:]
            difference = difference_in(calculation, budget_of(calculation))
            total, over = difference.terms
            by_hand = answer(left) * over.exact / 100 + total.measured[0].percentage * total.exact / 100
            assert abs(answer(reacted) / by_hand - 1) < Fraction(2, 100)  # two figures


def test_the_plain_sum_is_a_listed_wrong_answer_and_never_accepted(draws: Draws) -> None:
    for key in RESTING:
        for calculation in islice(draws(key), 8):
            for part in (one[-1] for one in parts_of(calculation) if one):
                (plain,) = (wrong for wrong in part.wrong if wrong.slips[0][0] == "S72")
                assert part.accepted is not None
                assert not part.accepted[0] <= plain.answer.number <= part.accepted[1]
                assert plain.marks == (1 if part.exam else 0)


def test_the_factors_of_the_table_are_the_shares_of_the_difference(draws: Draws) -> None:
    for calculation in islice(draws("back-portions-uncertainty"), 8):
        _, exam = parts_of(calculation)
        if not exam:
            continue
        table = exam[-1].shown[0]
        assert isinstance(table, Rows)
        exact = {step.variable.name.stage: step.exact for step in calculation.worked.steps}
        left = to_figures(exact["left over"] / exact["reacted"], 3)
        total = to_figures(exact["added"] / exact["reacted"], 3)
        found = [row[2].number for row in table.rows if isinstance(row[2], Quantity)]
        assert sorted(map(float, found)) == sorted(map(float, (1, left, left, left, total)))


def test_a_level_prints_the_parts_of_its_style_only(questions: Questions) -> None:
    question = questions.make(questions.bank.archetypes["back-portions-uncertainty"], Stream("styles"))
    answer_adds = question.draw.ask.quantity.kind == "percentage"  # the mass of the sample comes after the difference
    below, exam = question.in_style(exam=False), question.in_style(exam=True)
    assert [part.exam for part in below.further_parts] == [None, False, False, False]
    assert [part.exam for part in exam.further_parts] == [None, True]
    assert below.marks == len(question.points) + 1 + 2 + 2 + (2 if answer_adds else 1)
    assert exam.marks == len(question.points) + 4
    assert exam.in_style(exam=True) is exam
    assert replace(below, further_parts=exam.further_parts) == exam


def test_a_difference_is_told_in_the_symbols_of_the_scheme(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    equation = difference_in(calculation, budget_of(calculation)).equation
    assert isinstance(equation, Reckoning)
    assert [piece for piece in equation.pieces if isinstance(piece, str)] == ["=", "−"]
