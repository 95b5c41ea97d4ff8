"""Each later word of the vocabulary against a published figure, or an example worked on paper beside the test."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.choices import read_choice
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.bench.perform import BenchFault, perform
from molewright.chem.quantity import half_up, to_figures
from molewright.chem.units import Unit
from molewright.derivation.derive import plan
from molewright.derivation.plans import Plans
from molewright.derivation.worked import Worked
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.experiment.identity import fits, nearest_candidate, parted, substances
from molewright.experiment.procedure import Measure, React
from molewright.experiment.relations.relating import relate
from molewright.question.check import Questions
from molewright.question.prepared import molar_masses
from molewright.reading.yaml_text import Scalar, parse_tree
from molewright.solve.described import solve
from shared.for_each import for_each
from shared.quantities import q

Work = Callable[[str], Worked]


@pytest.fixture(scope="module")
def chemicals(bank: Bank) -> Chemicals:
    return Chemicals(substances=bank.substances, reactions=bank.reactions)


@pytest.fixture(scope="module")
def read(chemicals: Chemicals) -> Callable[[str], Experiment]:
    """An experiment from its text."""
    return lambda text: build_experiment(parse_tree(text, "by hand"), chemicals)


@pytest.fixture(scope="module")
def work(read: Callable[[str], Experiment]) -> Work:
    """An experiment worked out and put back on the bench."""
    return lambda text: solve(read(text), Plans("none", None))


def figures(worked: Worked, count: int) -> str:
    return str(to_figures(worked.exact, count))


# ------------------------------------------------------------------ factors of pharmacopoeias


def test_a_millilitre_of_thiosulfate_is_3_567_mg_of_iodate(work: Work) -> None:
    # British Pharmacopoeia 2012, 0.1 M sodium thiosulfate: 3.566 mg of KIO3, cut off from 3.5667
    worked = work("""
relative atomic masses: unrounded
procedure:
  - weigh: {sample: iodate, contains: KIO3, pure: yes}
  - dissolve
  - add: an excess of acidified potassium iodide solution
  - react: IO3^-(aq) + 5I^-(aq) + 6H^+(aq) -> 3I2(aq) + 3H2O(l)
  - titrate: {with: Na2S2O3, of: [I2], concentration: 0.1000 mol dm-3, titre: 1.000 cm3}
asked: mass of iodate
unit: mg
""")
    assert figures(worked, 4) == "0.003567"


def test_a_millilitre_of_thiosulfate_is_3_722_mg_of_chlorate_i(work: Work) -> None:
    # USP 29, sodium hypochlorite solution: 3.722 mg of NaClO for 1 mL of 0.1 N thiosulfate
    worked = work("""
relative atomic masses: unrounded
procedure:
  - measure: {solution: NaClO, volume: 1.000 cm3}
  - add: an excess of acidified potassium iodide solution
  - react: ClO^-(aq) + 2H^+(aq) + 2I^-(aq) -> Cl^-(aq) + H2O(l) + I2(aq)
  - titrate: {with: Na2S2O3, of: [I2], concentration: 0.1000 mol dm-3, titre: 1.000 cm3}
asked: mass concentration of NaClO
figures: 4
""")
    assert str(worked.answer.number) == "3.722"


def test_a_millilitre_of_manganate_is_6_700_mg_of_sodium_ethanedioate(work: Work) -> None:
    # USP, 0.1 N potassium permanganate (0.02 mol dm-3): 6.700 mg of Na2C2O4
    worked = work("""
relative atomic masses: unrounded
procedure:
  - weigh: {sample: salt, contains: Na2C2O4, pure: yes}
  - dissolve: an excess of dilute sulfuric acid
  - warm: about 70 °C
  - titrate: {with: KMnO4, concentration: 0.02000 mol dm-3, titre: 1.000 cm3}
asked: mass of salt
figures: 4
""")
    assert figures(worked, 4) == "0.006700"


def test_the_saponification_value_is_28_05_times_the_difference_over_the_mass(work: Work) -> None:
    # European Pharmacopoeia 2.5.6, from memory: 28.05 (n2 - n1)/m with 0.5 M hydrochloric acid, n2 the blank
    worked = work("""
