"""Whether a drawn titration is believable chemistry, held to what textbooks and analytical tables say of right and wrong ones."""

from __future__ import annotations

import dataclasses
import random
import re
import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Variant
from molewright.bank.readers.whole_bank import read_bank
from molewright.bench.perform import perform
from molewright.chem.reaction import parse_reaction
from molewright.derivation.plans import Plans
from molewright.draw.chosen import Chosen, Draw
from molewright.draw.draw import draw
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import (
    Aliquot,
    Content,
    MakeUp,
    Measure,
    Procedure,
    React,
    Remove,
    Titrate,
    Weigh,
)
from molewright.experiment.quantities import FLASK, PORTION
from molewright.experiment.saturating import TellProduct
from molewright.experiment.solution import Solution
from molewright.plausibility.flask import last_flask
from molewright.plausibility.rules import Plausibility
from molewright.plausibility.solutes import Solutes
from molewright.question.check import Questions
from shared.for_each import for_each, for_every

NEUTRAL = "HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)"
COMMON = (
    "methyl orange", "screened methyl orange", "bromophenol blue", "bromocresol green", "methyl red", "bromothymol blue",
    "phenol red", "phenolphthalein",
)  # fmt: skip


@pytest.fixture(scope="module")
def judge(bank) -> Plausibility:
    return Plausibility(bank)


def number(text) -> Fraction:
    return Fraction(str(text))


def as_draw(operations, truth, indicator="", indicators=()) -> Draw:
    variant = Variant(
        roles={},
        procedure=Procedure(tuple(operations)),
        choices={},
        unknown=frozenset(),
        contexts=(),
        indicators=tuple(indicators),
        asks=(),
    )
    exact = {name: number(value) for name, value in truth.items()}
    return Draw(
        archetype=None,
        variant=variant,
        context=None,
        ask=None,
        indicator=indicator,
        given={},
        truth=exact,
        runs=(),
        stream=Stream("none"),
    )


def direct(analyte, strength, titrant, titrant_strength, equation, indicator, species="") -> Draw:
    """25.0 cm³ of a solution, titrated."""
    return as_draw(
        [
            Measure(solution=Solution(name=analyte, solute=analyte, species=species or analyte), vessel=PORTION),
            Titrate(
                titrant=Solution(name=titrant, solute=titrant, species=titrant),
                reactions=(parse_reaction(equation),),
                vessel=PORTION,
            ),
        ],
        {
            quantities.concentration(analyte): strength,
            quantities.volume_measured(analyte, PORTION): 25,
            quantities.concentration(titrant): titrant_strength,
        },
        indicator,
    )


def back(solid, equation, indicator, *, amount=0.02, reagent="HCl", strength="1.00", titration=NEUTRAL, titrant="NaOH",
         titrant_strength="0.100", boiled="", whole=False) -> Draw:  # fmt: skip
    """An amount of a solid in 50.0 cm³ of reagent, made up to 250 cm³, 25.0 cm³ titrated; or the whole titrated."""
    alkali_first = reagent in ("NaOH", "KOH")
    operations = [
        Weigh(sample=solid, contents=(Content(solid, solid),), vessel=FLASK, pure=True),
        Measure(solution=Solution(name=reagent, solute=reagent, species=reagent), vessel=FLASK, excess=True),
        React((parse_reaction(equation),), FLASK, reagent),
    ]
    if boiled:
        operations.append(Remove(boiled, FLASK))
    if not whole:
        operations += [MakeUp(FLASK), Aliquot(FLASK, PORTION)]
    operations.append(
        Titrate(
            titrant=Solution(name=titrant, solute=titrant, species=titrant),
            reactions=(parse_reaction(titration),),
            vessel=FLASK if whole else PORTION,
        )
    )
    assert alkali_first or titrant in ("NaOH", "KOH")
    truth = {
        quantities.mass(solid): amount * 100,
        quantities.molar_mass(solid): 100,
        quantities.volume_measured(reagent, FLASK): 50,
        quantities.concentration(reagent): strength,
        quantities.volume_made_up(FLASK): 250,
        quantities.volume_taken(PORTION): 25,
        quantities.concentration(titrant): titrant_strength,
    }
    return as_draw(operations, truth, indicator)


HELD = {"CO2": 0.034}  # mol dm⁻³, Henry's constant of R. Sander, Atmos. Chem. Phys. 15 (2015) 4399


def rule(judge, one) -> str:
    found = judge.refusal(one)
    return found[0] if found else ""


# ------------------------------------------------------------------ the indicator against what is titrated


@for_each("indicator", COMMON)
def test_any_common_indicator_serves_for_a_strong_acid_with_a_strong_alkali(judge, indicator):
    # OpenStax, Chemistry 2e, 14.7: methyl orange, litmus and phenolphthalein all serve at 0.1 mol dm⁻³
    assert rule(judge, direct("HCl", "0.100", "NaOH", "0.100", NEUTRAL, indicator)) == ""


