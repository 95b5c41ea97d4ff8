"""Plans: the planned experiment, performed, gives the titre that was wanted, and so do both ends of what is accepted."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.bench.perform import perform
from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Weigh
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import Calculation, FurtherPart, Named, Said, said
from molewright.further_parts.planning.one_number import (
    EXCESS,
    OTHER_SHARE,
    accepted_plans,
    ask_plan_excess,
    ask_plan_titre,
    ask_planning,
    nearly,
)
from shared.for_each import for_each
from shared.quantities import q

Calculate = Callable[..., Calculation]
PLANNED = (("back-portions", "percentage"), ("direct-purity", "percentage"), ("direct-solutions", "concentration"),
           ("standard-solution", "concentration"), ("diluted-liquid", "concentration"))  # fmt: skip


def plans(calculation: Calculation) -> Iterator[FurtherPart]:
    for number in range(12):
        yield from ask_planning(replace(calculation, stream=Stream(f"plan/{number}")))


def assumed(calculation: Calculation, part: FurtherPart) -> Quantity:
    told = dict(part.demand.slots)["assumed"]
    assert isinstance(told, Said)
    if told.key == "use answer":
        assert dict(told.slots) == {"quantity": Named(calculation.worked.plan.asked)}
        return calculation.worked.answer
    quantity = dict(told.slots).get("percentage", dict(told.slots).get("taken"))
    assert isinstance(quantity, Quantity)
    return quantity


def answer_name(calculation: Calculation) -> str:
    return calculation.worked.plan.asked


def with_the_assumption(calculation: Calculation, part: FurtherPart) -> dict[Name, Fraction]:
    """The question's numbers with the assumption in the place of what is really there."""
    there = dict(calculation.given)
    name = calculation.worked.plan.asked
    share = [one for one in calculation.draw.truth if one.kind == "percentage"]
    there[share[0] if share else name] = assumed(calculation, part).in_base
    return there


def planned(calculation: Calculation, part: FurtherPart) -> Name:
    """The name of the quantity that is planned: told in the demand, or the mass to weigh."""
    told = dict(part.demand.slots).get("wanted")
    if isinstance(told, Named):
        return told.name
    weighed = next(op for op in calculation.draw.variant.procedure.operations if isinstance(op, Weigh))
    return quantities.mass(weighed.sample)


@for_each(("key", "asked"), PLANNED)
def test_both_ends_of_what_is_accepted_give_nearly_the_titre_that_is_wanted(
    key: str, asked: str, calculate: Calculate
) -> None:
    calculation = calculate(key, asked)
    procedure = calculation.draw.variant.procedure
    titre = procedure.titrations[-1].titre
    seen = 0
    for part in plans(calculation):
        if part.demand.key == "plan excess":
            continue
        seen += 1
        wanted = planned(calculation, part)
        assert part.accepted is not None
        for number in part.accepted:
            there = {**with_the_assumption(calculation, part), wanted: Fraction(number)}
            assert abs(perform(procedure, there).titres[titre] - 25) < Fraction(3, 4)
        answer = part.points[-1].answer
        assert isinstance(answer, Quantity)
        middle = perform(procedure, {**with_the_assumption(calculation, part), wanted: answer.in_base}).titres[titre]
        assert abs(middle - 25) < Fraction(1, 4)
    assert seen


@for_each(("key", "asked"), PLANNED)
def test_an_accepted_plan_lies_about_a_hundredth_of_the_answer(key: str, asked: str, calculate: Calculate) -> None:
    for part in plans(calculate(key, asked)):
        assert part.accepted is not None
        answer = part.points[-1].answer
        assert isinstance(answer, Quantity)
        low, high = (Fraction(end) / answer.exact for end in part.accepted)
        assert Fraction(97, 100) < low <= Fraction(995, 1000)
        assert Fraction(1005, 1000) <= high < Fraction(103, 100)