procedure:
  - measure: {solution: KOH, volume: 25.0 cm3, into: blank}
  - titrate: {with: HCl, vessel: blank, name: blank, concentration: 0.500 mol dm-3, titre: 24.60 cm3}
  - weigh: {sample: oil, contains: KOH, gives: 1 RCOOR′, unknown: [R, R′], per gram: yes, mass: 2.000 g, into: flask}
  - add excess: {solution: KOH, like: blank}
  - react: {excess: KOH}
  - titrate: {with: HCl, of: [KOH], vessel: flask, name: second, titre: 11.10 cm3}
asked: mass of KOH for each gram of oil
""")
    assert worked.exact == Fraction("28.05") * (Fraction("24.60") - Fraction("11.10")) / 2
    assert q("concentration of KOH") not in {step.variable.name for step in worked.steps}  # the blank is the total


def test_the_volume_strength_is_the_titre_in_manganate_of_0_1786_normal(work: Work) -> None:
    # Reichert, McNeight and Rudel, Ind. Eng. Chem. Anal. Ed. 11 (1939) 194: 1 mL of peroxide, at 22.4 dm3 mol-1; 5/28 normal
    worked = work("""
procedure:
  - measure: {solution: H2O2, volume: 1.000 cm3, breaks down: 2H2O2(aq) -> 2H2O(l) + O2(g), molar volume: 22.4 dm3 mol-1}
  - add: an excess of dilute sulfuric acid
  - titrate: {with: KMnO4, concentration: 0.03571 mol dm-3, titre: 10.00 cm3}
asked: volume strength of H2O2
figures: 4
""")
    assert abs(worked.exact - 10) < Fraction(1, 500)


def test_soda_of_the_alkalinity_standard_has_its_published_strength(work: Work) -> None:
    # USGS National Field Manual, chapter A6.6: 0.8686 g of Na2CO3 in a litre is 0.01639 normal, half of that in mol
    worked = work("""
relative atomic masses: unrounded
procedure:
  - weigh: {sample: soda, contains: Na2CO3, pure: yes, mass: 0.8686 g}
  - dissolve
  - make up: 1000 cm3
  - tell strength: {solution: Na2CO3, made in: flask}
asked: concentration of Na2CO3
figures: 4
""")
    assert figures(worked, 4) == "0.008195"
    assert str(half_up(worked.exact * 2, 5)) == "0.01639"


# ------------------------------------------------------------------ two solutes, two end points, a second portion


TWO_END_POINTS = """
procedure:
  - measure: {solution: Na2CO3, volume: 25.0 cm3, beside: {solution: NaHCO3}}
  - titrate: {with: HCl, name: first, concentration: 0.100 mol dm-3, titre: 12.50 cm3,
              reaction: Na2CO3 + HCl -> NaHCO3 + NaCl}
  - titrate: {with: HCl, name: second, titre: 20.00 cm3, reaction: NaHCO3 + HCl -> NaCl + CO2 + H2O}
asked: concentration of NaHCO3
"""


def test_the_second_end_point_is_counted_from_the_first(work: Work) -> None:
    # on paper: 1.25 mmol of carbonate become hydrogencarbonate; 2.00 mmol of that are titrated, so 0.75 mmol were there; / 25.0 cm3
    worked = work(TWO_END_POINTS)
    assert worked.exact == Fraction("0.0300")


def test_a_bottle_of_two_solutes_gives_both_from_one_volume(read: Callable[[str], Experiment]) -> None:
    experiment = read(TWO_END_POINTS)
    seen = perform(
        experiment.described.procedure,
        {
            q("volume of Na2CO3"): Fraction(25), q("concentration of Na2CO3"): Fraction("0.05"),
            q("concentration of NaHCO3"): Fraction("0.03"), q("concentration of HCl"): Fraction("0.1"),
        },
    )  # fmt: skip
    assert list(seen.titres.values()) == [Fraction("12.5"), Fraction(20)]


def test_the_same_volume_again_brings_the_same_amounts(work: Work) -> None:
    # on paper: 0.250 mmol of Ca and Mg in 100 cm3, 0.150 mmol of Ca in the second 100 cm3: 0.100 mmol of Mg, 0.00100 mol dm-3
    worked = work("""