def test_vinegar_needs_phenolphthalein_and_not_methyl_orange(judge):
    # OpenStax, Chemistry 2e, 14.7, figure of the indicators: methyl orange has changed after 8 of 25 cm³
    equation = "CH3COOH(aq) + NaOH(aq) -> CH3COONa(aq) + H2O(l)"
    refused = judge.refusal(direct("CH3COOH", "0.100", "NaOH", "0.100", equation, "methyl orange"))
    assert refused is not None
    assert refused[0] == "indicator"
    assert "early" in refused[1]
    assert rule(judge, direct("CH3COOH", "0.100", "NaOH", "0.100", equation, "phenolphthalein")) == ""


def test_ammonia_needs_methyl_orange_and_not_phenolphthalein(judge):
    # OpenStax, Chemistry 2e, 14.7: a weak base with a strong acid is at pH 5.3 when it is neutralised
    equation = "NH3(aq) + HCl(aq) -> NH4Cl(aq)"
    assert rule(judge, direct("NH3", "0.100", "HCl", "0.100", equation, "phenolphthalein")) == "indicator"
    assert rule(judge, direct("NH3", "0.100", "HCl", "0.100", equation, "methyl orange")) == ""


def test_weak_acid_with_weak_base_has_no_indicator(judge):
    # OpenStax, Chemistry 2e, 14.7: no sharp change of pH
    weak = direct("CH3COOH", "0.100", "NH3", "0.100", "CH3COOH(aq) + NH3(aq) -> CH3COONH4(aq)", "bromothymol blue")
    assert rule(judge, weak) == "indicator"
    assert judge.suitable_indicators(weak.variant, weak) == ()


@pytest.mark.parametrize(
    ("analyte", "titrant", "equation"),
    [
        ("H2SO4", "NaOH", "H2SO4(aq) + 2NaOH(aq) -> Na2SO4(aq) + 2H2O(l)"),
        ("Na2CO3", "H2SO4", "Na2CO3(aq) + H2SO4(aq) -> Na2SO4(aq) + CO2(g) + H2O(l)"),
    ],
)
def test_methyl_orange_serves_for_sulfuric_acid_at_the_first_orange(judge, analyte, titrant, equation):
    # the trade's practice; at the middle of the range, pH 3.75, a hundredth of the sulfate still holds its proton (pKa 1.99)
    strengths = ("0.0500", "0.100") if titrant == "NaOH" else ("0.0500", "0.0500")
    assert rule(judge, direct(analyte, strengths[0], titrant, strengths[1], equation, "methyl orange")) == ""


def test_indicator_that_does_not_follow_ph_shows_no_acid(bank):
    starch = dataclasses.replace(bank.indicators["methyl orange"], name="starch", low=None, high=None, stop=None)
    with_starch = dataclasses.replace(bank, indicators={**bank.indicators, "starch": starch})
    found = Plausibility(with_starch).refusal(direct("HCl", "0.100", "NaOH", "0.100", NEUTRAL, "starch"))
    assert found == ("indicator", "starch does not follow pH")


def test_suitable_indicators_are_those_of_the_textbook(judge):
    # OpenStax, Chemistry 2e, 14.7: for ethanoic acid only phenolphthalein of its three; for strong ones all
    vinegar = direct("CH3COOH", "0.1", "NaOH", "0.1", "CH3COOH(aq) + NaOH(aq) -> CH3COONa(aq) + H2O(l)", "")
    found = judge.suitable_indicators(vinegar.variant, vinegar)
    assert {"phenolphthalein", "thymol blue"} <= set(found)
    assert not {"methyl orange", "bromophenol blue", "methyl red", "bromothymol blue"} & set(found)
    strong = direct("HCl", "0.1", "NaOH", "0.1", NEUTRAL, "")
    assert set(COMMON) <= set(judge.suitable_indicators(strong.variant, strong))


def test_very_dilute_strong_acid_is_too_weak_for_methyl_orange(judge):
    # at 0.001 mol dm⁻³ the steep part ends near pH 5.3 (the equivalence less 0.2 % of the acid): methyl orange lies below it
    assert rule(judge, direct("HCl", "0.00100", "NaOH", "0.00100", NEUTRAL, "methyl orange")) == "indicator"
    assert rule(judge, direct("HCl", "0.00100", "NaOH", "0.00100", NEUTRAL, "bromothymol blue")) == ""


# ------------------------------------------------------------------ carbonates and carbon dioxide

CHALK = "CaCO3(s) + 2HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"
SODA = "Na2CO3(aq) + 2HCl(aq) -> 2NaCl(aq) + CO2(g) + H2O(l)"


