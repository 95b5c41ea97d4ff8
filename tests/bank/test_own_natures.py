"""An entry that somebody adds gets all that the built-in ones get: faults, slips and rules turn on what a substance is, by the bank.

The substances are real ones that no built-in kind of question has in that place.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.further_parts.curves.colours import ask_colour_change, colours
from molewright.further_parts.faults.effect import effect, possible_faults
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.rules import Plausibility
from molewright.question.check import Question, Questions

SCENES = """
- {key: own-first, serves: [%s], opening: A bottle in the store has lost its label., sample: the bottle}
- {key: own-second, serves: [%s], opening: A class sorts the bottles of a store., sample: the bottle}
- {key: own-third, serves: [%s], opening: A technician checks an old bottle., sample: the bottle}
"""
KIND = """
- key: own-kind
  title: One solution against another
  topic: direct titration
  demand: 2
  variants:
    - {analyte: %s, titrant: %s}
  procedure:
    - measure: {solution: analyte, concentration: fit %s mol dm-3 by 0.0005, volume: 25.0 cm3, into: portion}
    - titrate: {with: titrant, concentration: 0.0900 to 0.115 mol dm-3 by 0.0005}
  titre: 18 to 32 cm3
  ask:
    - {quantity: concentration of analyte}
  stretch: [fault]
  source: common practice, no source
"""


def folder_of(tmp_path: Path, analyte: str, titrant: str, fit: str, **files: str) -> Path:
    """An own folder with one kind of question, its scenes and more files by their names."""
    folder = tmp_path / "my-entries"
    (folder / "archetypes").mkdir(parents=True)
    (folder / "archetypes" / "own.yaml").write_text(KIND % (analyte, titrant, fit), "utf-8")
    (folder / "contexts.yaml").write_text(SCENES % ((analyte.strip("[]"),) * 3), "utf-8")
    for name, text in files.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    return folder


def drawn(folder: Path, tmp_path: Path, seed: str = "own") -> tuple[Question, Calculation]:
    """A question of an own folder's kind, beside the banks, and the calculation that its further parts rest on."""
    both = read_bank(own=(folder,), whole=False)
    maker = Questions(both, Plans(both.fingerprint, tmp_path))
    one = maker.make(both.archetypes["own-kind"], Stream(seed))
    made = Calculation(
        bank=both,
        draw=one.draw,
        system=one.system,
        worked=one.worked,
        mistakes=one.mistakes,
        given=one.given,
        masses=maker.masses,
        stream=Stream(seed),
        line=Stream(seed),
        plans=maker.plans,
        plausibility=maker.plausibility,
    )
    return one, made


def slips_of(question: Question) -> set[str]:
    return {slip.key for wrong in question.mistakes.wrong for slip in wrong.slips}


# ------------------------------------------------------------------ alkalis, acids, carbonates

LITHIUM = """
- equation: HCl(aq) + LiOH(aq) -> LiCl(aq) + H2O(l)
  indicators: [phenolphthalein]
  source: common practice, no source
"""


def test_lithium_hydroxide_in_the_burette_has_the_faults_of_an_alkali(tmp_path: Path) -> None:
    """LiOH takes up carbon dioxide from the air as NaOH does: with phenolphthalein the titre is too high (common practice)."""
    folder = folder_of(tmp_path, "HCl", "LiOH", "0.0700 to 0.140", reactions=LITHIUM)
    _, calculation = drawn(folder, tmp_path)
    found = {one.key: one for one in possible_faults(calculation)}
    assert {"F28", "F38"} <= set(found)
    seen = effect(calculation, found["F28"])
    assert (seen.titre, seen.answer) == ("higher", "higher")


BARYTA = """
- equation: 2CH3COOH(aq) + Ba(OH)2(aq) -> Ba(CH3COO)2(aq) + 2H2O(l)
  indicators: [phenolphthalein]
  source: common practice, no source
"""
BARIUM_ETHANOATE = "- {solute: Ba(CH3COO)2, gives: [Ba^2+, 2 CH3COO^-]}"


