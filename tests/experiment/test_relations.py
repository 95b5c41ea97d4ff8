"""The relations of a procedure: which quantities there are, which are tied together, and what cannot be done as described."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.bench.perform import perform
from molewright.chem.reaction import parse_reaction
from molewright.errors import Mistake
from molewright.experiment.procedure import (
    Aliquot,
    Content,
    MakeUp,
    Measure,
    Pass,
    Procedure,
    React,
    Titrate,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.quantity_texts import find_name
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import Relation, product, total
from molewright.experiment.solution import Solution
from shared.for_each import for_each
from shared.quantities import q

HCL = Solution(name="HCl", solute="HCl", species="HCl")
NAOH = Solution(name="NaOH", solute="NaOH", species="NaOH")
NEUTRAL = parse_reaction("HCl + NaOH -> NaCl + H2O")
CHALK = parse_reaction("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O")
numbers = st.fractions(min_value=Fraction(1, 1000), max_value=1000)


def holds(relation: Relation, values: dict[Name, Fraction]) -> bool:
    """Whether a relation is true of these values, straight from its definition."""
    if relation.form == "sum":
        return sum(share * values[name] for name, share in relation.quantities) == 0
    whole = relation.factor
    for name, power in relation.quantities:
        whole *= values[name] ** int(power)
    return whole == 1


def test_the_relations_of_the_limestone_example_are_those_on_paper(all_by_hand: Any, describe: Any) -> None:
    system = relate(describe(all_by_hand["limestone in portions"].lines))
    found = {(relation.kind, relation.names[0]) for relation in system.relations}
    assert found == {
        ("molar mass", q("mass of CaCO3 in limestone")),
        ("percentage", q("percentage of CaCO3 in limestone")),
        ("mass concentration", q("mass concentration of HCl")),
        ("concentration", q("amount of HCl added in flask")),
        ("ratio", q("amount of HCl reacted in flask")),
        ("balance", q("amount of HCl reacted in flask")),
        ("mass concentration", q("mass concentration of NaOH")),
        ("concentration", q("amount of NaOH in titre")),
        ("scale", q("amount of HCl left over in flask")),
        ("ratio", q("amount of HCl in portion")),
    }
    assert set(system.fixed) == {q("molar mass of CaCO3"), q("molar mass of HCl"), q("molar mass of NaOH")}


def test_every_relation_is_true_of_what_the_bench_saw(by_hand: Any, describe: Any, molar: dict[Name, Fraction]) -> None:
    procedure = describe(by_hand.lines)
    values = {**molar, **by_hand.exact()}
    seen = perform(procedure, values)
    known = {**values, **seen.amounts, **seen.titres}
    system = relate(procedure)
    checked = [relation for relation in system.relations if set(relation.names) <= known.keys()]
    assert {relation.kind for relation in checked} & {"concentration", "ratio", "balance", "molar mass"}
    assert all(holds(relation, known) for relation in checked)


def test_every_quantity_has_a_unit(by_hand: Any, describe: Any) -> None:
    for variable in relate(describe(by_hand.lines)).variables.values():
        assert variable.unit == UNITS[variable.kind]


@given(numbers, numbers, numbers)
def test_a_product_is_solved_for_any_of_its_quantities(c: Fraction, volume: Fraction, other: Fraction) -> None:
    strength, added, share, held = (
        q("concentration of T"),
        q("volume of T"),
        q("number of ks"),
        q("amount of T in portion"),
    )
    amount = product("concentration", Fraction(1, 1000), held, (strength, added), (share,))
    values = {strength: c, added: volume, share: other, held: c * volume / other / 1000}
    for target in values:
        rest = {name: number for name, number in values.items() if name != target}
        assert amount.solved(target, rest) == values[target]


@given(numbers, numbers, st.integers(1, 5))
def test_a_sum_is_solved_for_any_of_its_quantities(left: Fraction, reacted: Fraction, times: int) -> None:
    whole, rest, used = (q(f"amount of T {stage} in flask") for stage in ("added", "left over", "reacted"))
    added = total("total", whole, ((rest, Fraction(1)), (used, Fraction(times))))
    values = {whole: left + times * reacted, rest: left, used: reacted}
    for target in values:
        rest = {name: number for name, number in values.items() if name != target}
        assert added.solved(target, rest) == values[target]


def test_the_molar_mass_of_a_hydrate_rests_on_its_water(all_by_hand: Any, describe: Any) -> None:
    system = relate(describe(all_by_hand["water in washing soda"].lines))
    assert q("molar mass of Na2CO3.xH2O") not in system.fixed
    assert {q("molar mass of Na2CO3"), q("molar mass of H2O")} <= set(system.fixed)
    assert system.variables[q("water in Na2CO3.xH2O")].kind == "water"
    assert {"hydrate", "water"} <= {relation.kind for relation in system.relations}


def test_a_molar_mass_that_is_sought_is_not_taken_from_the_formula(all_by_hand: Any, describe: Any) -> None:
    procedure = describe(all_by_hand["limestone in portions"].lines)
    assert q("molar mass of CaCO3") not in relate(procedure, frozenset({"CaCO3"})).fixed
    assert q("molar mass of CaCO3") in relate(procedure).fixed


def test_two_sources_of_a_species_are_added_up() -> None:
    acid = Procedure(
        (
            Measure(solution=HCL, vessel="portion"),
            Measure(solution=Solution(name="second", solute="HCl", species="HCl"), vessel="portion"),
            Titrate(titrant=NAOH, reactions=(NEUTRAL,)),
        )
    )
    assert ("total", q("amount of HCl total in portion")) in {(r.kind, r.names[0]) for r in relate(acid).relations}


LIME = Weigh(sample="rock", contents=(Content("CaCO3", "CaCO3"),))
IMPOSSIBLE: dict[str, tuple[tuple[Any, ...], str]] = {
    "an excess that was never measured": (
        (LIME, React((CHALK,), excess="HCl")),
        "HCl is said to be in excess in 'flask'",
    ),
    "an aliquot of a heap of powder": (
        (LIME, Aliquot()),
        "an aliquot is taken from 'flask', whose volume is not known",
    ),
    "nothing in the flask to titrate": (
        (LIME, MakeUp(), Aliquot(), Titrate(titrant=NAOH, reactions=(NEUTRAL,))),
        "finds nothing to react with",
    ),
    "an excess that the equation does not hold": (
        (LIME, Measure(solution=NAOH), React((CHALK,), excess="NaOH")),
        "cannot go to the end",
    ),
    "two reactants and no excess named": (
        (LIME, Measure(solution=HCL), React((CHALK,))),
        "cannot go to the end as described",
    ),
    "a solution used before it is made": (
        (
            Measure(solution=HCL, vessel="portion"),
            Titrate(
                titrant=Solution(name="made", solute="NaOH", species="NaOH", made_in="flask"), reactions=(NEUTRAL,)
            ),
        ),
        "is used before it is made",
    ),
    "a gas that is not there": ((LIME, Pass("NH3", "flask", "receiver")), "no NH3 in 'flask' to drive over"),
}


@for_each("what", IMPOSSIBLE)
def test_what_cannot_be_done_as_described_is_a_mistake(what: str) -> None:
    operations, said = IMPOSSIBLE[what]
    with pytest.raises(Mistake) as caught:
        relate(Procedure(operations))
    assert said in str(caught.value)


KNOWN = (
    q("mass of limestone"),
    q("mass of CaCO3 in limestone"),
    q("percentage of CaCO3 in limestone"),
    q("titre of NaOH"),
)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("titre of NaOH", q("titre of NaOH")),
        ("  titre   of NaOH ", q("titre of NaOH")),
        ("Percentage", q("percentage of CaCO3 in limestone")),
        ("mass of limestone", q("mass of limestone")),
    ],
)
def test_a_quantity_is_found_by_its_name_or_its_only_beginning(said: str, meant: str) -> None:
    assert find_name(said, KNOWN) == meant


def test_an_ambiguous_beginning_lists_what_it_could_be() -> None:
    with pytest.raises(Mistake, match="could be 2 quantities") as caught:
        find_name("mass of", KNOWN)
    assert caught.value.expected == "one of: mass of limestone, mass of CaCO3 in limestone"


def test_a_misspelt_quantity_tells_the_nearest() -> None:
    with pytest.raises(Mistake) as caught:
        find_name("titer of NaOH", KNOWN)
    assert caught.value.near[0] == "titre of NaOH"