def test_phenolphthalein_after_a_carbonate_needs_the_carbon_dioxide_boiled_off(judge):
    # I. M. Kolthoff and others, Quantitative Chemical Analysis: carbon dioxide (pK1 6.35) is titrated by phenolphthalein,
    # not by methyl orange; boiling drives it off
    assert rule(judge, back("CaCO3", CHALK, "phenolphthalein")) == "gas"
    assert rule(judge, back("CaCO3", CHALK, "phenolphthalein", boiled="CO2")) == ""
    assert rule(judge, back("CaCO3", CHALK, "methyl orange")) == ""


def test_carbon_dioxide_left_by_a_carbonate_is_at_most_what_water_keeps(judge):
    one = back("CaCO3", CHALK, "", whole=True, strength="1.00", amount=0.02)
    flask = last_flask(one.variant.procedure, one.truth, HELD)
    # 0.020 mol were made in 50 cm³, that is 0.40 mol dm⁻³; Henry's constant (Sander 2015) lets 0.034 stay
    assert flask.amounts["CO2"] == pytest.approx(0.034 * 0.050)


def test_bromocresol_green_is_late_where_all_carbon_dioxide_is_in_an_undiluted_flask(judge):
    # at pH 4.6 about 2 % of the carbon dioxide is hydrogencarbonate (pK1 6.35): as much as 1 % of a tenfold weaker acid
    stronger = {"amount": 0.0025, "strength": "0.200", "titrant_strength": "0.200", "whole": True}
    assert rule(judge, back("CaCO3", CHALK, "bromocresol green", **stronger)) == "gas"
    assert rule(judge, back("CaCO3", CHALK, "methyl orange", **stronger)) == ""


@pytest.mark.parametrize(
    ("analyte", "equation"),
    [("Na2CO3", SODA), ("NaHCO3", "NaHCO3(aq) + HCl(aq) -> NaCl(aq) + CO2(g) + H2O(l)")],
)
def test_carbonates_are_titrated_with_methyl_orange_and_not_with_phenolphthalein(judge, analyte, equation):
    # OpenStax, Chemistry 2e, 14.7 and any textbook: phenolphthalein stops at hydrogencarbonate, half-way
    strength = "0.0500" if analyte == "Na2CO3" else "0.0800"
    titrant = "0.100" if analyte == "Na2CO3" else "0.0900"
    assert rule(judge, direct(analyte, strength, "HCl", titrant, equation, "phenolphthalein")) == "indicator"
    assert rule(judge, direct(analyte, strength, "HCl", titrant, equation, "bromothymol blue")) == "indicator"
    assert rule(judge, direct(analyte, strength, "HCl", titrant, equation, "screened methyl orange")) == ""


def test_carbon_dioxide_above_what_water_keeps_escapes_while_acid_is_run_in(judge):
    # 0.067 mol dm⁻³ would be left at the end, twice what water keeps: at pH 4.2 its hydrogencarbonate would be 0.8 % of it
    equation = "NaHCO3(aq) + HCl(aq) -> NaCl(aq) + CO2(g) + H2O(l)"
    assert rule(judge, direct("NaHCO3", "0.150", "HCl", "0.120", equation, "methyl orange")) == ""


# ------------------------------------------------------------------ metal ions beside the acid left over


def oxide(metal, formula, charge=2):
    if charge == 2:
        return f"{formula}(s) + 2HCl(aq) -> {metal}Cl2(aq) + H2O(l)"
    return f"{formula}(s) + 6HCl(aq) -> 2{metal}Cl3(aq) + 3H2O(l)"


@for_each(
    ("metal", "indicator", "expected"),
    [
        # onset of the hydroxide at 0.01 mol dm⁻³, a hydroxide precipitation table of analytical teaching: Zn 6.4, Mg 10.4;
        # Cu 4.8 to 5.2 from its Ksp (OpenStax, Chemistry 2e, appendix J)
        ("Zn", "phenolphthalein", "hydroxide"),
        ("Zn", "bromothymol blue", "hydroxide"),
        ("Zn", "methyl orange", ""),
        ("Cu", "phenolphthalein", "hydroxide"),
        ("Cu", "methyl red", "hydroxide"),
        ("Cu", "methyl orange", "hydroxide"),
        ("Mg", "methyl orange", ""),
        ("Mg", "bromothymol blue", ""),
        ("Mg", "thymolphthalein", "hydroxide"),
        ("Ca", "phenolphthalein", ""),
        ("Ca", "methyl orange", ""),
    ],
)
def test_metal_hydroxide_must_not_come_down_before_the_colour_has_changed(judge, metal, indicator, expected):
    assert rule(judge, back(f"{metal}O", oxide(metal, f"{metal}O"), indicator)) == expected