procedure:
  - measure: {solution: Ca^2+, volume: 100.0 cm3, into: first, beside: {solution: Mg^2+}}
  - titrate: {with: Na2H2Y, of: [Ca^2+, Mg^2+], vessel: first, name: first, concentration: 0.0100 mol dm-3, titre: 25.00 cm3}
  - measure: {solution: Ca^2+, like: first, into: second, beside: {solution: Mg^2+}}
  - titrate: {with: Na2H2Y, of: [Ca^2+], vessel: second, name: second, titre: 15.00 cm3}
asked: concentration of Mg^2+
""")
    assert worked.exact == Fraction("0.00100")


def test_a_second_portion_of_nothing_is_a_mistake(read: Callable[[str], Experiment]) -> None:
    with pytest.raises(Mistake, match="like into 'first', where none was measured"):
        read("""
procedure:
  - measure: {solution: HCl, like: first, into: second}
  - titrate: {with: NaOH, vessel: second, concentration: 0.100 mol dm-3, titre: 20.00 cm3}
asked: concentration of HCl
""")


# ------------------------------------------------------------------ mixtures of two and nothing else


def test_a_mixture_is_a_chain_of_single_steps_where_both_react_alike(
    read: Callable[[str], Experiment], work: Work
) -> None:
    # Boone, A Complete Course of Volumetric Analysis, question 77: 55 % of chlorine is 56.8 % of NaCl beside KCl (Cl 35.45)
    text = """
molar masses: {NaCl: 58.44, KCl: 74.55}
procedure:
  - weigh: {sample: mixture, contains: [NaCl, KCl], gives: [1 Cl^-, 1 Cl^-], pure: yes, mass: 0.3545 g}
  - dissolve
  - titrate: {with: AgNO3, of: [Cl^-], concentration: 0.1000 mol dm-3, titre: 55.00 cm3}
asked: percentage of NaCl in mixture
"""
    worked = work(text)
    assert str(worked.answer.number) == "56.82"
    assert all(step.relation is not None for step in worked.steps)


def test_a_mixture_that_reacts_unlike_is_solved_together(work: Work) -> None:
    # on paper: 0.530 g of Na2CO3 (10 mmol of HCl) and 0.420 g of NaHCO3 (5 mmol): 15.00 mmol for 0.950 g
    worked = work("""
procedure:
  - weigh: {sample: mixture, contains: [Na2CO3, NaHCO3], pure: yes, mass: 0.950 g}
  - dissolve
  - titrate: {with: HCl, concentration: 0.500 mol dm-3, titre: 30.00 cm3}
asked: mass of Na2CO3 in mixture
""")
    assert worked.exact == Fraction("0.530")


def test_what_is_not_told_of_a_mixture_is_the_rest(read: Callable[[str], Experiment]) -> None:
    text = """
procedure:
  - weigh: {sample: crust, contains: [Na2CO3, NaCl], pure: yes, mass: 2.000 g}
  - titrate: {with: HCl, of: [Na2CO3], concentration: 1.00 mol dm-3, titre: 20.00 cm3}
asked: percentage of NaCl in crust
"""
    experiment = read(text)
    values = {
        **molar_masses(experiment.system, "one place"), q("mass of crust"): Fraction(2), q("concentration of HCl"): Fraction(1),
        q("percentage of NaCl in crust"): Fraction(47),
    }  # fmt: skip
    seen = perform(experiment.described.procedure, values)  # 1.06 g of Na2CO3 is 0.0100 mol
    assert seen.titres[q("titre of HCl")] == 20
    with pytest.raises(BenchFault, match="no Na2CO3 would be in crust"):
        perform(experiment.described.procedure, {**values, q("percentage of NaCl in crust"): Fraction(101)})


# ------------------------------------------------------------------ elements, ratios, electrons, protons


def test_the_nitrogen_of_pure_ammonium_sulfate_is_21_2_per_cent(work: Work) -> None:
    # on paper: 5.00 mmol of salt, 10.0 mmol of ammonia; 2 x 14.0 in 132.1 is 21.2 %
    worked = work("""
