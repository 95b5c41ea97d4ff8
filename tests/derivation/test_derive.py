"""The derivation: any quantity of a procedure can be hidden and is found again, exactly; too little and too much are told."""

from __future__ import annotations

import subprocess
import sys
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from molewright.answer.written import rounded
from molewright.bench.perform import BenchFault, perform
from molewright.chem.reaction import parse_reaction
from molewright.derivation.chains import chain_of
from molewright.derivation.derive import Plan, derive, plan
from molewright.derivation.evaluated import evaluate, pairs_of
from molewright.errors import Mistake
from molewright.experiment.procedure import (
    Aliquot,
    Content,
    MakeUp,
    Measure,
    Procedure,
    React,
    Titrate,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import System
from molewright.experiment.solution import Solution
from shared.for_each import for_each
from shared.quantities import q

ROCK = Procedure(
    (
        Weigh(sample="rock", contents=(Content("CaCO3", "CaCO3"), Content("MgCO3", "MgCO3")), pure=True),
        Measure(solution=Solution(name="HCl", solute="HCl", species="HCl"), excess=True),
        React(
            (
                parse_reaction("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O"),
                parse_reaction("MgCO3 + 2HCl -> MgCl2 + CO2 + H2O"),
            ),
            excess="HCl",
        ),
        MakeUp(),
        Aliquot(),
        Titrate(
            titrant=Solution(name="NaOH", solute="NaOH", species="NaOH"),
            reactions=(parse_reaction("HCl + NaOH -> NaCl + H2O"),),
        ),
    )
)
_plans: dict[tuple[int, tuple[Name, ...], Name], Plan] = {}


def planned(system: System, known: frozenset[Name], asked: Name) -> Plan:
    """One plan for each question of the run: sympy is slow, and plans hold no numbers."""
    key = (hash((tuple(system.variables), system.relations)), tuple(sorted(known)), asked)
    if key not in _plans:
        _plans[key] = plan(system, known, asked)
    return _plans[key]


@cache
def prepared(lines: str, describe: Any) -> tuple[Procedure, System]:
    procedure = describe(lines)
    return procedure, relate(procedure)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_every_number_of_an_experiment_is_found_again_when_it_is_hidden(
    by_hand: Any, describe: Any, molar: dict[Name, Fraction], data: st.DataObject
) -> None:
    procedure, system = prepared(by_hand.lines, describe)
    values = {
        name: number * Fraction(data.draw(st.integers(9000, 11000), label=name), 10000)
        for name, number in by_hand.exact().items()
    }
    try:
        readings = perform(procedure, {**molar, **values})
    except BenchFault:
        assume(False)
    truth = {**values, **readings.titres}
    fixed = {name: molar[name] for name in system.fixed}
    for hidden in truth:
        given_values = {name: number for name, number in truth.items() if name != hidden}
        the_plan = planned(system, frozenset(given_values), hidden)
        derivation = derive(system, the_plan, {**fixed, **given_values})
        assert derivation.answer == truth[hidden], hidden
        assert evaluate(the_plan.expression, {**fixed, **given_values}) == truth[hidden]


def test_every_amount_of_an_experiment_is_derived_as_the_bench_saw_it(
    by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    procedure, system = prepared(by_hand.lines, describe)
    readings = perform(procedure, {**molar, **by_hand.exact()})
    fixed = {name: molar[name] for name in system.fixed}
    sought = next(
        name
        for name in by_hand.values
        if name.text.startswith(("percentage", "water", "mass of MgCO3", "mass of ", "concentration of HCl"))
        and not (
            name.text.startswith("mass of ")
            and any(other.text.startswith(("percentage", "water")) for other in by_hand.values)
        )
    )
    given_values = {name: value for name, value in by_hand.exact().items() if name != sought} | readings.titres
    asked = [name for name in readings.amounts if name in system.variables]
    assert len(asked) >= 2
    for name in asked:
        the_plan = planned(system, frozenset(given_values), name)
        assert derive(system, the_plan, {**fixed, **given_values}).answer == readings.amounts[name], name


def test_steps_come_in_the_order_in_which_they_rest_on_each_other(all_by_hand: Any, describe: Any) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    known = (set(limestone.values) | {q("titre of NaOH")}) - {q("percentage of CaCO3 in limestone")}
    found = plan(system, known, q("percentage of CaCO3 in limestone"))
    assert [step.target for step in found.steps] == [
        q("amount of NaOH in titre"),
        q("amount of HCl in portion"),
        q("amount of HCl left over in flask"),
        q("amount of HCl added in flask"),
        q("amount of HCl reacted in flask"),
        q("amount of CaCO3 in limestone"),
        q("mass of CaCO3 in limestone"),
        q("percentage of CaCO3 in limestone"),
    ]
    reached = known | set(system.fixed)
    for step in found.steps:
        assert set(system.relations[step.relation].names) - {step.target} <= reached
        reached.add(step.target)


# ------------------------------------------------------------------ two unknowns at once


def test_a_mixture_of_two_carbonates_is_told_apart_by_its_mass_and_one_titre() -> None:
    # 0.600 g CaCO3 and 0.400 g MgCO3 in 1.000 g; the two equations 100.1 a + 84.3 b = 1.000 and a + b = n(HCl)/2, by hand
    system = relate(ROCK)
    values = {
        q("molar mass of CaCO3"): Fraction("100.1"), q("molar mass of MgCO3"): Fraction("84.3"), q("volume of HCl"): Fraction(50),
        q("concentration of HCl"): Fraction("0.800"), q("made-up volume"): Fraction(250), q("volume of aliquot"): Fraction(25),
        q("concentration of NaOH"): Fraction("0.100"),
    }  # fmt: skip
    seen = perform(
        ROCK, {**values, q("mass of CaCO3 in rock"): Fraction("0.6"), q("mass of MgCO3 in rock"): Fraction("0.4")}
    )
    known = {**values, q("mass of rock"): Fraction(1), **seen.titres}
    reacted = Fraction("0.04") - 10 * seen.titres[q("titre of NaOH")] * Fraction("0.0001")
    by_hand = (1 - Fraction("84.3") * reacted / 2) / (Fraction("100.1") - Fraction("84.3")) * Fraction("100.1") * 100
    assert by_hand == 60
    the_plan = plan(system, set(known) - set(system.fixed), q("percentage of CaCO3 in rock"))
    assert all(step.together is None for step in the_plan.steps)  # a chain of single steps, each worth a mark
    assert derive(system, the_plan, known | {n: Fraction(1) for n in system.fixed if n not in known}).answer == 60


def test_a_mixture_of_unknown_mass_cannot_be_told_apart() -> None:
    known = {
        q("volume of HCl"),
        q("concentration of HCl"),
        q("made-up volume"),
        q("volume of aliquot"),
        q("concentration of NaOH"),
    }
    with pytest.raises(Mistake, match="cannot be worked out from what is given"):
        plan(relate(ROCK), known | {q("titre of NaOH")}, q("percentage of CaCO3 in rock"))


# ------------------------------------------------------------------ too little, too much


def test_what_is_missing_is_named(all_by_hand: Any, describe: Any) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    known = (set(limestone.values) | {q("titre of NaOH")}) - {
        q("percentage of CaCO3 in limestone"),
        q("volume of aliquot"),
    }
    with pytest.raises(Mistake) as caught:
        plan(system, known, q("percentage of CaCO3 in limestone"))
    assert "'percentage of CaCO3 in limestone' cannot be worked out from what is given" in str(caught.value)
    assert "volume of aliquot" in caught.value.near
    assert caught.value.expected == "one more quantity"
    for helpful in caught.value.near:  # what it names is enough, and was not given
        assert helpful not in known
        plan(system, known | {q(helpful)}, q("percentage of CaCO3 in limestone"))


def test_two_missing_quantities_are_told_as_several(all_by_hand: Any, describe: Any) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    known = (set(limestone.values) | {q("titre of NaOH")}) - {
        q("percentage of CaCO3 in limestone"), q("mass of limestone"), q("concentration of HCl"), q("volume of HCl"),
    }  # fmt: skip
    with pytest.raises(Mistake) as caught:
        plan(system, known, q("percentage of CaCO3 in limestone"))
    assert caught.value.expected == "more quantities"
    assert caught.value.do == f"Given: {', '.join(map(str, sorted(known)))}."


def test_an_experiment_of_which_little_is_given_is_refused_at_once(plain_environment: dict[str, str]) -> None:
    script = """
from molewright.derivation.derive import plan
from molewright.experiment.procedure import *
from molewright.experiment.quantities import mass, percentage, volume_made_up
from molewright.experiment.relations.relating import relate
from molewright.chem.reaction import parse_reaction
HCL, NAOH = (Solution(name=one, solute=one, species=one) for one in ("HCl", "NaOH"))
chalk, neutral = parse_reaction("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O"), parse_reaction("HCl + NaOH -> NaCl + H2O")
system = relate(Procedure((Weigh(sample="rock", contents=(Content("CaCO3", "CaCO3"),)), Measure(solution=HCL, excess=True),
    React((chalk,), excess="HCl"), MakeUp(), Aliquot(), Titrate(titrant=NAOH, reactions=(neutral,)))))
plan(system, {mass("rock"), volume_made_up("flask")}, percentage("CaCO3", "rock"))
"""
    try:
        run = subprocess.run(
            [sys.executable, "-c", script],
            capture_output=True,
            text=True,
            env=plain_environment,
            timeout=4,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.fail("still planning after 4 s")
    assert "cannot be worked out from what is given" in run.stderr


def test_too_much_is_told_with_what_to_leave_out(by_hand: Any, describe: Any) -> None:
    _, system = prepared(by_hand.lines, describe)
    with pytest.raises(Mistake, match="too much is given") as caught:
        plan(system, {*by_hand.values, by_hand.titre[0]}, q("amount of NaOH in titre") if by_hand.titre[0].subject == "NaOH" else
             next(name for name in system.variables if name.text.startswith("amount")))  # fmt: skip
    assert caught.value.do == "Leave out one of them."


def test_a_quantity_both_asked_for_and_given_is_a_mistake(all_by_hand: Any, describe: Any) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    with pytest.raises(Mistake, match="is asked for and given"):
        plan(system, limestone.values, q("mass of limestone"))


def test_a_molar_mass_that_formulae_tell_cannot_be_asked_for(all_by_hand: Any, describe: Any) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    with pytest.raises(Mistake, match="is asked for and given"):
        plan(system, limestone.values, q("molar mass of CaCO3"))


# ------------------------------------------------------------------ rounding as pupils do


@for_each(
    ("exact", "figures", "carried"),
    [
        ("0.0026045", 4, "0.002605"),
        ("0.0026044", 4, "0.002604"),
        ("94.85", 3, "94.9"),
        ("-94.85", 3, "-94.9"),
        ("9.996", 3, "10.0"),
        ("0.09996", 3, "0.100"),
        ("0", 3, "0"),
        ("123456", 3, "123000"),
        ("1/3", 4, "0.3333"),
    ],
)
def test_steps_are_rounded_half_up(exact: str, figures: int, carried: str) -> None:
    value = Fraction(exact)
    assert Fraction(*rounded(value.numerator, value.denominator, figures)) == Fraction(carried)
    assert Fraction(*rounded(-7 * value.numerator, -7 * value.denominator, figures)) == Fraction(carried)


@given(st.fractions(min_value=Fraction(1, 10**6), max_value=10**6), st.integers(2, 6))
def test_rounding_is_that_of_the_decimal_module(exact: Fraction, figures: int) -> None:
    # Python's decimal, ROUND_HALF_UP, from a quotient of 60 digits
    many, few = Context(prec=60), Context(prec=figures, rounding=ROUND_HALF_UP)
    expected = few.plus(many.divide(Decimal(exact.numerator), Decimal(exact.denominator)))
    assert Fraction(*rounded(exact.numerator, exact.denominator, figures)) == Fraction(expected)


def test_rounding_every_step_to_three_figures_gives_what_is_found_on_paper(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    limestone = all_by_hand["limestone in portions"]
    _, system = prepared(limestone.lines, describe)
    known = {**{name: molar[name] for name in system.fixed}, **limestone.exact(), q("titre of NaOH"): Fraction("24.8")}
    del known[q("percentage of CaCO3 in limestone")]
    the_plan = planned(system, frozenset(set(known) - set(system.fixed)), q("percentage of CaCO3 in limestone"))
    pairs = pairs_of(known)
    chain_of(system, the_plan.steps).rounded(pairs, 3)
    # by hand to 3 figures: 2.60e-3, 2.60e-2, 0.0500, 0.0240, 0.0120, 1.20 g, 94.9 %
    on_paper = {
        q("amount of NaOH in titre"): "0.00260",
        q("amount of HCl left over in flask"): "0.0260",
        q("amount of HCl reacted in flask"): "0.0240",
        q("amount of CaCO3 in limestone"): "0.0120",
        q("mass of CaCO3 in limestone"): "1.20",
        q("percentage of CaCO3 in limestone"): "94.9",
    }
    assert {name: Fraction(*pairs[name]) for name in on_paper} == {n: Fraction(v) for n, v in on_paper.items()}
    assert derive(system, the_plan, known).answer == Fraction(1199198, 12640)