def test_a_hydroxide_is_told_with_the_margin_and_the_ph_that_would_do(judge):
    found = judge.refusal(back("CuO", oxide("Cu", "CuO"), "methyl orange"))
    assert found is not None
    words = re.search(
        r"from about pH ([\d.]+), and methyl orange changes up to pH 4.4: 1 must lie between, so .* by pH ([\d.]+)",
        found[1],
    )
    assert words is not None, found[1]
    assert abs(float(words[1]) - 1 - float(words[2])) < 0.05


@for_every(indicator=["methyl orange", "phenolphthalein"], metal=["Al", "Fe"])
def test_aluminium_and_iron_three_take_up_alkali_with_any_indicator(judge, metal, indicator):
    # onset at 0.01 mol dm⁻³, the same table: Al 4.0, Fe(III) 2.3; both below the change of methyl orange
    one = back(f"{metal}2O3", oxide(metal, f"{metal}2O3", 3), indicator, amount=0.005)
    found = judge.refusal(one)
    assert found is not None
    assert found[0] == "hydroxide"
    assert f"{metal}(OH)3" in found[1]


def test_group_two_metal_that_is_unknown_is_judged_as_each_that_it_may_be(judge):
    unknown = "MCO3(s) + 2HCl(aq) -> MCl2(aq) + CO2(g) + H2O(l)"
    one = back("CaCO3", CHALK, "")
    operations = list(one.variant.procedure.operations)
    operations[2] = React((parse_reaction(unknown, frozenset("M")),), FLASK, "HCl")
    operations[0] = Weigh(sample="CaCO3", contents=(Content("CaCO3", "MCO3"),), vessel=FLASK, pure=True)
    operations.insert(3, Remove("CO2", FLASK))
    assert rule(judge, as_draw(operations, one.truth, "methyl orange")) == ""
    assert rule(judge, as_draw(operations, one.truth, "phenolphthalein")) == "hydroxide"  # it may be magnesium


def test_metal_that_alkali_in_the_flask_would_bring_down_is_refused(judge):
    # magnesium hydroxide comes down above pH 9.5 (Ksp 8.9e-12, OpenStax, Chemistry 2e, appendix J); the flask starts near 13
    def beside(salt):
        return as_draw(
            [
                Measure(solution=Solution(name="NaOH", solute="NaOH", species="NaOH"), vessel=PORTION),
                Measure(solution=Solution(name=salt, solute=salt, species=salt), vessel=PORTION),
                Titrate(
                    titrant=Solution(name="HCl", solute="HCl", species="HCl"),
                    reactions=(parse_reaction(NEUTRAL),),
                    vessel=PORTION,
                ),
            ],
            {
                quantities.concentration("NaOH"): "0.200",
                quantities.volume_measured("NaOH", PORTION): 25,
                quantities.concentration(salt): "0.0200",
                quantities.volume_measured(salt, PORTION): 25,
                quantities.concentration("HCl"): "0.200",
            },
            "methyl orange",
        )

    assert rule(judge, beside("MgCl2")) == "hydroxide"
    assert rule(judge, beside("BaCl2")) == ""


def test_metal_from_two_salts_counts_together(bank):
    found = Solutes(bank).ions({"MgCl2": 0.1, "MgSO4": 0.2, "NaCl": 1.0})
    assert found["Mg^2+"] == pytest.approx(0.3)
    assert found["Cl-"] == pytest.approx(1.2)


# ------------------------------------------------------------------ sulfates


@pytest.mark.parametrize(
    ("metal", "expected"), [("Ca", "salt"), ("Sr", "salt"), ("Ba", "salt"), ("Pb", "salt"), ("Mg", "")]
)
def test_sulfuric_acid_does_not_dissolve_a_carbonate_whose_sulfate_is_sparingly_soluble(judge, metal, expected):
    # Ksp 6.1e-5, 3.2e-7, 1.1e-10, 1.3e-8 for Ca, Sr, Ba, Pb (OpenStax, appendix J; Wisconsin 109); MgSO4 dissolves
    equation = f"{metal}CO3(s) + H2SO4(aq) -> {metal}SO4(s) + CO2(g) + H2O(l)"
    titration = "H2SO4(aq) + 2NaOH(aq) -> Na2SO4(aq) + 2H2O(l)"
    one = back(f"{metal}CO3", equation, "methyl orange", reagent="H2SO4", strength="0.500", titration=titration,
               amount=0.008)  # fmt: skip
    found = judge.refusal(one)
    assert (found[0] if found else "") == expected
    if found:
        assert "coats the solid" in found[1]


def test_sulfate_rule_follows_the_solubility_product_and_no_list(bank):
    soluble = tuple(
        dataclasses.replace(salt, solid=dataclasses.replace(salt.solid, pksp=-2.0)) if salt.anion == "SO4^2-" else salt
        for salt in bank.sparing
    )
    kind = Plausibility(dataclasses.replace(bank, sparing=soluble))
    equation = "CaCO3(s) + H2SO4(aq) -> CaSO4(aq) + CO2(g) + H2O(l)"
    titration = "H2SO4(aq) + 2NaOH(aq) -> Na2SO4(aq) + 2H2O(l)"
    one = back("CaCO3", equation, "methyl orange", reagent="H2SO4", strength="0.500", titration=titration, amount=0.008)
    assert rule(Plausibility(bank), one) == "salt"
    assert rule(kind, one) == ""