procedure:
  - weigh: {sample: salt, contains: (NH4)2SO4, mass: 0.6605 g, elements: [N]}
  - add: an excess of sodium hydroxide solution
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 0.400 mol dm-3, into: receiver}
  - react: {of: [(NH4)2SO4], with: NaOH, vessel: flask}
  - drive over: {species: NH3, from: flask, into: receiver}
  - react: {of: [NH3], excess: HCl, vessel: receiver}
  - titrate: {with: NaOH, of: [HCl], vessel: receiver, concentration: 0.400 mol dm-3, titre: 25.00 cm3}
asked: percentage of N in salt
""")
    assert figures(worked, 3) == "21.2"


def test_an_element_that_is_not_in_the_substance_is_a_mistake(read: Callable[[str], Experiment]) -> None:
    with pytest.raises(Mistake, match="there is no K in"):
        read("""
procedure:
  - weigh: {sample: salt, contains: NH4Cl, mass: 1.000 g, elements: [K]}
  - titrate: {with: AgNO3, concentration: 0.1 mol dm-3, titre: 20.00 cm3, reaction: NH4Cl + AgNO3 -> AgCl + NH4NO3}
asked: percentage of K in salt
""")


RATIO = """
procedure:
  - measure: {{solution: X, unknown: [X], volume: 25.0 cm3, concentration: 0.0400 mol dm-3}}
  - titrate: {{with: KMnO4, ratio of: X, concentration: 0.0200 mol dm-3, titre: 20.00 cm3{more}}}
asked: {asked}
"""


@pytest.mark.parametrize(
    ("titre", "told", "before"),
    [
        ("20.00", "5 : 2", "2.500"), ("20.15", "5 : 2", "2.481"), ("9.90", "5 : 1", "5.051"), ("40.05", "5 : 4", "1.248"),
        ("30.05", "5 : 3", "1.664"),
    ],
)  # fmt: skip
def test_a_reacting_ratio_is_told_in_small_whole_numbers(titre: str, told: str, before: str, work: Work) -> None:
    worked = work(RATIO.replace("20.00", titre).format(more="", asked="reacting ratio of X to MnO4-"))
    assert worked.told.replace("\N{NO-BREAK SPACE}", " ") == told
    assert str(worked.steps[-1].shown) == before
    assert worked.accepted.low == worked.accepted.high == worked.answer


@pytest.mark.parametrize(
    ("more", "asked", "found"),
    [
        ("", q("reacting ratio of X to MnO4-"), Fraction(5, 2)),  # 1.00 mmol of X and 0.400 mmol of manganate(VII)
        (", electrons: 5", q("electrons lost by each X"), Fraction(2)),  # 2.00 mmol of electrons
        (", basicity: yes", q("basicity of X"), Fraction(2, 5)),
    ],
)
def test_a_ratio_that_no_equation_tells_is_found_from_the_titre(
    more: str, asked: str, found: Fraction, work: Work, read: Callable[[str], Experiment]
) -> None:
    text = RATIO.format(more=more, asked=asked)
    assert work(text).exact == found
    experiment = read(text)
    values = {name: quantity.in_base for name, quantity in experiment.given.items()}
    assert perform(experiment.described.procedure, {**values, asked: found}).titres[q("titre of KMnO4")] == 20


# ------------------------------------------------------------------ identity


def test_the_letter_of_a_formula_is_parted_from_the_rest() -> None:
    assert parted("M2CO3") == ("M", 2, "CO3")
    assert parted("MHCO3") == ("M", 1, "HCO3")
    assert parted("M") == ("M", 1, "")
    with pytest.raises(Mistake, match="does not begin with one unknown element"):
        parted("MgCO3")


@for_each(
    ("atomic", "substance", "name"),
    [
        ("23.4", "M2CO3", "sodium"),
        ("38.0", "MCl", "potassium"),
        ("41", "MCO3", "calcium"),
        ("60", "M", "iron"),
        ("40", "M(OH)2", "calcium"),
        ("24", "MHCO3", "sodium"),
        ("88", "MO", "strontium"),
        ("7", "M2O", "lithium"),
    ],
)
def test_the_nearest_element_of_the_group_is_named(atomic: str, substance: str, name: str, bank: Bank) -> None:
    assert nearest_candidate(Fraction(atomic), bank.unknown_elements.candidates(substance)).name == name


def test_what_an_unknown_may_be_stands_by_molar_mass_with_what_else_counts_as_its_name() -> None:
    told = substances("M2CO3", [("Na2CO3", "sodium carbonate"), ("Li2CO3", "lithium carbonate")], "one place")
    # CIAAW, Abridged Standard Atomic Weights 2021: 2 x 6.9 + 12.0 + 3 x 16.0
    assert [(one.formula, str(one.mass)) for one in told] == [("Li2CO3", "73.8"), ("Na2CO3", "106.0")]
    assert told[1].also == ("sodium", "Na")
    (one,) = substances("KX", [("KBr", "potassium bromide")], "two places")
    assert str(one.mass) == "119.00"  # by the paper's own convention: 39.10 + 79.90
    (acid,) = substances("H2A", [("HOOCCH2CH(OH)COOH", "2-hydroxybutanedioic acid")], "one place")
    assert "hydroxybutanedioic" in acid.also
    assert not {"H", "C"} & set(acid.also)  # A is no element


@for_each(
    ("unknown", "formula", "may"),
    [
        ("M2CO3", "K2CO3", True), ("M2CO3", "CaCO3", False), ("MCO3", "CaCO3", True), ("KX", "KBr", True), ("KX", "NaBr", False),
        ("M(OH)2", "Ca(OH)2", True), ("H2A", "CH2(COOH)2", True), ("RCOCl", "CH3COCl", True), ("RCOCl", "CH3COOH", False),
        ("M", "Zn", True), ("NaCl", "NaCl", False),
    ],
)  # fmt: skip
def test_an_unknown_may_be_what_differs_in_its_letter_only(unknown: str, formula: str, may: bool) -> None:
    assert fits(unknown, formula) is may


def test_the_relative_atomic_mass_follows_from_the_carbonate(work: Work) -> None:
    # on paper: 1.325 g in 250 cm3, 25.0 cm3 need 25.00 cm3 of 0.100 HCl: 12.5 mmol, 106.0 g mol-1; (106.0 - 60.0)/2
    worked = work("""
