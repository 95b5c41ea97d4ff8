"""An entry that somebody adds gets all that the built-in ones get: faults, slips and rules turn on what a substance is, by the bank.

The substances are real ones that no built-in kind of question has in that place.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.further_parts.faults.effect import effect, possible_faults
from molewright.further_parts.pieces import Calculation
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
        both, one.draw, one.system, one.worked, one.prepared.slips, one.given, maker.masses, Stream(seed), maker.plans
    )
    return one, made


def slips_of(question: Question) -> set[str]:
    return {slip.key for wrong in question.wrong_answers() for slip in wrong.slips}


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


TARTARIC = """
- equation: C4H6O6(aq) + 2NaOH(aq) -> Na2C4H4O6(aq) + 2H2O(l)
  indicators: [phenolphthalein]
  source: common practice, no source
"""
TARTARIC_NAME = "- {formula: C4H6O6, name: tartaric acid, solution: tartaric acid solution}"


def test_tartaric_acid_has_the_slips_and_faults_of_a_dibasic_acid(tmp_path: Path) -> None:
    folder = folder_of(
        tmp_path, "[C4H6O6, H2C2O4]", "NaOH", "0.0400 to 0.0750", reactions=TARTARIC, substances=TARTARIC_NAME
    )
    slips: dict[str, set[str]] = {}
    faults: dict[str, set[str]] = {}
    for seed in range(20):
        question, calculation = drawn(folder, tmp_path, f"dibasic {seed}")
        analyte = question.draw.variant.roles["analyte"]
        slips.setdefault(analyte, set()).update(slips_of(question))
        faults.setdefault(analyte, set()).update(one.key for one in possible_faults(calculation))
    assert "S16" in slips["C4H6O6"]
    assert slips["C4H6O6"] == slips["H2C2O4"]
    assert faults["C4H6O6"] == faults["H2C2O4"]
    assert "F36" in faults["C4H6O6"]  # methyl orange with a weak acid: pKa 4.34 (banks/acids.yaml)


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
