"""A titrant and a mass planned together: performed, one strength of three gives a good titre, and the mass gives 25.00 cm³."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from molewright.bench.perform import perform
from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.further_parts.pieces import Calculation, FurtherPart, Quotient, Reckoning, Said, Strong
from molewright.further_parts.planning.planned_bench import WINDOW
from molewright.further_parts.planning.two_numbers import CLEAR, ask_plan_both
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
PLANNED = (
    ("direct-purity", "percentage"),
    ("moss-treatment", "percentage"),
    ("copper-crystals", "percentage of CuSO4"),
)
MOST = 10


def plans(calculation: Calculation) -> Iterator[tuple[FurtherPart, FurtherPart]]:
    for number in range(MOST):
        try:
            choice, mass = ask_plan_both(replace(calculation, stream=Stream(f"both/{number}")))
        except Refusal:
            continue
        yield choice, mass


def told(part: FurtherPart, name: str) -> Quantity:
    found = dict(part.demand.slots)[name]
    assert isinstance(found, Quantity)
    return found


def strengths(choice: FurtherPart) -> list[Fraction]:
    slots = dict(choice.demand.slots)
    return [Fraction(str(slots["weaker"])), Fraction(str(slots["serves"])), told(choice, "stronger").exact]


def titre_of(calculation: Calculation, choice: FurtherPart, mass: Fraction, strength: Fraction) -> Fraction:
    """The titre on the bench, with the percentage that is assumed."""
    procedure = calculation.draw.variant.procedure
    assumed = dict(choice.demand.slots)["assumed"]
    assert isinstance(assumed, Said)
    percentage = dict(assumed.slots).get("percentage", calculation.worked.answer)
    assert isinstance(percentage, Quantity)
    share = next(name for name in calculation.draw.truth if name.text.startswith("percentage"))
    if assumed.key == "use answer":
        share = calculation.worked.plan.asked
    weighed = next(name for name in calculation.draw.given if name.text.startswith("mass of"))
    titrant = procedure.titrations[0].titrant.name
    there = {**calculation.given, share: percentage.exact, weighed: mass, quantities.concentration(titrant): strength}
    return perform(procedure, there).titres[procedure.titrations[0].titre]


@for_each(("key", "asked"), PLANNED)
def test_one_strength_of_three_gives_a_titre_in_the_window_and_the_others_miss_it_clearly(
    key: str, asked: str, calculate: Calculate
) -> None:
    calculation = calculate(key, asked)
    seen = 0
    for choice, _ in plans(calculation):
        seen += 1
        rough = told(choice, "rough").exact
        weaker, serves, stronger = (titre_of(calculation, choice, rough, one) for one in strengths(choice))
        assert weaker >= WINDOW[1] + CLEAR
        assert WINDOW[0] < serves < WINDOW[1]
        assert stronger <= WINDOW[0] - CLEAR
    assert seen >= MOST // 2


@for_each(("key", "asked"), PLANNED)
def test_the_mass_gives_the_titre_wanted_with_the_strength_that_serves(
    key: str, asked: str, calculate: Calculate
) -> None:
    calculation = calculate(key, asked)
    for choice, mass in plans(calculation):
        answer = mass.points[-1].answer
        assert isinstance(answer, Quantity)
        serves = strengths(choice)[1]
        assert abs(titre_of(calculation, choice, answer.exact, serves) - 25) < Fraction(1, 4)
        assert mass.accepted is not None
        low, high = mass.accepted
        assert low < answer.number < high
        for end in (low, high):
            assert abs(titre_of(calculation, choice, Fraction(end), serves) - 25) < Fraction(1, 2)
        rough = told(choice, "rough")
        assert not low <= rough.number <= high  # the rough mass is not an answer


@for_each(("key", "asked"), PLANNED)
def test_the_titres_of_the_others_follow_from_the_printed_numbers(key: str, asked: str, calculate: Calculate) -> None:
    for choice, _ in plans(calculate(key, asked)):
        for point in choice.points[-3:-1]:
            line = point.lines[0]
            assert isinstance(line, Reckoning)
            quotient, found = line.pieces[2], line.pieces[4]
            assert isinstance(quotient, Quotient)
            assert isinstance(found, Strong)
            assert isinstance(found.piece, Quantity)
            titre, _, strength = quotient.top
            worked = Fraction(str(titre)) * Fraction(str(strength)) / Fraction(str(quotient.bottom[0]))
            assert abs(worked - found.piece.exact) <= Fraction(1, 10)


def test_a_choice_without_working_earns_nothing_by_machine(calculate: Calculate) -> None:
    for choice, mass in plans(calculate("direct-purity", "percentage")):
        assert choice.accepted is None
        assert mass.accepted is not None
        assert choice.kind == mass.kind == "plan both"


@pytest.mark.parametrize("key", ["back-portions", "standard-solution", "direct-solutions", "hydroxide-and-carbonate"])
def test_only_a_sample_titrated_directly_is_planned_so(key: str, calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_plan_both(calculate(key))
