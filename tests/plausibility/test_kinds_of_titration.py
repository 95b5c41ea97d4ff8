"""Redox, iodine, silver and EDTA titrations, and first end points: right ones pass, and each rule refuses a wrong one."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import pytest

from molewright.bank.definitions import Bank, EdtaAcid, EdtaMetal
from molewright.draw.chosen import choose
from molewright.draw.draw import draw
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.plausibility.added import Reader
from molewright.plausibility.edta import EdtaRules
from molewright.plausibility.rules import Plausibility
from molewright.plausibility.solutes import Solutes
from molewright.question.check import Questions
from shared.by_hand import described
from shared.for_each import for_each
from shared.quantities import q

Judge = Callable[..., str]


@pytest.fixture(scope="module")
def judge(bank: Bank) -> Judge:
    judging = Plausibility(bank)

    def rule(lines: str, values: dict[str, str], indicator: str = "") -> str:
        found = judging.refusal(described(bank, lines, values, indicator))
        return found[0] if found else ""

    return rule


# ------------------------------------------------------------------ what stands in the banks


@pytest.mark.thorough
def test_every_archetype_of_the_banks_draws_believable_chemistry(bank: Bank, questions: Questions) -> None:
    for archetype in bank.archetypes.values():
        if not archetype.variants[0].procedure.titrations or archetype.topic == "practical judgement":
            continue
        refused: list[str] = []
        drawn = 0
        for number in range(12):
            stream = Stream(f"believable {archetype.key}/{number}")
            chosen = choose(archetype, stream)
            try:
                made = draw(archetype, chosen, stream.branch("0"), questions.fixed(chosen.variant))
            except Refusal:
                continue
            drawn += 1
            found = questions.plausibility.refusal(made)
            refused += [found[0]] if found else []
        assert len(refused) <= drawn / 3, (archetype.key, refused)
        assert drawn, archetype.key


# ------------------------------------------------------------------ manganate(VII) and dichromate(VI)

IRON = """
- measure: {{solution: FeSO4, into: portion}}
- add: {acid}
- titrate: {{with: {titrant}}}
"""
IRON_VALUES = {q("concentration of FeSO4"): "0.0800", q("volume of FeSO4 in portion"): "25.0", q("concentration of KMnO4"): "0.0180",
               q("concentration of K2Cr2O7"): "0.0150"}  # fmt: skip
SHOWS_IRON = "sodium diphenylaminesulfonate"


def test_iron_by_manganate_needs_sulfuric_acid(judge: Judge) -> None:
    # H. P. Talbot, Quantitative Chemical Analysis, 1921 (public domain): sulfuric acid; hydrochloric acid is oxidised
    assert judge(IRON.format(acid="an excess of dilute sulfuric acid", titrant="KMnO4"), IRON_VALUES) == ""
    for acid in ("dilute hydrochloric acid", "dilute nitric acid", "distilled water"):
        assert judge(IRON.format(acid=acid, titrant="KMnO4"), IRON_VALUES) == "acid", acid


def test_iron_by_dichromate_may_have_hydrochloric_acid_and_never_nitric(judge: Judge) -> None:
    # Talbot, as above: dichromate(VI) does not oxidise dilute hydrochloric acid
    for acid, expected in (("dilute sulfuric acid", ""), ("dilute hydrochloric acid", ""), ("dilute nitric acid", "acid"),
                           ("distilled water", "acid")):  # fmt: skip
        assert judge(IRON.format(acid=acid, titrant="K2Cr2O7"), IRON_VALUES, SHOWS_IRON) == expected, acid


def test_a_chloride_weighed_in_rules_manganate_out(judge: Judge) -> None:
    lines = """
    - weigh: {sample: crystals, contains: FeCl2, gives: 1 Fe^2+, pure: yes}
    - dissolve: an excess of dilute sulfuric acid
    - make up: 250 cm3
    - take aliquot: 25.0 cm3
    - titrate: {with: KMnO4, of: [Fe^2+]}
    """
    values = {
        q("mass of crystals"): "2.5",
        q("made-up volume"): "250",
        q("volume of aliquot"): "25",
        q("concentration of KMnO4"): "0.018",
    }
    assert judge(lines, values) == "acid"


@pytest.mark.parametrize(("name", "strength"), [("KMnO4", "0.0500"), ("K2Cr2O7", "0.0500")])
def test_a_titrant_too_strong_for_a_burette_is_refused(judge: Judge, name: str, strength: str) -> None:
    # common practice: manganate(VII) at 0.02 mol dm⁻³; a stronger one hides the scale of the burette
    values = {**IRON_VALUES, q(f"concentration of {name}"): strength}
    lines = IRON.format(acid="dilute sulfuric acid", titrant=name)
    assert judge(lines, values, "" if name == "KMnO4" else SHOWS_IRON) == "strength"


ETHANEDIOIC = """
- measure: {{solution: H2C2O4, into: portion}}
- add: an excess of dilute sulfuric acid
{warm}
- titrate: {{with: KMnO4}}
"""


@pytest.mark.parametrize(
    ("warm", "expected"),
    [("- warm: about 60 °C", ""), ("", "temperature"), ("- warm: about 30 °C", "temperature"), ("- warm: about 95 °C", "temperature")],
)  # fmt: skip
def test_ethanedioic_acid_is_warmed_and_not_boiled(judge: Judge, warm: str, expected: str) -> None:
    # Talbot, as above: 70 to 90 °C; schools 55 to 70 °C, common practice
    values = {
        q("concentration of H2C2O4"): "0.05",
        q("volume of H2C2O4 in portion"): "25",
        q("concentration of KMnO4"): "0.02",
    }
    assert judge(ETHANEDIOIC.format(warm=warm), values) == expected


# ------------------------------------------------------------------ iodine and thiosulfate

BLEACH = """
- measure: {{solution: NaClO, into: portion}}
- add: {added}
- react: {{reaction: ClO^-(aq) + 2H^+(aq) + 2I^-(aq) -> Cl^-(aq) + H2O(l) + I2(aq)}}
{then}
- titrate: {{with: Na2S2O3, of: [I2]}}
"""
BLEACH_VALUES = {
    q("concentration of NaClO"): "0.05",
    q("volume of NaClO in portion"): "25",
    q("concentration of Na2S2O3"): "0.1",
}
ACIDIFIED = "an excess of acidified potassium iodide solution"


@for_each(
    ("added", "then", "indicator", "expected"),
    [
        (ACIDIFIED, "", "starch", ""),
        (ACIDIFIED, "", "methyl orange", "indicator"),
        ("distilled water", "", "starch", "iodide"),
        (ACIDIFIED, "- add: sodium hydroxide solution", "starch", "alkali"),
        (ACIDIFIED, "- add: an excess of dilute nitric acid", "starch", "acid"),
        (ACIDIFIED, "- add: an excess of concentrated hydrochloric acid", "starch", "acid"),
    ],
)
def test_iodine_from_bleach_needs_iodide_and_no_alkali(
    judge: Judge, added: str, then: str, indicator: str, expected: str
) -> None:
    # D. Harvey, Analytical Chemistry, chapter 9.4: thiosulfate below pH 9, not in strong acid, with starch
    assert judge(BLEACH.format(added=added, then=then), BLEACH_VALUES, indicator) == expected


def test_an_alkali_measured_into_the_iodine_is_seen_by_its_ph(judge: Judge) -> None:
    lines = """
    - measure: {solution: I2, into: portion, beside: {solution: Na2CO3}}
    - titrate: {with: Na2S2O3, of: [I2]}
    """
    values = {
        q("concentration of I2"): "0.02",
        q("volume of I2 in portion"): "25",
        q("concentration of Na2S2O3"): "0.05",
    }
    assert judge(lines, {**values, q("concentration of Na2CO3"): "0.1"}, "starch") == "alkali"
    assert judge(lines.replace("Na2CO3", "HCl"), {**values, q("concentration of HCl"): "0.1"}, "starch") == ""
    assert judge(lines.replace("Na2CO3", "HCl"), {**values, q("concentration of HCl"): "1.5"}, "starch") == "acid"


@pytest.mark.parametrize(("iodide", "expected"), [("0.5", ""), ("0.06", "iodide")])
def test_measured_iodide_is_in_excess_to_hold_the_iodine(judge: Judge, iodide: str, expected: str) -> None:
    lines = """
    - measure: {solution: KIO3, into: portion, beside: {solution: I-}}
    - add: dilute sulfuric acid
    - react: {reaction: "IO3^-(aq) + 5I^-(aq) + 6H^+(aq) -> 3I2(aq) + 3H2O(l)"}
    - titrate: {with: Na2S2O3, of: [I2]}
    """
    values = {q("concentration of KIO3"): "0.01", q("volume of KIO3 in portion"): "25", q("concentration of Na2S2O3"): "0.06",
              q("concentration of I-"): iodide}  # fmt: skip
    assert judge(lines, values, "starch") == expected


# ------------------------------------------------------------------ silver

SALT = """
- weigh: {{sample: salt, contains: {salt}, gives: {gives} Cl^-, pure: yes}}
- dissolve: {solvent}
- make up: 250 cm3
- take aliquot: 25.0 cm3
- titrate: {{with: AgNO3, of: [Cl^-]}}
"""


def salt(judge: Judge, *, of: str = "NaCl", gives: int = 1, solvent: str = "distilled water", mass: str = "0.70",
         silver: str = "0.05", indicator: str = "potassium chromate") -> str:  # fmt: skip
    values = {
        q("mass of salt"): mass,
        q("made-up volume"): "250",
        q("volume of aliquot"): "25",
        q("concentration of AgNO3"): silver,
    }
    return judge(SALT.format(salt=of, gives=gives, solvent=solvent), values, indicator)


def test_chloride_by_chromate_wants_a_neutral_flask(judge: Judge) -> None:
    # D. Harvey, Analytical Chemistry, chapter 9.5: pH 7 to 10 for chromate, in acid it is hydrogenchromate
    assert salt(judge) == ""
    assert salt(judge, solvent="an excess of dilute nitric acid") == "acid"
    assert salt(judge, solvent="dilute hydrochloric acid") == "acid"
    assert salt(judge, solvent="dilute sodium hydroxide solution") == "alkali"
    assert salt(judge, indicator="starch") == "indicator"


def test_chromate_comes_too_late_in_a_very_dilute_chloride(judge: Judge) -> None:
    # by hand, Ksp of OpenStax Chemistry 2e, appendix J: Ag+ at sqrt(9e-12/0.005) = 4.2e-5 when chromate of 0.005 comes down, Cl- at
    # 1.6e-10/4.2e-5 = 3.8e-6; the excess, 3.9e-5, is 0.3 % of 0.013 mol dm⁻³ and 3 % of 0.0013
    assert salt(judge, mass="0.35", silver="0.025") == ""
    assert salt(judge, mass="0.035", silver="0.0025") == "indicator"


def test_chromate_precipitates_barium_and_an_adsorption_indicator_does_not(judge: Judge) -> None:
    assert salt(judge, of="BaCl2.2H2O", gives=2, indicator="dichlorofluorescein") == ""
    assert salt(judge, of="NaCl", indicator="dichlorofluorescein", solvent="an excess of dilute nitric acid") == "acid"


def test_the_ph_of_what_is_measured_beside_the_chloride_counts(judge: Judge) -> None:
    lines = """
    - measure: {solution: NaCl, gives: 1 Cl^-, into: portion, beside: {solution: OTHER}}
    - titrate: {with: AgNO3, of: [Cl^-]}
    """
    values = {
        q("concentration of NaCl"): "0.05",
        q("volume of NaCl in portion"): "25",
        q("concentration of AgNO3"): "0.05",
    }
    for other, expected in (
        ("HCl", "acid"),
        ("CH3COOH", "acid"),
        ("NaHCO3", ""),
        ("Na2CO3", "alkali"),
        ("NaOH", "alkali"),
    ):
        given = {**values, q(f"concentration of {other}"): "0.01"}
        assert judge(lines.replace("OTHER", other), given, "potassium chromate") == expected, other


def test_barium_ions_beside_the_chloride_rule_chromate_out(judge: Judge) -> None:
    # BaCrO4, Ksp 1.2e-10 (CRC Handbook, from memory): 0.005 mol dm⁻³ of chromate leaves 2e-8 of barium
    lines = """
    - measure: {solution: NaCl, gives: 1 Cl^-, into: portion, beside: {solution: Ba^2+}}
    - titrate: {with: AgNO3, of: [Cl^-]}
    """
    values = {q("concentration of NaCl"): "0.05", q("volume of NaCl in portion"): "25", q("concentration of AgNO3"): "0.05",
              q("concentration of Ba^2+"): "0.01"}  # fmt: skip
    assert judge(lines, values, "potassium chromate") == "precipitate"
    assert judge(lines, values, "dichlorofluorescein") == ""


BY_THIOCYANATE = """
- measure: {{solution: NaCl, gives: 1 Cl^-, into: portion}}
- add: {acid}
- add excess: {{solution: AgNO3, into: portion}}
- react: {{reaction: Ag^+(aq) + Cl^-(aq) -> AgCl(s), excess: Ag^+}}
{filtered}
- titrate: {{with: NH4SCN, of: [Ag^+]}}
"""


@pytest.mark.parametrize(
    ("acid", "filtered", "indicator", "expected"),
    [
        ("an excess of dilute nitric acid", "- filter off: AgCl", "ammonium iron(III) sulfate", ""),
        ("distilled water", "- filter off: AgCl", "ammonium iron(III) sulfate", "acid"),
        ("an excess of dilute hydrochloric acid", "- filter off: AgCl", "ammonium iron(III) sulfate", "acid"),
        ("an excess of dilute nitric acid", "- filter off: AgCl", "potassium chromate", "indicator"),
        ("an excess of dilute nitric acid", "", "ammonium iron(III) sulfate", "precipitate"),
    ],
)
def test_thiocyanate_needs_nitric_acid_and_no_silver_chloride_about(
    judge: Judge, acid: str, filtered: str, indicator: str, expected: str
) -> None:
    # D. Harvey, Analytical Chemistry, chapter 9.5: AgCl (1.8e-10) is more soluble than AgSCN (1.1e-12) and is filtered off
    values = {q("concentration of NaCl"): "0.05", q("volume of NaCl in portion"): "25", q("concentration of AgNO3"): "0.05",
              q("volume of AgNO3 in portion"): "50", q("concentration of NH4SCN"): "0.05"}  # fmt: skip
    assert judge(BY_THIOCYANATE.format(acid=acid, filtered=filtered), values, indicator) == expected


# ------------------------------------------------------------------ EDTA

HARDNESS = """
- measure: {{solution: {metal}, into: portion{beside}}}
- add: {added}
- titrate: {{with: Na2H2Y, of: [{metal}]}}
"""


def hardness(judge: Judge, metal: str, added: str, indicator: str, strength: str = "0.005", beside: str = "") -> str:
    values = {
        q(f"concentration of {metal}"): strength,
        q(f"volume of {metal} in portion"): "50",
        q("concentration of Na2H2Y"): "0.01",
    }
    values |= {q(f"concentration of {beside}"): "0.002"} if beside else {}
    named = f", beside: {{solution: {beside}}}" if beside else ""
    return judge(HARDNESS.format(metal=metal, added=added, beside=named), values, indicator)


@pytest.fixture(scope="module")
def edta(bank: Bank) -> EdtaRules:
    return EdtaRules(bank, Solutes(bank), Reader(bank))


@pytest.mark.parametrize(("at_ph", "published"), [(5, 3.7e-7), (6, 2.4e-5), (8, 5.7e-3), (10, 0.367), (12, 0.983)])
def test_the_bare_part_of_edta_is_that_of_the_published_table(edta: EdtaRules, at_ph: float, published: float) -> None:
    # D. Harvey, Analytical Chemistry 2.1, chapter 9.3, values of alpha(Y^4-); from memory
    assert edta.bare(at_ph) == pytest.approx(published, rel=0.05)


def test_ammonia_leaves_little_zinc_free(edta: EdtaRules) -> None:
    # D. C. Harris, Quantitative Chemical Analysis, EDTA titrations: 1.8e-5 in 0.10 mol dm⁻³ of ammonia; from memory
    assert edta.free("Zn^2+", 0.10) == pytest.approx(1.8e-5, rel=0.02)
    assert edta.free("Ca^2+", 0.10) == 1


def test_calcium_at_ph_ten_has_the_published_conditional_constant(edta: EdtaRules) -> None:
    # Harvey, as above: 1.8e10 for calcium at pH 10, from log k 10.69
    assert edta.log_k("Ca^2+", 10) == pytest.approx(10.26, abs=0.03)


@for_each(
    ("metal", "added", "indicator", "expected"),
    [
        ("Ca^2+", "a buffer solution of pH 10", "eriochrome black T", ""),
        ("Mg^2+", "a buffer solution of pH 10", "eriochrome black T", ""),
        ("Mg^2+", "a buffer solution of pH 8", "eriochrome black T", "EDTA"),
        ("Ca^2+", "a buffer solution of pH 5.5", "xylenol orange", "EDTA"),
        ("Zn^2+", "a buffer solution of pH 5.5", "xylenol orange", ""),
        ("Ca^2+", "distilled water", "eriochrome black T", "buffer"),
        ("Ca^2+", "enough sodium hydroxide solution to reach pH 12", "eriochrome black T", "indicator"),
        ("Ca^2+", "enough sodium hydroxide solution to reach pH 12", "murexide", ""),
        ("Ca^2+", "a buffer solution of pH 10", "starch", "indicator"),
        ("Mg^2+", "enough sodium hydroxide solution to reach pH 12", "murexide", "hydroxide"),
        ("Zn^2+", "a buffer solution of pH 10", "eriochrome black T", ""),  # held in solution by ammonia
        ("Zn^2+", "enough sodium hydroxide solution to reach pH 10", "eriochrome black T", "hydroxide"),
    ],
)
def test_edta_holds_a_metal_only_where_its_ph_lets_it(
    judge: Judge, metal: str, added: str, indicator: str, expected: str
) -> None:
    # Harvey, as above: calcium needs pH 8 and more, magnesium pH 10, zinc can be titrated at pH 5
    assert hardness(judge, metal, added, indicator) == expected


def test_magnesium_is_out_of_the_way_at_ph_twelve_and_not_at_ten_or_eleven(judge: Judge) -> None:
    # Mg(OH)2, Ksp 8.9e-12 (OpenStax Chemistry 2e, appendix J)
    alkali = "enough sodium hydroxide solution to reach pH {}"
    assert hardness(judge, "Ca^2+", alkali.format(12), "murexide", beside="Mg^2+") == ""
    assert hardness(judge, "Ca^2+", alkali.format(11), "murexide", beside="Mg^2+") == "metal"
    assert hardness(judge, "Ca^2+", "a buffer solution of pH 10", "eriochrome black T", beside="Mg^2+") == "metal"
    assert hardness(judge, "Ca^2+", "a buffer solution of pH 10", "eriochrome black T", beside="Na+") == ""


def test_a_bank_without_edta_constants_judges_no_edta(bank: Bank) -> None:
    bare = Plausibility(dataclasses.replace(bank, edta=()))
    lines = HARDNESS.format(metal="Ca^2+", added="distilled water", beside="")
    values = {
        q("concentration of Ca^2+"): "0.005",
        q("volume of Ca^2+ in portion"): "50",
        q("concentration of Na2H2Y"): "0.01",
    }
    assert bare.refusal(described(bank, lines, values, "starch")) is None


def test_entries_of_edta_check_themselves() -> None:
    with pytest.raises(Mistake):
        EdtaAcid("H6Y^2+", (2.0, 1.5), "H2Y^2-")
    with pytest.raises(Mistake):
        EdtaMetal("Ca^2+", -1.0)


# ------------------------------------------------------------------ end points before the last

TWO_END_POINTS = """
- measure: {{solution: Na2CO3, into: portion, beside: {{solution: NaHCO3}}}}
- titrate: {{with: HCl, name: first, indicator: {indicator}, reaction: Na2CO3(aq) + HCl(aq) -> NaHCO3(aq) + NaCl(aq)}}
- titrate: {{with: HCl, name: second, indicator: screened methyl orange,
             reaction: NaHCO3(aq) + HCl(aq) -> NaCl(aq) + CO2(g) + H2O(l)}}