def test_barium_hydroxide_is_not_titrated_with_sulfuric_acid_but_with_hydrochloric(judge):
    # Ksp of BaSO4 1.1e-10: University of Wisconsin-Madison, Chemistry 109, appendix
    sulfuric = "Ba(OH)2(aq) + H2SO4(aq) -> BaSO4(s) + 2H2O(l)"
    assert rule(judge, direct("Ba(OH)2", "0.0500", "H2SO4", "0.0500", sulfuric, "bromothymol blue")) == "salt"
    hydrochloric = "Ba(OH)2(aq) + 2HCl(aq) -> BaCl2(aq) + 2H2O(l)"
    assert rule(judge, direct("Ba(OH)2", "0.0500", "HCl", "0.100", hydrochloric, "bromothymol blue")) == ""


# ------------------------------------------------------------------ solubility


@pytest.mark.parametrize(("strength", "expected"), [("0.0220", ""), ("0.0230", "solubility")])
def test_limewater_is_no_stronger_than_saturated(judge, strength, expected):
    # 0.165 g in 100 g of water at 20 °C (tables of solubilities in textbooks): 0.0222 mol dm⁻³
    equation = "Ca(OH)2(aq) + 2HCl(aq) -> CaCl2(aq) + 2H2O(l)"
    assert rule(judge, direct("Ca(OH)2", strength, "HCl", "0.0400", equation, "methyl red")) == expected


@pytest.mark.parametrize(
    ("strength", "alkali", "expected"),
    [
        ("0.0215", "", ""),  # of itself, as a table has it for 25 °C (0.159 g in 100 g of water)
        ("0.0180", "", "saturated"),  # about half of the product at 20 °C
        ("0.0154", "0.0200", ""),  # 4s³ at 0.0215 mol dm⁻³ in water is s(2s + c)² in an alkali of 0.0200 mol dm⁻³
        ("0.0101", "0.0180", "saturated"),
        ("0.0200", "0.0240", "saturated"),  # a common ion that does nothing
    ],
)
def test_a_saturated_solution_holds_what_a_table_of_solubilities_says(judge, strength, alkali, expected):
    other = Solution(name="NaOH", solute="NaOH", species="NaOH") if alkali else None
    lime = direct("Ca(OH)2", strength, "HCl", "0.0400", "Ca(OH)2(aq) + 2HCl(aq) -> CaCl2(aq) + 2H2O(l)", "methyl red")
    measured, titrated = lime.variant.procedure.operations
    told = TellProduct(
        solution=measured.solution,
        cation="Ca^2+",
        anion="OH^-",
        anions=2,
        beside=other,
        common=1 if alkali else 0,
        shared="OH^-" if alkali else "",
    )
    truth = dict(lime.truth) | ({quantities.concentration("NaOH"): alkali} if alkali else {})
    assert rule(judge, as_draw((measured, titrated, told), truth, "methyl red")) == expected


@pytest.mark.parametrize(("strength", "expected"), [("1.60", ""), ("1.70", "solubility")])
def test_mass_concentration_is_held_to_the_same_limit(judge, strength, expected):
    # 0.165 g in 100 g of water (tables of solubilities in textbooks) is 1.65 g dm⁻³
    one = direct("Ca(OH)2", "1", "HCl", "0.0400", "Ca(OH)2(aq) + 2HCl(aq) -> CaCl2(aq) + 2H2O(l)", "methyl red")
    truth = {name: value for name, value in one.truth.items() if name != quantities.concentration("Ca(OH)2")}
    truth |= {quantities.mass_concentration("Ca(OH)2"): strength, quantities.molar_mass("Ca(OH)2"): "74.1"}
    assert rule(judge, as_draw(one.variant.procedure.operations, truth, "methyl red")) == expected


@pytest.mark.parametrize(("amount", "expected"), [("0.025", ""), ("0.110", "solubility")])
def test_weighed_solid_dissolves_in_the_flask_that_it_is_made_up_in(judge, amount, expected):
    # potassium hydrogenphthalate 8 g in 100 g of water (from memory): 0.36 mol dm⁻³, so 0.090 mol in 250 cm³
    solid = "KHC8H4O4"
    one = as_draw(
        [
            Weigh(sample=solid, contents=(Content(solid, solid),), vessel=FLASK, pure=True),
            MakeUp(FLASK),
            Aliquot(FLASK, PORTION),
            Titrate(
                titrant=Solution(name="NaOH", solute="NaOH", species="NaOH"),
                reactions=(parse_reaction("KHC8H4O4(aq) + NaOH(aq) -> KNaC8H4O4(aq) + H2O(l)"),),
            ),
        ],
        {
            quantities.substance_amount(solid, solid): amount,
            quantities.volume_made_up(FLASK): 250,
            quantities.volume_taken(PORTION): 25,
            quantities.concentration("NaOH"): "0.100",
        },
        "phenolphthalein",
    )
    assert rule(judge, one) == expected


