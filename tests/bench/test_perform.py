"""The bench against experiments worked by hand: titres, the amounts at every station, and what cannot be done."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from molewright.bench.perform import BenchFault, perform
from molewright.chem.reaction import parse_reaction
from molewright.experiment.procedure import (
    Aliquot,
    Content,
    MakeUp,
    Measure,
    Pass,
    Procedure,
    React,
    Remove,
    Titrate,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution
from shared.quantities import q

HCL = Solution(name="HCl", solute="HCl", species="HCl")
NAOH = Solution(name="NaOH", solute="NaOH", species="NaOH")
NEUTRAL = parse_reaction("HCl + NaOH -> NaCl + H2O")
CHALK = parse_reaction("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O")
MAGNESITE = parse_reaction("MgCO3 + 2HCl -> MgCl2 + CO2 + H2O")


def exact(**numbers: str) -> dict[Name, Fraction]:
    return {q(name.replace("_", " ")): Fraction(number) for name, number in numbers.items()}


def test_the_titre_is_the_one_worked_by_hand(by_hand: Any, describe: Any, molar: dict[Name, Fraction]) -> None:
    name, titre = by_hand.titre
    assert perform(describe(by_hand.lines), {**molar, **by_hand.exact()}).titres == {name: Fraction(titre)}


def test_every_amount_of_the_limestone_example_is_the_one_worked_by_hand(
    all_by_hand: Any, describe: Callable[[str], Procedure], molar: dict[Name, Fraction]
) -> None:
    limestone = all_by_hand["limestone in portions"]
    seen = perform(describe(limestone.lines), {**molar, **limestone.exact()})
    expected = {
        q("amount of HCl added in flask"): "0.0500",
        q("amount of HCl left over in flask"): "0.02604",
        q("amount of HCl reacted in flask"): "0.02396",
        q("amount of CaCO3 in limestone"): "0.01198",
        q("mass of CaCO3 in limestone"): "1.199198",
        q("amount of HCl in portion"): "0.002604",
        q("amount of NaOH in titre"): "0.002604",
    }
    assert {name: seen.amounts[name] for name in expected} == {n: Fraction(v) for n, v in expected.items()}
    assert seen.used == {"HCl": Fraction("0.4792")}
    assert round(float(limestone.exact()[q("percentage of CaCO3 in limestone")]), 2) == 94.87


def test_a_percentage_and_the_mass_within_it_give_the_same_titre(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    limestone = all_by_hand["limestone in portions"]
    values = {**molar, **limestone.exact()}
    del values[q("percentage of CaCO3 in limestone")]
    values[q("mass of CaCO3 in limestone")] = Fraction("1.199198")
    assert perform(describe(limestone.lines), values).titres[q("titre of NaOH")] == Fraction("24.80")


def test_an_excess_that_runs_out_is_refused(all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]) -> None:
    limestone = all_by_hand["limestone in portions"]
    values = {**molar, **limestone.exact(), q("mass of limestone"): Fraction(5)}  # 5 g would need 0.0948 mol of 0.0500
    with pytest.raises(BenchFault) as caught:
        perform(describe(limestone.lines), values)
    assert caught.value.rule == "reagent in excess"
    assert "HCl" in caught.value.detail


def test_an_excess_that_is_just_used_up_is_no_excess(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    limestone = all_by_hand["limestone in portions"]
    values = {**molar, **limestone.exact(), q("concentration of HCl"): Fraction("0.4792")}
    with pytest.raises(BenchFault, match="reagent in excess"):
        perform(describe(limestone.lines), values)


@pytest.mark.parametrize("taken", ["250", "300"])
def test_a_portion_is_smaller_than_its_flask(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction], taken: str
) -> None:
    limestone = all_by_hand["limestone in portions"]
    with pytest.raises(BenchFault, match="aliquot smaller than its flask"):
        perform(describe(limestone.lines), {**molar, **limestone.exact(), q("volume of aliquot"): Fraction(taken)})


def test_a_titrant_without_strength_never_reaches_the_end_point(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    limestone = all_by_hand["limestone in portions"]
    with pytest.raises(BenchFault, match="titrant of some strength"):
        perform(describe(limestone.lines), {**molar, **limestone.exact(), q("concentration of NaOH"): Fraction(0)})


def test_two_carbonates_both_use_up_the_acid() -> None:
    # 0.2002 g CaCO3 and 0.1686 g MgCO3 are 2.00e-3 mol each: 8.00e-3 of 2.00e-2 mol HCl reacts, 1.20e-2 is left;
    # a tenth of it, 1.20e-3 mol, in 0.0500 mol dm-3 NaOH: 24.00 cm3
    rock = Procedure(
        (
            Weigh(sample="rock", contents=(Content("CaCO3", "CaCO3"), Content("MgCO3", "MgCO3")), pure=True),
            Measure(solution=HCL, excess=True),
            React((CHALK, MAGNESITE), excess="HCl"),
            MakeUp(),
            Aliquot(),
            Titrate(titrant=NAOH, reactions=(NEUTRAL,)),
        )
    )
    values = exact(
        mass_of_CaCO3_in_rock="0.2002", mass_of_MgCO3_in_rock="0.1686", molar_mass_of_CaCO3="100.1", molar_mass_of_MgCO3="84.3",
        concentration_of_HCl="0.400", volume_of_HCl="50.0", volume_of_aliquot="25.0", concentration_of_NaOH="0.0500",
    )  # fmt: skip
    values[q("made-up volume")] = Fraction(250)
    seen = perform(rock, values)
    assert seen.amounts[q("amount of HCl reacted in flask")] == Fraction("0.008")
    assert seen.titres[q("titre of NaOH")] == 24


def test_iodine_set_free_by_iodate_is_titrated() -> None:
    # 25.0 cm3 of 0.0100 KIO3 is 2.50e-4 mol; 7.50e-4 mol I2; 1.50e-3 mol thiosulfate in 0.0600: 25.00 cm3
    thiosulfate = Solution(name="Na2S2O3", solute="Na2S2O3", species="S2O3^2-")
    iodate = Procedure(
        (
            Measure(solution=Solution(name="KIO3", solute="KIO3", species="IO3-"), vessel="portion"),
            React((parse_reaction("IO3- + 5I- + 6H+ -> 3I2 + 3H2O"),), "portion"),
            Titrate(titrant=thiosulfate, reactions=(parse_reaction("I2 + 2S2O3^2- -> 2I- + S4O6^2-"),)),
        )
    )
    values = exact(volume_of_KIO3_in_portion="25.0", concentration_of_KIO3="0.0100", concentration_of_Na2S2O3="0.0600")
    assert perform(iodate, values).titres[q("titre of Na2S2O3")] == 25


def test_a_solution_made_in_a_flask_has_the_strength_it_was_made_with() -> None:
    # 1.060 g Na2CO3 is 0.0100 mol in 250 cm3, 0.0400 mol dm-3; 25.0 cm3 of 0.0800 HCl takes half of 2.00e-3 mol: 25.00 cm3
    made = Solution(name="standard", solute="Na2CO3", species="Na2CO3", made_in="flask")
    acid = Procedure(
        (
            Weigh(sample="soda", contents=(Content("Na2CO3", "Na2CO3"),), pure=True),
            MakeUp(),
            Measure(solution=HCL, vessel="portion"),
            Titrate(titrant=made, reactions=(parse_reaction("Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O"),)),
        )
    )
    values = exact(
        mass_of_soda="1.060",
        molar_mass_of_Na2CO3="106.0",
        concentration_of_HCl="0.0800",
        volume_of_HCl_in_portion="25.0",
    )
    values[q("made-up volume")] = Fraction(250)
    assert perform(acid, values).titres[q("titre of standard")] == 25


def test_ammonia_driven_over_uses_up_acid_in_the_receiver() -> None:
    # 0.535 g NH4Cl is 0.0100 mol NH3; 0.0250 mol HCl in the receiver, 0.0150 left; in 0.600 NaOH: 25.00 cm3
    ammonia = Procedure(
        (
            Weigh(sample="salt", contents=(Content("NH4Cl", "NH4Cl"),), pure=True),
            React((parse_reaction("NH4Cl + NaOH -> NaCl + NH3 + H2O"),)),
            Measure(solution=HCL, vessel="receiver", excess=True),
            Pass("NH3", "flask", "receiver"),
            React((parse_reaction("NH3 + HCl -> NH4Cl"),), "receiver", "HCl"),
            Titrate(titrant=NAOH, reactions=(NEUTRAL,), vessel="receiver"),
        )
    )
    values = exact(
        mass_of_salt="0.535", molar_mass_of_NH4Cl="53.5", concentration_of_HCl="0.500", volume_of_HCl_in_receiver="50.0",
        concentration_of_NaOH="0.600",
    )  # fmt: skip
    seen = perform(ammonia, values)
    assert seen.amounts[q("amount of HCl left over in receiver")] == Fraction("0.015")
    assert seen.titres[q("titre of NaOH")] == 25


def test_what_is_boiled_off_is_not_titrated() -> None:
    both = parse_reaction("SO2 + 2NaOH -> Na2SO3 + H2O")
    acid = Procedure(
        (
            Measure(solution=HCL, vessel="portion"),
            Measure(solution=Solution(name="SO2", solute="SO2", species="SO2"), vessel="portion"),
            Remove("SO2", "portion"),
            Titrate(titrant=NAOH, reactions=(NEUTRAL,)),
        )
    )
    values = exact(
        concentration_of_HCl="0.100", volume_of_HCl_in_portion="25.0", concentration_of_SO2="0.5",
        volume_of_SO2_in_portion="25.0", concentration_of_NaOH="0.100",
    )  # fmt: skip
    assert perform(acid, values).titres[q("titre of NaOH")] == 25
    kept = Procedure((acid.operations[0], acid.operations[1], Titrate(titrant=NAOH, reactions=(NEUTRAL, both))))
    assert perform(kept, values).titres[q("titre of NaOH")] == 275  # 2.50e-3 and twice 1.25e-2 mol in 0.100


def test_a_mass_concentration_serves_as_well_as_a_concentration(
    all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]
) -> None:
    acid = all_by_hand["an acid and an alkali"]
    values = {**molar, **acid.exact()}
    values[q("mass concentration of HCl")] = values.pop(q("concentration of HCl")) * Fraction("36.5")
    assert perform(describe(acid.lines), values).titres[q("titre of NaOH")] == 24


def test_the_bench_changes_none_of_the_values(by_hand: Any, describe: Any, molar: dict[Name, Fraction]) -> None:
    values = {**molar, **by_hand.exact()}
    before = dict(values)
    perform(describe(by_hand.lines), values)
    assert values == before


def test_a_portion_of_a_portion_is_taken_of_its_own_volume() -> None:
    # 100 cm3 of 0.800 HCl in 250 cm3 is 0.320; 50.0 cm3 of it holds 1.60e-2, half of that 8.00e-3 mol; in 0.400 NaOH: 20.00 cm3
    acid = Procedure(
        (
            Measure(solution=HCL),
            MakeUp(),
            Aliquot("flask", "beaker"),
            Aliquot("beaker", "portion"),
            Titrate(titrant=NAOH, reactions=(NEUTRAL,)),
        )
    )
    values = exact(concentration_of_HCl="0.800", volume_of_HCl="100", volume_of_aliquot_in_beaker="50.0", volume_of_aliquot="25.0",
                   concentration_of_NaOH="0.400")  # fmt: skip
    values[q("made-up volume")] = Fraction(250)
    assert perform(acid, values).titres[q("titre of NaOH")] == 20
