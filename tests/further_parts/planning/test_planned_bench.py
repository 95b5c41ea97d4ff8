"""A planned number is put back on the bench: a plan that is wrong is caught, and one that no draw would come upon is refused."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.bank.definitions import Archetype, Windows
from molewright.bench.perform import perform
from molewright.chem.quantity import Quantity
from molewright.derivation.chains import Step
from molewright.derivation.derive import Plan
from molewright.derivation.plans import Plans
from molewright.draw.refusal import Refusal
from molewright.errors import CheckFailure
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System
from molewright.further_parts.pieces import Calculation, FurtherPart, Maker
from molewright.further_parts.planning.one_number import ask_plan_excess, ask_plan_titre
from molewright.further_parts.planning.planned_bench import Planned, prove_titre, require_believable, window_of
from molewright.further_parts.planning.two_numbers import ask_plan_both
from molewright.plausibility.rules import Plausibility
from shared.for_each import for_each
from shared.quantities import q

Calculate = Callable[..., Calculation]


class Spoilt(Plans):
    """Plans to one kind of quantity that are sound in form and a thousandth too large."""

    def __init__(self, kind: str) -> None:
        super().__init__("spoilt", None)
        self.kind = kind

    def find(self, system: System, given: Iterable[Name], asked: Name) -> Plan:
        right = super().find(system, given, asked)
        if asked.kind != self.kind:
            return right
        wrong = ("*", ("number", Fraction(1001, 1000)), right.expression)
        return Plan(asked, (*right.steps[:-1], Step(asked, right.steps[-1].relation, wrong)), wrong)


@for_each(
    ("ask", "key", "kind"),
    [
        (ask_plan_titre, "direct-purity", "mass"),
        (ask_plan_titre, "back-portions", "mass"),
        (ask_plan_titre, "direct-solutions", "concentration"),
        (ask_plan_excess, "back-portions", "amount"),
        (ask_plan_both, "direct-purity", "mass"),
        (ask_plan_both, "direct-purity", "titre"),
    ],
)
def test_a_wrong_plan_is_caught_by_the_bench(ask: Maker, key: str, kind: str, calculate: Calculate) -> None:
    calculation = calculate(key, "concentration" if kind == "concentration" else "percentage")
    assert ask(calculation)
    with pytest.raises(CheckFailure):
        ask(replace(calculation, plans=Spoilt(kind)))


def back_with(calculation: Calculation, windows: Windows) -> Calculation:
    archetype: Archetype = replace(calculation.draw.archetype, windows=windows)
    return replace(calculation, draw=replace(calculation.draw, archetype=archetype))


def planned_titre(part: FurtherPart) -> Fraction:
    titre = dict(part.demand.slots)["titre"]
    assert isinstance(titre, Quantity)
    return titre.exact


WINDOWS = {
    "much used up": Windows(used=(Fraction(60, 100), Fraction(90, 100))),
    "less used up": Windows(used=(Fraction(30, 100), Fraction(65, 100))),
    "small titres": Windows(titre=(Fraction(15), Fraction(20)), used=(Fraction(2, 10), Fraction(9, 10))),
}


@for_each("which", WINDOWS)
def test_a_plan_keeps_the_windows_of_its_kind(which: str, calculate: Calculate) -> None:
    calculation = back_with(calculate("back-portions", "percentage"), WINDOWS[which])
    windows = calculation.draw.archetype.windows
    (part,) = ask_plan_titre(calculation)
    aim, answer = planned_titre(part), part.points[-1].answer
    assert windows.titre[0] <= aim <= windows.titre[1]
    assert isinstance(answer, Quantity)
    procedure = calculation.draw.variant.procedure
    share = dict(part.demand.slots)["assumed"]
    percentage = dict(getattr(share, "slots", ())).get("percentage")
    assert isinstance(percentage, Quantity)
    there = {**calculation.draw.truth, quantities.mass(procedure.weighings[0].sample): answer.in_base,
             calculation.worked.plan.asked: percentage.in_base}  # fmt: skip
    seen = perform(procedure, there)
    assert abs(seen.titres[procedure.titrations[-1].titre] - aim) < Fraction(1, 4)
    assert all(windows.used[0] <= share <= windows.used[1] for share in seen.used.values())


def test_where_25_will_not_do_another_titre_is_planned(calculate: Calculate) -> None:
    (part,) = ask_plan_titre(back_with(calculate("back-portions", "percentage"), WINDOWS["small titres"]))
    assert planned_titre(part) != 25


@pytest.mark.parametrize(
    ("drawn", "served"), [((15, 35), (20, 30)), ((18, 28), (20, 28)), ((12, 19), (12, 19)), ((15, 21), (15, 21))]
)
def test_the_titres_that_serve_are_those_that_the_kind_can_have(
    drawn: tuple[int, int], served: tuple[int, int], calculate: Calculate
) -> None:
    low, high = map(Fraction, drawn)
    archetype = back_with(calculate("back-portions", "percentage"), Windows(titre=(low, high))).draw.archetype
    assert window_of(archetype) == served


@pytest.mark.parametrize("number", ["0.010", "40.0", "-0.562"])
def test_what_nobody_would_weigh_is_refused(number: str, calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    mass = quantities.mass(calculation.draw.variant.procedure.weighings[0].sample)
    one = Quantity(Decimal(number), calculation.draw.given[mass].unit)
    with pytest.raises(Refusal, match="far from what"):
        require_believable(calculation, calculation.draw.truth, Planned(mass, one.in_base, one))


class Stern(Plausibility):
    def refusal(self, draw: object) -> tuple[str, str]:
        return ("indicator", "no such day")


@pytest.mark.parametrize(
    ("ask", "key"),
    [(ask_plan_titre, "direct-purity"), (ask_plan_excess, "back-portions"), (ask_plan_both, "direct-purity")],
)
def test_a_plan_whose_chemistry_is_not_believable_is_refused(ask: Maker, key: str, calculate: Calculate) -> None:
    calculation = calculate(key, "percentage")
    with pytest.raises(Refusal, match="no such day"):
        ask(replace(calculation, plausibility=Stern(calculation.bank)))


def test_more_left_over_than_was_added_is_no_plan(calculate: Calculate) -> None:
    """The mass comes out below zero, which the bench alone does not mind."""
    calculation = calculate("back-portions", "percentage")
    procedure = calculation.draw.variant.procedure
    titre = procedure.titrations[-1].titre
    truth = {**calculation.draw.truth, q("volume of HCl"): Fraction(1)}
    mass = quantities.mass(procedure.weighings[0].sample)
    known = {name: value for name, value in truth.items() if name not in {mass, titre}}
    low = perform(procedure, {**known, mass: Fraction(-1)}).titres[titre]
    one = Quantity(Decimal("-1.00"), calculation.draw.given[mass].unit)
    with pytest.raises(Refusal):
        prove_titre(calculation, known, Planned(mass, Fraction(-1), one), titre, low)