# ------------------------------------------------------------------ alkali left over


@pytest.mark.parametrize(("indicator", "expected"), [("methyl orange", "indicator"), ("phenolphthalein", "")])
def test_hydrolysed_ester_leaves_carboxylates_that_methyl_orange_would_titrate(judge, indicator, expected):
    # pKa of ethanoic acid 4.76 (LibreTexts, table E1): ethanoate takes up acid below pH 6.8
    equation = "C9H8O4(s) + 2NaOH(aq) -> CH3COONa(aq) + C7H5O3Na(aq) + H2O(l)"
    one = back("C9H8O4", equation, indicator, reagent="NaOH", titration=NEUTRAL, titrant="HCl", amount=0.012)
    found = judge.refusal(one)
    assert (found[0] if found else "") == expected
    if found:
        assert "late" in found[1]


AMMONIUM = "NH4Cl(s) + NaOH(aq) -> NaCl(aq) + NH3(g) + H2O(l)"


@pytest.mark.parametrize(
    ("indicator", "boiled", "expected"),
    [
        ("methyl orange", "NH3", ""),
        ("phenolphthalein", "NH3", ""),
        ("phenolphthalein", "", "indicator"),
        ("methyl orange", "", "indicator"),
    ],
)
def test_ammonia_must_be_boiled_off_before_the_alkali_left_over_is_titrated(judge, indicator, boiled, expected):
    # I. M. Kolthoff and others, Quantitative Chemical Analysis, indirect determination of ammonia in ammonium salts
    one = back("NH4Cl", AMMONIUM, indicator, reagent="NaOH", titrant="HCl", boiled=boiled)
    assert rule(judge, one) == expected


def test_bystander_that_reacts_is_named(judge):
    one = back("NH4Cl", AMMONIUM, "methyl orange", reagent="NaOH", titrant="HCl")
    assert judge.refusal(one)[1].startswith("NH₃ in the flask reacts too")


def test_acid_left_over_by_ammonia_driven_into_it_needs_methyl_orange(judge):
    # Kjeldahl's method as textbooks give it: ammonium ions (pKa 9.25) are acid to phenolphthalein
    equation = "NH3(aq) + HCl(aq) -> NH4Cl(aq)"
    for indicator, expected in (("methyl orange", ""), ("methyl red", ""), ("phenolphthalein", "indicator")):
        assert rule(judge, back("NH3", equation, indicator)) == expected


# ------------------------------------------------------------------ colours


@for_each(
    ("analyte", "titrant", "indicator", "expected"),
    [
        ("HCl", "NaOH", "phenolphthalein", ("colourless", "pink")),
        ("NaOH", "HCl", "phenolphthalein", ("pink", "colourless")),
        ("HCl", "NaOH", "methyl orange", ("red", "orange")),
        ("NaOH", "HCl", "methyl orange", ("yellow", "orange")),
        ("HCl", "NaOH", "bromophenol blue", ("yellow", "blue")),
        ("NaOH", "HCl", "bromophenol blue", ("blue", "yellow")),
    ],
)
def test_colours_come_in_the_order_of_what_is_in_the_flask(judge, analyte, titrant, indicator, expected):
    assert judge.colour_change(direct(analyte, "0.100", titrant, "0.100", NEUTRAL, indicator)) == expected


def test_colours_without_an_indicator_are_empty(judge):
    assert judge.colour_change(direct("HCl", "0.100", "NaOH", "0.100", NEUTRAL, "")) == ("", "")


# ------------------------------------------------------------------ what is not judged


