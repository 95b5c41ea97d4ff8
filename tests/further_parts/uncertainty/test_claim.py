"""Claims: both verdicts occur, never on the edge, and by the weighted sum where the answer rests on a difference."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice

from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.pieces import Calculation, FurtherPart, Said
from molewright.further_parts.uncertainty.budget import budget_of
from molewright.further_parts.uncertainty.claim import ask_claim

Calculate = Callable[..., Calculation]


def claims(calculation: Calculation, most: int = 60) -> list[FurtherPart]:
    found = []
    for number in range(most):
        try:
            found += ask_claim(replace(calculation, stream=Stream(f"claim/{number}")))
        except Refusal:
            continue
    return found


def claimed(part: FurtherPart) -> Quantity:
    demand = part.demand
    assert isinstance(demand, Said)
    quantity = dict(demand.slots)["claim"]
    assert isinstance(quantity, Quantity)
    return quantity


def test_both_verdicts_occur(calculate: Calculate) -> None:
    verdicts = [part.points[-1].answer for part in claims(calculate("direct-purity", "percentage"))]
    assert verdicts.count("consistent") > 10
    assert verdicts.count("not consistent") > 10


def test_a_claim_is_never_near_the_edge_of_the_range(calculate: Calculate) -> None:
    for key, asked in (
        ("direct-purity", "percentage"),
        ("diluted-liquid", "concentration"),
        ("back-portions", "percentage"),
    ):
        calculation = calculate(key, asked)
        answer = calculation.worked.answer.exact
        spread = answer * budget_of(calculation).greatest / 100
        for part in claims(calculation):
            away = abs(claimed(part).exact - answer) / spread
            inside = part.points[-1].answer == "consistent"
            assert away < Fraction(9, 10) if inside else away > Fraction(12, 10), (
                key,
                float(away),
                part.points[-1].answer,
            )


def test_a_claim_is_never_the_answer_itself_nor_a_hundred_per_cent(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    for part in claims(calculation):
        assert claimed(part).number != calculation.worked.answer.number
        assert claimed(part).number < 100


def test_a_claim_has_the_places_of_the_answer(calculate: Calculate) -> None:
    calculation = calculate("diluted-liquid", "concentration")
    for part in claims(calculation):
        assert claimed(part).places == calculation.worked.answer.places
        assert claimed(part).unit == calculation.worked.answer.unit


def test_a_claim_about_a_back_titration_is_judged_by_the_weighted_sum(
    draws: Callable[[str], Iterator[Calculation]],
) -> None:
    # with the plain sum the verdict would be another for what lies between the two
    otherwise = 0
    several = (*islice(draws("antacid-claim"), 8), *islice(draws("back-portions-uncertainty"), 8))
    for calculation in several:
        budget, answer = budget_of(calculation), calculation.worked.answer.exact
        plain = sum(one.percentage for one in budget.used)
        for part in claims(calculation, 20):
            away = abs(claimed(part).exact - answer) / answer * 100
            assert (part.points[-1].answer == "consistent") is (away < budget.greatest)
            otherwise += (away < budget.greatest) is not (away < plain)
    assert otherwise