procedure:
  - weigh: {sample: carbonate, contains: M2CO3, unknown: [M], pure: yes, mass: 1.325 g}
  - dissolve
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 25.00 cm3}
asked: relative atomic mass of M
""")
    assert worked.exact == 23
    assert worked.steps[-1].exact * 2 == worked.steps[-2].exact  # the mass of two metal atoms is a step of its own


# ------------------------------------------------------------------ hidden numbers, words that change nothing


def test_a_hidden_number_is_a_choice_that_is_not_printed() -> None:
    choice = read_choice(Scalar("hidden fit 0.0950 to 0.110 mol dm-3 by 0.0005", Where("by hand")), Unit.MOL_PER_DM3)
    assert choice.hidden
    assert choice.fit
    assert choice.written(Fraction("0.1005")).number_text == "0.101"


@pytest.mark.parametrize("key", ["standardise-then-vinegar", "back-blank", "calcium-and-magnesium", "iron-and-iron"])
def test_hidden_numbers_are_not_printed_and_are_replayed(key: str, bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes[key], Stream(f"hidden/{key}"))
    hidden = [name for name, choice in question.draw.variant.choices.items() if choice.hidden]
    assert hidden
    assert not set(hidden) & set(question.draw.given)
    seen = perform(question.draw.variant.procedure, question.replayed)
    for titration in question.draw.variant.procedure.titrations:
        assert seen.titres[titration.titre] == question.draw.given[titration.titre].in_base


def test_acid_and_warmth_in_plenty_change_no_relation(read: Callable[[str], Experiment]) -> None:
    plain = """