@pytest.mark.parametrize(
    ("analyte", "titrant", "equation"),
    [
        ("Fe^2+", "MnO4-", "MnO4-(aq) + 5Fe^2+(aq) + 8H+(aq) -> Mn^2+(aq) + 5Fe^3+(aq) + 4H2O(l)"),
        ("H2C2O4", "MnO4-", "2MnO4-(aq) + 5H2C2O4(aq) + 6H+(aq) -> 2Mn^2+(aq) + 10CO2(g) + 8H2O(l)"),
        ("I2", "S2O3^2-", "I2(aq) + 2S2O3^2-(aq) -> 2I-(aq) + S4O6^2-(aq)"),
        ("Cl-", "Ag+", "Ag+(aq) + Cl-(aq) -> AgCl(s)"),
        ("Mg^2+", "H2Y^2-", "Mg^2+(aq) + H2Y^2-(aq) -> MgY^2-(aq) + 2H+(aq)"),
    ],
)
def test_indicators_of_titrations_that_do_not_follow_ph_are_their_own(judge, analyte, titrant, equation):
    # whether they are believable is judged by rules of their own: test_kinds_of_titration.py
    reaction = parse_reaction(equation, frozenset("Y"))
    measured = Measure(solution=Solution(name=analyte, solute=analyte, species=analyte), vessel=PORTION)
    act = Titrate(titrant=Solution(name=titrant, solute=titrant, species=titrant), reactions=(reaction,))
    truth = {
        quantities.concentration(analyte): "9",
        quantities.volume_measured(analyte, PORTION): 25,
        quantities.concentration(titrant): "9",
    }
    one = as_draw([measured, act], truth, "phenolphthalein", ["its own"])
    assert judge.suitable_indicators(one.variant, one) == ("its own",)


def test_bank_without_ions_judges_nothing(bank, judge):
    absurd = direct(
        "CH3COOH", "9", "NaOH", "0.0001", "CH3COOH(aq) + NaOH(aq) -> CH3COONa(aq) + H2O(l)", "methyl orange"
    )
    assert judge.refusal(absurd) is not None
    bare = Plausibility(dataclasses.replace(bank, ions={}, solutes={}, sparing=(), acids={}))
    assert bare.refusal(absurd) is None
    assert bare.unknown(absurd) == ("NaOH", "CH3COOH")


# ------------------------------------------------------------------ constants


@pytest.mark.parametrize(
    ("acid", "stage", "published"),
    [
        # pH of the standard buffers with as much acid as base, ionic strength 0.1, 25 °C (R. G. Bates, Determination of pH, 1973):
        # phosphate 6.865, carbonate 10.012, ethanoate 4.65
        ("phosphoric acid", 1, 6.865),
        ("carbonic acid", 1, 10.012),
        ("ethanoic acid", 0, 4.65),
    ],
)
def test_pka_among_ions_is_that_of_the_standard_buffers(bank, acid, stage, published):
    assert Solutes(bank).pkas[acid][stage] == pytest.approx(published, abs=0.04)


# ------------------------------------------------------------------ the built-in banks


def draws_of_variant(archetype, variant, indicator, questions, each):
    chosen = Chosen(variant=variant, ask=variant.asks[0], context=variant.contexts[0], indicator=indicator, table=False)
    for seed in range(each):
        stream = Stream(f"plausible/{archetype.key}/{sorted(variant.roles.items())}/{seed}")
        try:
            yield draw(archetype, chosen, stream, questions.fixed(variant))
        except Refusal:
            continue


def draws_of(bank, questions, each):
    for archetype in bank.archetypes.values():
        for variant in archetype.variants:
            for indicator in variant.indicators or ("",):
                for one in draws_of_variant(archetype, variant, indicator, questions, each):
                    yield archetype, one


@pytest.mark.thorough
def test_flask_takes_the_titre_that_the_bench_found(bank, questions):
    seen = 0
    for _, one in draws_of(bank, questions, 1):
        if not any(titration.reactions for titration in one.variant.procedure.titrations[-1:]):
            continue  # prepared only, or of a ratio that no equation tells
        flask = last_flask(one.variant.procedure, one.truth, HELD)
        bench = perform(one.variant.procedure, one.truth)
        expected = float(bench.titres[one.variant.procedure.titrations[-1].titre])
        assert flask.titre_cm3 == pytest.approx(expected, rel=1e-12)
        seen += 1
    assert seen > 100


@pytest.mark.thorough
def test_every_species_of_the_built_in_acid_base_titrations_is_known(bank, judge, questions):
    unknown = {
        (archetype.key, species)
        for archetype, one in draws_of(bank, questions, 1)
        if one.indicator and bank.indicators[one.indicator].low is not None
        for species in judge.unknown(one)
    }
    assert not unknown


@pytest.mark.thorough
def test_no_indicator_of_the_built_in_banks_is_always_refused(bank, judge, questions):
    refused: dict[tuple[str, ...], str] = {}
    for archetype in bank.archetypes.values():
        for variant in archetype.variants:
            for indicator in variant.indicators:
                found = ""
                for one in draws_of_variant(archetype, variant, indicator, questions, 60):
                    found = rule(judge, one)
                    if not found:
                        break
                if found:
                    refused[archetype.key, *variant.roles.values(), indicator] = found
    assert not refused


@pytest.mark.thorough
def test_verdict_does_not_depend_on_the_order_of_drawing(bank, questions):
    drawn = [one for _, one in draws_of(bank, questions, 2)]
    in_order = Plausibility(bank)
    first = {id(one): in_order.refusal(one) for one in drawn}
    shuffled = drawn[:]
    random.Random(7).shuffle(shuffled)
    other = Plausibility(bank)
    assert {id(one): other.refusal(one) for one in shuffled} == first
    assert any(first.values())