def test_the_mass_that_was_weighed_is_no_accepted_plan(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    weighed = next(op for op in calculation.draw.variant.procedure.operations if isinstance(op, Weigh))
    (part,) = ask_plan_titre(calculation)
    assert part.accepted is not None
    assert not part.accepted[0] <= calculation.draw.given[quantities.mass(weighed.sample)].number <= part.accepted[1]


def wrong_ones(part: FurtherPart) -> dict[str, tuple[Quantity, int]]:
    return {key: (one.answer, one.marks) for one in part.wrong for key, _ in one.slips}


@pytest.mark.parametrize("key", ["back-portions", "direct-purity"])
def test_the_percentage_left_out_is_told_with_the_marks_that_it_keeps(key: str, calculate: Calculate) -> None:
    calculation = calculate(key, "percentage")
    (part,) = ask_plan_titre(calculation)
    answer, marks = wrong_ones(part)["S41"]
    right = part.points[-1].answer
    assert isinstance(right, Quantity)
    share = assumed(calculation, part).exact / 100
    assert abs(answer.exact - right.exact * share) < right.exact / 200
    assert marks == part.marks - 1


def test_the_aliquot_factor_left_out_is_told(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    (part,) = ask_plan_titre(calculation)
    answer, marks = wrong_ones(part)["S21"]
    flask, portion = (calculation.draw.given[name].exact for name in (q("made-up volume"), q("volume of aliquot")))
    right = part.points[-1].answer
    assert isinstance(right, Quantity)
    assert abs(answer.exact * flask / portion - right.exact) < right.exact / 100
    assert marks == part.marks - 1


def test_a_volume_without_the_excess_is_told(calculate: Calculate) -> None:
    (part,) = ask_plan_excess(calculate("back-portions", "percentage"))
    answer, marks = wrong_ones(part)["S39"]
    right = part.points[-1].answer
    assert isinstance(right, Quantity)
    assert abs(answer.exact * EXCESS - right.exact) < right.exact / 100
    assert marks == part.marks - 1


@for_each(("key", "asked"), PLANNED)
def test_no_plan_that_is_accepted_is_listed_as_wrong(key: str, asked: str, calculate: Calculate) -> None:
    for part in plans(calculate(key, asked)):
        assert part.accepted is not None
        assert part.wrong
        for one in part.wrong:
            assert not part.accepted[0] <= one.answer.number <= part.accepted[1]
            assert 0 <= one.marks < part.marks


def test_no_titre_is_planned_where_the_titre_itself_is_what_was_asked(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_planning(calculate("direct-expected-titre", "titre"))


def test_the_planned_volume_leaves_a_third_of_the_reagent(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    procedure = calculation.draw.variant.procedure
    reagent = next(op for op in procedure.operations if isinstance(op, Measure) and op.excess)
    found = [part for part in plans(calculation) if part.demand.key == "plan excess"]
    assert found
    for part in found:
        answer = part.points[-1].answer
        assert isinstance(answer, Quantity)
        there = with_the_assumption(calculation, part)
        there[quantities.volume_measured(reagent.solution.name, reagent.vessel)] = answer.in_base
        used = perform(procedure, there).used[reagent.solution.species]
        assert abs(used - 1 / EXCESS) < Fraction(1, 200)


def test_a_plan_assumes_a_rounded_share_below_a_hundred(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "mass")
    for part in plans(calculation):
        assert assumed(calculation, part).number % 5 == 0
        assert assumed(calculation, part).number <= 95


@pytest.mark.parametrize(("key", "asked"), [*PLANNED, ("dissolved-oxygen", ""), ("silver-alloy", "percentage")])
def test_a_plan_never_tells_what_was_asked_before(key: str, asked: str, calculate: Calculate) -> None:
    calculation = calculate(key, asked)
    answer = calculation.worked.answer
    for part in plans(calculation):
        taken = assumed(calculation, part)
        assert taken == answer or abs(taken.exact / answer.exact - 1) > Fraction(1, 25)
        assert taken != answer or dict(part.demand.slots)["assumed"] == said(
            "use answer", quantity=Named(answer_name(calculation))
        )


@pytest.mark.parametrize("key", ["ethanedioic-water", "unknown-dibasic-acid", "ratio-to-manganate"])
def test_what_belongs_to_the_substance_is_the_pupils_own_answer(key: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    for part in plans(calculation):
        assert dict(part.demand.slots)["assumed"] == said("use answer", quantity=Named(answer_name(calculation)))


def test_a_percentage_that_was_asked_for_is_another_one_of_the_material(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage", analyte="CaCO3")
    name = answer_name(calculation)
    choice = calculation.draw.variant.choices[name]
    assert choice.low is not None
    assert choice.high is not None
    for part in plans(calculation):
        taken = assumed(calculation, part)
        assert taken.number % 5 == 0
        assert choice.low <= taken.number <= choice.high
        assert abs(taken.exact - calculation.draw.truth[name]) >= OTHER_SHARE


def test_the_titrant_is_not_planned_where_it_is_what_is_sought(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_planning(calculate("direct-against-standard", "concentration"))


def test_the_certain_kinds_ask_for_their_own_plan_whatever_the_stream(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    for number in range(12):
        own = replace(calculation, stream=Stream(f"plan/{number}"))
        (titre,), (excess,) = ask_plan_titre(own), ask_plan_excess(own)
        assert (titre.kind, titre.demand.key) == ("plan titre", "plan mass")
        assert (excess.kind, excess.demand.key) == ("plan excess", "plan excess")


def test_either_plan_that_is_picked_is_one_of_the_certain_ones(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    certain = [replace(ask(calculation)[0], kind="planning") for ask in (ask_plan_titre, ask_plan_excess)]
    picked = list(plans(calculation))
    assert all(part in certain for part in picked)
    assert all(part in picked for part in certain)


def test_no_excess_is_planned_where_nothing_is_added_in_excess(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_plan_excess(calculate("direct-purity", "percentage"))


@pytest.mark.parametrize(
    ("plan", "low", "high"),
    [("1.73", "1.72", "1.74"), ("0.0147", "0.0146", "0.0148"), ("29.2", "29.0", "29.4"), ("9.55", "9.46", "9.64")],
)
def test_a_plan_is_accepted_within_one_per_cent_to_both_sides(plan: str, low: str, high: str) -> None:
    assert nearly(Decimal(plan)) == (Decimal(low), Decimal(high))


def test_a_plan_near_a_power_of_ten_is_accepted_to_one_unit_at_least() -> None:
    assert nearly(Decimal("0.0995")) == (Decimal("0.0986"), Decimal("0.1004"))
    assert nearly(Decimal("25")) == (Decimal(24), Decimal(26))


@for_each(("key", "asked"), PLANNED)
def test_no_range_of_plans_reaches_further_than_that_of_an_answer(key: str, asked: str, calculate: Calculate) -> None:
    for part in plans(calculate(key, asked)):
        answer = part.points[-1].answer
        assert isinstance(answer, Quantity)
        assert part.accepted == nearly(answer.number)


def test_a_plan_that_rounding_would_carry_further_off_is_refused(calculate: Calculate) -> None:
    worked = calculate("direct-purity", "percentage").worked
    with pytest.raises(Refusal):
        accepted_plans(worked, worked.exact * Fraction(102, 100))