procedure:
  - measure: {{solution: H2C2O4, volume: 25.0 cm3}}
{more}  - titrate: {{with: KMnO4, concentration: 0.0200 mol dm-3, titre: 20.00 cm3}}
asked: concentration of H2C2O4
"""
    bare = read(plain.format(more=""))
    told = read(plain.format(more="  - add: an excess of dilute sulfuric acid\n  - warm: about 60 °C\n"))
    assert bare.system.relations == told.system.relations
    assert len(told.described.procedure.operations) == len(bare.described.procedure.operations) + 2


def test_a_large_volume_may_be_measured_in_a_volumetric_flask(read: Callable[[str], Experiment]) -> None:
    experiment = read("""
procedure:
  - measure: {solution: HCl, volume: 250 cm3, with: volumetric flask}
  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 20.00 cm3}
asked: concentration of HCl
""")
    first = experiment.described.procedure.operations[0]
    assert isinstance(first, Measure)
    assert first.apparatus == "volumetric flask"


def test_a_solution_made_in_a_flask_may_stand_in_the_burette(work: Work) -> None:
    # on paper: 1.325 g of Na2CO3 in 250 cm3 is 0.0500 mol dm-3; 20.00 cm3 take 2.00 mmol of HCl from 25.0 cm3
    worked = work("""
procedure:
  - weigh: {sample: soda, contains: Na2CO3, pure: yes, mass: 1.325 g}
  - dissolve
  - make up: 250 cm3
  - measure: {solution: HCl, volume: 25.0 cm3, into: portion}
  - titrate: {with: Na2CO3, made in: flask, titre: 20.00 cm3}
asked: concentration of HCl
""")
    assert worked.exact == Fraction("0.0800")


def test_half_equations_of_the_banks_are_put_together(bank: Bank) -> None:
    # OpenStax Chemistry 2e, 4.5: 5 H2C2O4 + 2 MnO4- + 6 H+ -> 10 CO2 + 2 Mn2+ + 8 H2O; 19.1: Cr2O7^2- + 6 Fe2+ + 14 H+
    whole = {frozenset(m.text for m in e.reaction.left) for e in bank.reactions}
    assert frozenset({"5H2C2O4(aq)", "2MnO4-(aq)", "6H+(aq)"}) in whole
    assert frozenset({"Cr2O7^2-(aq)", "6Fe^2+(aq)", "14H+(aq)"}) in whole


def test_the_plan_of_a_prepared_solution_has_no_titre(read: Callable[[str], Experiment]) -> None:
    experiment = read("""
procedure:
  - weigh: {sample: salt, contains: NaCl, pure: yes}
  - make up: 500 cm3
  - tell strength: {solution: NaCl, made in: flask, concentration: 0.100 mol dm-3}
asked: mass of salt
""")
    system = relate(experiment.described.procedure)
    steps = plan(system, experiment.given, q("mass of salt")).steps
    assert [step.target for step in steps] == [q("amount of NaCl in salt"), q("mass of salt")]  # 0.0500 mol, 2.925 g
    assert solve(experiment, Plans("none", None)).exact == Fraction("2.925")


def test_a_spoonful_holds_its_share_of_the_mass_concentration(work: Work) -> None:
    # on paper: 2.00 mmol of NaOH leave 2.00 mmol of HCl in 25.0 of 250 cm3, 20.0 mmol in all; 46.0 - 20.0 = 26.0 mmol reacted with
    # 13.0 mmol of Mg(OH)2 in 10.0 cm3: 1.30 mol dm-3, x 58.3 = 75.79 g dm-3, in 5 cm3 0.37895 g
    worked = work("""
procedure:
  - measure: {solution: Mg(OH)2, volume: 10.0 cm3, mass in 5 cm3: yes}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 0.920 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, of: [HCl], concentration: 0.100 mol dm-3, titre: 20.00 cm3}
asked: mass in 5 cm3 of Mg(OH)2
""")
    assert worked.exact == Fraction("0.37895")


def test_a_strength_is_told_in_one_volume(read: Callable[[str], Experiment]) -> None:
    with pytest.raises(Mistake, match="told in two volumes"):
        read("""
procedure:
  - measure: {solution: HCl, volume: 25.0 cm3, mass in 5 cm3: yes, mass in 100 cm3: yes}
  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 20.00 cm3}