def test_baryta_has_no_fault_of_a_carbonate_that_stays_in_solution(tmp_path: Path) -> None:
    """Barium carbonate comes down (pKsp 8.6 in banks/solubility_products.yaml): no carbonate is there that acid could meet again."""
    folder = folder_of(tmp_path, "CH3COOH", "Ba(OH)2", "0.150 to 0.250", reactions=BARYTA, ions=BARIUM_ETHANOATE)
    found = {one.key for one in possible_faults(drawn(folder, tmp_path)[1])}
    assert {"F36", "F38"} <= found
    assert "F28" not in found


MALIC = """
- equation: C4H6O5(aq) + 2NaOH(aq) -> Na2C4H4O5(aq) + 2H2O(l)
  indicators: [phenolphthalein]
  source: common practice, no source
"""
MALIC_NAME = "- {formula: C4H6O5, name: malic acid, solution: malic acid solution}"
MALIC_IONS = """
- {ion: C4H6O5, acid: malic acid}
- {ion: C4H4O5^2-, acid: malic acid, lost: 2}
- {solute: Na2C4H4O5, gives: [2 Na^+, C4H4O5^2-]}
"""


@pytest.mark.parametrize(
    "acid", ["C4H6O5", "C4H6O6"]
)  # malic acid, an entry of one's own; tartaric acid, by its other formula
def test_a_dibasic_acid_has_the_slips_and_faults_of_one(acid: str, tmp_path: Path) -> None:
    own = {"reactions": MALIC, "substances": MALIC_NAME, "ions": MALIC_IONS} if acid == "C4H6O5" else {}
    folder = folder_of(tmp_path, f"[{acid}, H2C2O4]", "NaOH", "0.0400 to 0.0750", **own)
    slips: dict[str, set[str]] = {}
    faults: dict[str, set[str]] = {}
    for seed in range(10):
        question, calculation = drawn(folder, tmp_path, f"dibasic {seed}")
        analyte = question.draw.variant.roles["analyte"]
        slips.setdefault(analyte, set()).update(slips_of(question))
        faults.setdefault(analyte, set()).update(one.key for one in possible_faults(calculation))
    (own_slips, own_faults) = (next(held[key] for key in held if key != "H2C2O4") for held in (slips, faults))
    assert "S16" in own_slips
    assert own_slips == slips["H2C2O4"]
    assert own_faults == faults["H2C2O4"]
    assert "F36" in own_faults  # methyl orange with a weak acid: pKa 4.34 and 5.2 (banks/acids.yaml)


def test_a_monobasic_acid_has_no_slip_of_a_dibasic_one(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, "HCl", "LiOH", "0.0700 to 0.140", reactions=LITHIUM)
    assert "S16" not in slips_of(drawn(folder, tmp_path)[0])


CAESIUM = """
- equation: Cs2CO3(aq) + 2HCl(aq) -> 2CsCl(aq) + CO2(g) + H2O(l)
  indicators: [methyl orange]
  source: common practice, no source
"""
CAESIUM_NAME = "- {formula: Cs2CO3, name: caesium carbonate, solution: caesium carbonate solution}"
CAESIUM_IONS = """
- {ion: Cs^+}
- {solute: Cs2CO3, gives: [2 Cs^+, CO3^2-]}
- {solute: CsCl, gives: [Cs^+, Cl^-]}
"""


def test_caesium_carbonate_has_the_fault_of_stopping_half_way(tmp_path: Path) -> None:
    """Phenolphthalein changes when a carbonate has become hydrogencarbonate: about half of it is found (common practice)."""
    folder = folder_of(
        tmp_path, "Cs2CO3", "HCl", "0.0400 to 0.0750", reactions=CAESIUM, substances=CAESIUM_NAME, ions=CAESIUM_IONS
    )
    _, calculation = drawn(folder, tmp_path)
    found = {one.key: one for one in possible_faults(calculation)}
    share = effect(calculation, found["F37"]).answer_exact / calculation.worked.exact
    assert float(share) == pytest.approx(0.5, rel=0.02)


# ------------------------------------------------------------------ oxidants, faults, families, topics