"""


@pytest.mark.parametrize(
    ("indicator", "expected"),
    [("phenolphthalein", ""), ("methyl orange", "indicator"), ("thymolphthalein", "indicator"), ("bromothymol blue", "indicator")],
)  # fmt: skip
def test_the_first_end_point_of_a_carbonate_is_shown_by_phenolphthalein(
    judge: Judge, indicator: str, expected: str
) -> None:
    # H. P. Talbot, Quantitative Chemical Analysis, 1921: phenolphthalein first, methyl orange second
    values = {q("concentration of Na2CO3"): "0.05", q("volume of Na2CO3 in portion"): "25", q("concentration of NaHCO3"): "0.02",
              q("concentration of HCl"): "0.1"}  # fmt: skip
    assert judge(TWO_END_POINTS.format(indicator=indicator), values, "") == expected


@pytest.mark.parametrize(
    ("carbonate", "hydrogencarbonate", "acid", "expected"),
    [("0.05", "0.02", "0.1", ""), ("0.02", "0.08", "0.1", "indicator"), ("0.01", "0.09", "0.05", "indicator")],
)
def test_phenolphthalein_fades_too_early_where_much_hydrogencarbonate_is_there(
    carbonate: str, hydrogencarbonate: str, acid: str, expected: str, judge: Judge
) -> None:
    # the buffer of both lies within the colour change: gone 2 to 4 % early, where a per cent or so is allowed (Kolthoff)
    values = {q("concentration of Na2CO3"): carbonate, q("volume of Na2CO3 in portion"): "25",
              q("concentration of NaHCO3"): hydrogencarbonate, q("concentration of HCl"): acid}  # fmt: skip
    assert judge(TWO_END_POINTS.format(indicator="phenolphthalein"), values, "") == expected


def test_an_indicator_that_does_not_follow_ph_shows_no_first_end_point(judge: Judge) -> None:
    values = {q("concentration of Na2CO3"): "0.05", q("volume of Na2CO3 in portion"): "25", q("concentration of NaHCO3"): "0.02",
              q("concentration of HCl"): "0.1"}  # fmt: skip
    assert judge(TWO_END_POINTS.format(indicator="starch"), values, "") == "indicator"


@pytest.mark.parametrize(("indicator", "expected"), [("phenolphthalein", ""), ("methyl orange", "indicator")])
def test_a_standardisation_before_the_last_titration_is_judged_by_its_own_indicator(
    judge: Judge, indicator: str, expected: str
) -> None:
    # OpenStax, Chemistry 2e, 14.7: a weak acid with a strong base needs phenolphthalein
    lines = f"""
    - measure: {{solution: CH3COOH, into: first}}
    - titrate: {{with: NaOH, vessel: first, name: first, indicator: {indicator}}}
    - measure: {{solution: HCl, into: second}}
    - titrate: {{with: NaOH, vessel: second, name: second, indicator: phenolphthalein}}
    """
    values = {q("concentration of CH3COOH"): "0.1", q("volume of CH3COOH in first"): "25", q("concentration of HCl"): "0.1",
              q("volume of HCl in second"): "25", q("concentration of NaOH"): "0.1"}  # fmt: skip
    assert judge(lines, values, "") == expected


# ------------------------------------------------------------------ what is added in words


@pytest.mark.parametrize(
    ("words", "acid", "alkali"),
    [
        ("an excess of dilute sulfuric acid", "H2SO4", ""),
        ("sodium carbonate solution followed by a little ethanoic acid", "CH3COOH", ""),
        ("dilute nitric acid and then sodium hydroxide solution", "", "NaOH"),
        ("an excess of acidified potassium iodide solution", "acid", ""),
        ("distilled water", "", ""),
    ],
)
def test_the_last_acid_or_alkali_named_is_the_one_that_is_there(bank: Bank, words: str, acid: str, alkali: str) -> None:
    lines = f"""
    - measure: {{solution: FeSO4, into: portion}}
    - add: {words}
    - titrate: {{with: KMnO4}}
    """
    procedure = described(bank, lines, {}).variant.procedure
    plenty = Reader(bank).plenty(procedure, procedure.titrations[-1])
    assert (plenty.acid, plenty.alkali) == (acid, alkali)


def test_what_is_added_to_another_vessel_does_not_count(bank: Bank) -> None:
    lines = """
    - add: {what: dilute sulfuric acid, vessel: bottle}
    - measure: {solution: KI, into: bottle}
    - measure: {solution: FeSO4, into: portion}
    - titrate: {with: KMnO4, vessel: portion}
    """
    procedure = described(bank, lines, {}).variant.procedure
    assert Reader(bank).plenty(procedure, procedure.titrations[-1]).acid == ""