asked: mass in 5 cm3 of HCl
""")


def test_iodine_made_from_iodate_may_be_the_excess(work: Work) -> None:
    # on paper: 25.0 cm3 of 0.0100 mol dm-3 iodate make 0.750 mmol of iodine; 20.00 cm3 of 0.0400 mol dm-3 thiosulfate take 0.400 mmol
    # of it, so 0.350 mmol of ascorbic acid were in 25.0 of 250 cm3: 3.50 mmol, x 176.0 g mol-1 = 0.616 g
    worked = work("""
procedure:
  - weigh: {sample: powder, contains: C6H8O6}
  - dissolve
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - measure: {solution: KIO3, concentration: 0.0100 mol dm-3, volume: 25.0 cm3, into: portion}
  - add: an excess of acidified potassium iodide solution
  - react: {reaction: IO3^-(aq) + 5I^-(aq) + 6H^+(aq) -> 3I2(aq) + 3H2O(l), vessel: portion}
  - react: {of: [C6H8O6], excess: I2, vessel: portion}
  - titrate: {with: Na2S2O3, of: [I2], concentration: 0.0400 mol dm-3, titre: 20.00 cm3}
asked: mass of C6H8O6 in powder
""")
    assert worked.exact == Fraction("0.616")


def test_a_solution_may_be_diluted_twice(work: Work) -> None:
    # on paper: 0.500 mol dm-3 x 10.0/250 x 25.0/100 = 0.00500 mol dm-3
    worked = work("""
procedure:
  - measure: {solution: HCl, bottle: stock, concentration: 0.500 mol dm-3, volume: 10.0 cm3}
  - make up: 250 cm3
  - take aliquot: {volume: 25.0 cm3, into: second}
  - make up: {volume: 100 cm3, vessel: second}
  - tell strength: {solution: HCl, bottle: dilute, made in: second}
asked: concentration of dilute
""")
    assert worked.exact == Fraction("0.005")


@pytest.mark.parametrize(("between", "state"), [("", "s"), ("  - dissolve\n", "aq")])
def test_what_was_weighed_meets_the_acid_as_a_solid_unless_it_was_dissolved(
    between: str, state: str, read: Callable[[str], Experiment]
) -> None:
    experiment = read(f"""
procedure:
  - weigh: {{sample: soda, contains: Na2CO3, mass: 1.000 g}}
{between}  - add excess: {{solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}}
  - react: {{excess: HCl}}
  - titrate: {{with: NaOH, of: [HCl], vessel: flask, concentration: 1.00 mol dm-3, titre: 20.00 cm3}}
asked: percentage of Na2CO3 in soda
""")
    first = next(op for op in experiment.described.procedure.operations if isinstance(op, React)).reactions[0]
    assert {member.formula.text: member.state for member in first.left}["Na2CO3"] == state


def test_a_mass_by_difference_is_what_left_the_weighing_bottle(work: Work) -> None:
    # on paper: 15.403 - 12.753 = 2.650 g of Na2CO3, 2.650/106.0 = 0.0250 mol in 250 cm3
    worked = work("""
procedure:
  - weigh: {sample: soda, contains: Na2CO3, pure: yes, by difference: 12.753 g, full bottle: 15.403 g}
  - dissolve
  - make up: 250 cm3
  - tell strength: {solution: Na2CO3, made in: flask}
asked: concentration of Na2CO3
""")
    assert worked.exact == Fraction("0.1")


def test_a_mass_by_difference_is_printed_as_two_masses_of_the_bottle(bank: Bank, questions: Questions) -> None:
    for number in range(20):
        question = questions.make(bank.archetypes["strength-by-difference"], Stream(f"difference/{number}"))
        (full, emptied) = (question.draw.given[q(f"mass of bottle {how} {question.draw.variant.roles['analyte']}")]
                           for how in ("with", "emptied of"))  # fmt: skip
        assert q(f"mass of {question.draw.variant.roles['analyte']}") not in question.draw.given
        step = question.worked.steps[0]
        assert step.variable.name == q(f"mass of {question.draw.variant.roles['analyte']}")
        assert step.exact == full.in_base - emptied.in_base > 0