BROMATE = """
- oxidation: Fe^2+(aq) -> Fe^3+(aq) + e-
  reduction: BrO3^-(aq) + 6H^+(aq) + 6e- -> Br^-(aq) + 3H2O(l)
  indicators: [ferroin]
  source: common practice, no source
"""
BROMATE_NAMES = """
- {formula: KBrO3, name: potassium bromate(V), solution: potassium bromate(V) solution, gives: 1 BrO3^-}
"""
BROMATE_REDOX = """
- species: BrO3^-
  oxidant: yes
  strongest: 0.03
  acids: [H2SO4, HCl]
  without acid: bromate(V) ions do not react
  source: common practice, no source
"""
BROMATE_FAULT = """
- fault: own-bromate
  told: too little acid was added before the titration
  cause: some of the bromate(V) takes fewer electrons each
  changes: {titrant strength: 0.9}
  burette: [BrO3^-]
  source: common practice, no source
"""
IRON_BY_BROMATE = """
- key: own-kind
  title: Iron by another oxidant
  topic: own topic
  demand: 4
  variants:
    - {analyte: FeSO4, titrant: KBrO3}
  procedure:
    - measure: {solution: analyte, concentration: fit 0.0700 to 0.140 mol dm-3 by 0.0005, volume: 25.0 cm3, into: portion}
    - add: dilute sulfuric acid
    - titrate: {with: titrant, concentration: 0.0150 to 0.0190 mol dm-3 by 0.0001}
  titre: 18 to 32 cm3
  ask:
    - {quantity: concentration of analyte}
  stretch: [fault]
  source: common practice, no source
"""


def bromate_folder(tmp_path: Path, kind: str = IRON_BY_BROMATE, redox: str = BROMATE_REDOX) -> Path:
    folder = folder_of(
        tmp_path,
        "FeSO4",
        "KBrO3",
        "0.0700 to 0.140",
        reactions=BROMATE,
        substances=BROMATE_NAMES,
        redox=redox,
        faults=BROMATE_FAULT,
        topics="- {topic: own topic}\n",
    )
    (folder / "archetypes" / "own.yaml").write_text(kind, "utf-8")
    return folder


def test_an_own_oxidant_has_the_slips_of_a_redox_ratio_and_the_fault_that_names_it(tmp_path: Path) -> None:
    question, calculation = drawn(bromate_folder(tmp_path), tmp_path)
    assert "S17" in slips_of(question)
    found = {one.key for one in possible_faults(calculation)}
    assert {"own-bromate", "F40"} <= found  # air takes iron(II) whatever it is titrated with
    assert not {"F39", "F39b"} & found  # those of manganate(VII)


def test_an_own_oxidant_is_judged_by_the_acid_that_it_needs(tmp_path: Path) -> None:
    without = IRON_BY_BROMATE.replace("dilute sulfuric acid", "dilute ethanoic acid")
    with pytest.raises(Mistake, match="without sulfuric acid bromate"):
        drawn(bromate_folder(tmp_path, without), tmp_path)


def with_indicator(name: str, tmp_path: Path, redox: str = BROMATE_REDOX, reactions: str = BROMATE) -> Calculation:
    folder = bromate_folder(tmp_path, redox=redox)
    (folder / "reactions.yaml").write_text(reactions.replace("[ferroin]", f"[{name}]"), "utf-8")
    if not redox:
        for file in ("redox.yaml", "faults.yaml"):
            (folder / file).unlink()
    return drawn(folder, tmp_path)[1]


@pytest.mark.parametrize("name", ["methyl orange", "methyl red"])
def test_bromate_bleaches_an_indicator_that_follows_ph(name: str, tmp_path: Path) -> None:
    """A. I. Vogel, A Text-Book of Quantitative Inorganic Analysis, from memory: the dye is destroyed by the first bromine."""
    (part,) = ask_colour_change(with_indicator(name, tmp_path))
    assert part.points[0].answer == "red to colourless"


def test_an_indicator_of_ph_is_refused_where_electrons_are_exchanged(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="phenolphthalein follows pH, and this titration exchanges electrons"):
        with_indicator("phenolphthalein", tmp_path)


WHOLE = """
- equation: 6Fe^2+(aq) + BrO3^-(aq) + 6H^+(aq) -> 6Fe^3+(aq) + Br^-(aq) + 3H2O(l)
  indicators: [ferroin]
  source: common practice, no source
"""


