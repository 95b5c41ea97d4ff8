"""Drawn questions of the banks, worked once more with factors as they were published, and the published limits of their contents."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.for_each import for_each, for_every
from shared.quantities import q

Given = Mapping[str, Fraction]
SEEDS = range(6)

# Factors are printed with two to four figures, and for other relative atomic masses than ours.
NEAR = Fraction(1, 1000)


def asked_for(quantity: str, key: str, bank: Bank, questions: Questions, seed: int, form: int = 0) -> Question:
    """A question of an archetype that asks for this quantity."""
    archetype = bank.archetypes[key]
    variant = archetype.variants[form]
    ask = next(one for one in variant.asks if one.quantity == quantity)
    indicator = variant.indicators[0] if variant.indicators else ""
    chosen = Chosen(variant=variant, ask=ask, context=variant.contexts[0], indicator=indicator, table=False)
    return questions.make(archetype, Stream(f"factor/{key}/{seed}"), chosen)


def peroxide_g_per_dm3(given: Given) -> Fraction:
    # Czech Pharmacopoeia, test for oxidising substances: 1 mL of 0.002 M thiosulfate is equivalent to 34 µg of hydrogen peroxide.
    thiosulfate = given[q("titre of Na2S2O3")] * given[q("concentration of Na2S2O3")] / Fraction("0.002")
    micrograms = 34 * thiosulfate * given[q("made-up volume")] / given[q("volume of aliquot")]
    return micrograms / 10**6 / given[q("volume of H2O2")] * 1000


def calcium_g_per_dm3(given: Given) -> Fraction:
    # Czech Pharmacopoeia 1997, 2.5.11: 1 mL of 0.1 M EDTA is equivalent to 4.008 mg of calcium.
    milligrams = Fraction("4.008") * given[q("titre of Na2H2Y")] * given[q("concentration of Na2H2Y")] / Fraction("0.1")
    return milligrams / given[q("volume of Ca^2+ in portion")]


def iodate_g(given: Given) -> Fraction:
    # British Pharmacopoeia 2012: 1 mL of 0.1 M sodium thiosulfate is equivalent to 3.566 mg of potassium iodate.
    thiosulfate = given[q("titre of Na2S2O3")] * given[q("concentration of Na2S2O3")] / Fraction("0.1")
    return Fraction("3.566") * thiosulfate / 1000


def silver_percentage(given: Given) -> Fraction:
    # Talbot, An Introductory Course of Quantitative Chemical Analysis, problem 70: 0.5 g of a coin of 90 % silver needs
    # 50 cm³ of 0.08339 mol dm⁻³ thiocyanate.
    per_mole = Fraction("0.45") / (50 * Fraction("0.08339"))
    thiocyanate = given[q("titre of NH4SCN")] * given[q("concentration of NH4SCN")]
    return (
        per_mole
        * thiocyanate
        * given[q("made-up volume")]
        / given[q("volume of aliquot")]
        / given[q("mass of silver alloy")]
        * 100
    )


def carbon_dioxide_g_per_dm3(given: Given) -> Fraction:
    # Treatise on Applied Analytical Chemistry, vol. 1: 1 mL of N/10 baryta (0.05 mol dm⁻³) is equivalent to 0.0022 g of carbon dioxide.
    baryta = given[q("volume of Ba(OH)2 in portion")] * given[q("concentration of Ba(OH)2")] / Fraction("0.05")
    left = given[q("titre of HCl")] * given[q("concentration of HCl")] / Fraction("0.1")
    return Fraction("0.0022") * (baryta - left) / given[q("volume of CO2 in portion")] * 1000


PUBLISHED: dict[str, tuple[str, Callable[[Given], Fraction]]] = {
    "peroxide-by-iodide": (q("mass concentration of H2O2"), peroxide_g_per_dm3),
    "calcium-in-milk": (q("mass concentration of Ca^2+"), calcium_g_per_dm3),
    "iodised-salt": (q("mass of KIO3 in iodised salt"), iodate_g),
    "silver-alloy": (q("percentage of Ag in silver alloy"), silver_percentage),
    "sparkling-water": (q("mass concentration of CO2"), carbon_dioxide_g_per_dm3),
}


@for_every(key=PUBLISHED, seed=SEEDS)
def test_an_answer_agrees_with_a_published_factor(key: str, seed: int, bank: Bank, questions: Questions) -> None:
    quantity, work = PUBLISHED[key]
    question = asked_for(quantity, key, bank, questions, seed)
    found = work(question.given)
    assert abs(question.worked.exact / found - 1) < NEAR


@for_each("seed", SEEDS)
def test_iodised_salt_holds_as_much_iodine_as_is_recommended(seed: int, bank: Bank, questions: Questions) -> None:
    # WHO, UNICEF and ICCIDD, Assessment of iodine deficiency disorders and monitoring their elimination, 3rd edition, 2007:
    # 20 to 40 mg of iodine in 1 kg of salt where it is made.
    question = asked_for(q("mass of I in iodised salt"), "iodised-salt", bank, questions, seed)
    milligrams_per_kg = question.worked.exact * 1000 / question.given[q("mass of iodised salt")] * 1000
    assert Fraction("19.5") < milligrams_per_kg < Fraction("40.5")


@for_each("form", range(6))
def test_a_carbonate_by_its_gas_needs_no_more_alkali_than_dissolves(
    form: int, bank: Bank, questions: Questions
) -> None:
    # 3.9 g of barium hydroxide in 100 g of water at 20 °C: banks/ions.yaml.
    quantity = bank.archetypes["carbonate-by-its-gas"].variants[form].asks[0].quantity
    question = asked_for(quantity, "carbonate-by-its-gas", bank, questions, 0, form)
    assert question.given[q("concentration of Ba(OH)2")] * Fraction("171.3") < 39


@pytest.mark.parametrize("key", ["acyl-chloride", "acyl-chloride-silver"])
def test_the_molar_mass_of_an_acyl_chloride_leads_to_one_of_the_alkyl_groups(
    key: str, bank: Bank, questions: Questions
) -> None:
    # CH3, C2H5 and C3H7 beside COCl, with C 12.0, H 1.0, O 16.0 and Cl 35.5.
    groups = [15 + Fraction("63.5"), 29 + Fraction("63.5"), 43 + Fraction("63.5")]
    for seed in SEEDS:
        question = asked_for(q("molar mass of RCOCl"), key, bank, questions, seed)
        assert min(abs(question.worked.exact / group - 1) for group in groups) < Fraction(1, 100)