def test_verdict_is_computed_once_for_materials_of_one_chemistry(bank, monkeypatch):
    kept = Plausibility(bank)
    counted = []
    monkeypatch.setattr(
        Plausibility, "_judged", lambda self, *arguments: counted.append(arguments) or None
    )  # what the cache calls
    for acid, alkali in (("HCl", "NaOH"), ("HNO3", "NaOH"), ("HCl", "NaOH")):
        salt = {"HCl": "NaCl", "HNO3": "NaNO3"}[acid]
        kept.refusal(
            direct(acid, "0.100", alkali, "0.100", f"{acid}(aq) + {alkali}(aq) -> {salt}(aq) + H2O(l)", "methyl red")
        )
    assert len(counted) == 1


@pytest.mark.parametrize(("other", "expected"), [("0.111", 1), ("0.130", 2)])
def test_concentrations_within_a_tenth_share_a_verdict_and_others_do_not(bank, monkeypatch, other, expected):
    counted = []
    monkeypatch.setattr(Plausibility, "_judged", lambda self, *arguments: counted.append(arguments) or None)
    kept = Plausibility(bank)
    for strength in ("0.110", other):
        kept.refusal(direct("HCl", strength, "NaOH", "0.100", NEUTRAL, "methyl red"))
    assert len(counted) == expected


def test_question_that_breaks_a_rule_of_chemistry_is_never_made(small_bank, tmp_path):
    class Stern(Plausibility):
        def refusal(self, draw):
            return ("hydroxide", "it comes down")

    stern = Questions(small_bank, Plans(small_bank.fingerprint, tmp_path), plausibility=Stern(small_bank))
    with pytest.raises(Mistake, match=r"drawn 200 times and always refused \(hydroxide 1\d\d times") as raised:
        stern.make(small_bank.archetypes["small-direct"], Stream("1"))
    assert "it comes down" in str(raised.value)


# ------------------------------------------------------------------ reading the bank of ions

ACID = "- {name: carbonic acid, formula: H2CO3, pkas: [6.35, 10.33], gas: CO2, source: a table, status: seen}\n"


@pytest.mark.parametrize(
    ("acids", "ions", "told"),
    [
        (ACID, "- {ion: CO3^2-, acid: carbonic acd, lost: 2}", "no acid 'carbonic acd'.*nearest: carbonic acid"),
        (ACID, "- {ion: CO3^2-, acid: carbonic acid, lost: 1}", "cannot be H2CO3 with 1 protons lost"),
        (ACID, "- {solute: NaCl, gives: [Na^+, Cl^-]}", "no ion 'Na\\+'"),
        (ACID, "- {solute: CaCl2, gives: [Ca^2+, Cl^-]}", "ions.yaml:1.*CaCl2 cannot give.*same atoms"),
        (ACID, "- {solute: NaCl, gives: [Na^+, Cl^-], solubility: 36.0}", "ions.yaml:1.*'source' is missing"),
        (ACID, "- {ion: M^2+, one of: [Xe^2+]}", "no ion 'Xe\\^2\\+'"),
        (ACID.replace("6.35, 10.33", "10.33, 6.35"), "- {ion: CO2, acid: carbonic acid}", "the most acidic first"),
        (ACID.replace("6.35", "six"), "- {ion: CO2, acid: carbonic acid}", "acids.yaml:1.*numbers, as"),
    ],
)
def test_fault_in_the_bank_of_ions_is_told_with_its_place(small_folder, tmp_path, acids, ions, told):
    folder = tmp_path / "banks"
    shutil.copytree(small_folder, folder)
    Path(folder / "acids.yaml").write_text(acids, "utf-8")
    Path(folder / "ions.yaml").write_text(ions + "\n", "utf-8")
    with pytest.raises(Mistake) as raised:
        read_bank(folder)
    assert re.search(told, str(raised.value)), str(raised.value)


def test_built_in_ions_stand_once_and_have_their_sources(bank):
    assert len(bank.acids) > 30
    assert {"Ca^2+", "SO4^2-", "CO2", "NH3"} <= set(bank.ions)
    for solute in bank.solutes.values():
        if solute.solubility is not None:
            assert solute.source
    for ion in bank.ions.values():
        for family in ion.acids:
            assert family in bank.acids


def test_stop_of_an_indicator_lies_in_its_range(bank):
    stops = {name: one.stop for name, one in bank.indicators.items() if one.stop is not None}
    assert {"methyl orange", "phenolphthalein"} <= set(stops)
    for name, stop in stops.items():
        assert bank.indicators[name].low <= stop <= bank.indicators[name].high
    with pytest.raises(Mistake, match="inside its range"):
        dataclasses.replace(bank.indicators["methyl orange"], stop=bank.indicators["phenolphthalein"].high)