def test_of_an_oxidant_that_no_bank_tells_of_nothing_is_said_of_colours_and_check_says_so(tmp_path: Path) -> None:
    calculation = with_indicator("phenolphthalein", tmp_path, redox="", reactions=WHOLE)
    assert colours(calculation) == ("", "")
    with pytest.raises(Refusal, match="neither flask nor burette"):
        ask_colour_change(calculation)
    assert "BrO3-" in Plausibility(calculation.bank).unjudged(calculation.draw)


def test_an_own_oxidant_is_judged_by_its_strength(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="stronger than a burette of it"):
        drawn(bromate_folder(tmp_path, redox=BROMATE_REDOX.replace("0.03", "0.001")), tmp_path)


@pytest.mark.parametrize(
    ("file", "text", "told"),
    [
        ("faults", BROMATE_FAULT.replace("burette: [BrO3^-]", "burette: [BrO4^-]"), "no species 'BrO4-'"),
        ("faults", BROMATE_FAULT.replace("burette: [BrO3^-]", "used: [feroin]"), "no indicator 'feroin'"),
        ("faults", BROMATE_FAULT.replace("burette: [BrO3^-]", "at least: 0.1"), "'at least' of nothing"),
        ("faults", BROMATE_FAULT.replace("burette: [BrO3^-]", "gas: CO2"), "'gas' and a change of a gas"),
        ("faults", BROMATE_FAULT.replace("burette: [BrO3^-]", "without: rinse the buret"), "rinse the burette"),
        ("redox", BROMATE_REDOX.replace("  without acid: bromate(V) ions do not react\n", ""), "'without acid'"),
        ("redox", BROMATE_REDOX.replace("BrO3^-", "MnO4^-"), "the banks have an entry for MnO4- already"),
        ("redox", BROMATE_REDOX.replace("strongest: 0.03", "strongest: 0"), "0 mol dm⁻³ for strongest"),
        ("redox", BROMATE_REDOX.replace("strongest", "strongst"), "strongest"),
        ("redox", BROMATE_REDOX + "  low pH: 2\n", "'low pH' and 'below'"),
        ("redox", BROMATE_REDOX + "  warmed: {with: Fe^2+, low: 80, high: 60, below: x, above: y}\n", "the lower"),
        ("precipitation", "- {indicator: ferroin, shows: Ag^+, source: here}\n", "expected one of the two"),
        ("precipitation", "- {precipitant: Ag^+, in alkali: x, source: here}\n", "the banks have 'Ag+' already"),
        ("elements", "- {family: own, charge: 1, elements: [Lx], told: x, source: here}\n", "no element Lx"),
        ("elements", "- {family: own, charge: 0, elements: [Li], told: x, source: here}\n", "a charge of 1 or more"),
        ("topics", "- {topic: redox}\n", "the banks have 'redox' already"),
        ("acids", "- {name: own, formula: HBrO, pkas: [8.6], held: 0.1, source: here}\n", "'held' is of a gas"),
        ("acids", "- {name: own, formula: HBrO, pkas: [8.6], heat: 50, source: here}\n", "'heat_source' is missing"),
        ("ions", "- {ion: BrO^-, conductivity: 50}\n", "'source' is missing"),
        ("equations", "- {instead: H3O^+, for: [H^+, H2O]}\n", "the banks have 'instead H3O+' already"),
        ("equations", "- {instead: H9O4^+, for: [H^+, 2 H2O]}\n", "H9O4+ cannot give"),
        ("equations", "- {species: BrO3^-, nane: bromate(V) ions}\n", "'name' is missing"),
        ("equations", "- {ionic: H2SeO4, gives: [2 H^+, SeO4^2-]}\n", "'source' is missing"),
        ("equations", "- {known: [BrO3^-], beside: [Br^-]}\n", "beside"),
    ],
)
def test_what_is_wrong_in_an_own_property_is_told_with_its_line(
    file: str, text: str, told: str, tmp_path: Path
) -> None:
    folder = bromate_folder(tmp_path)
    (folder / f"{file}.yaml").write_text(text, "utf-8")
    with pytest.raises(Mistake) as caught:
        read_bank(own=(folder,), whole=False)
    said = str(caught.value).replace("\N{NO-BREAK SPACE}", " ")
    assert told in said
    assert f"my-entries/{file}.yaml:" in said
