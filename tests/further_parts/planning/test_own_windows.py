"""Kinds of one's own with windows of their own: the stretch level plans what can be done, or something else is asked."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.readers.whole_bank import read_bank
from molewright.chem.quantity import Quantity
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.question.check import Questions

SCENES = "".join(
    f"""
- key: own-{place}
  serves: [own crust]
  opening: A crust from a {place} near Ossel Head holds magnesium carbonate.
  sample: the crust
"""
    for place in ("boiler", "cistern", "spring")
)
KIND = """
- key: own-crust
  title: A crust in acid
  topic: back titration
  demand: 5
  variants:
    - {material: own crust, reagent: HCl, titrant: NaOH}
  procedure:
    - weigh: {sample: material, contains: analyte, mass: fit 0.050 to 2.000 g by 0.001, percentage: of the material}
    - add excess: {solution: reagent, volume: 50.0 cm3, concentration: 0.500 to 0.900 mol dm-3 by 0.005}
    - react: {excess: reagent}
    - make up: 250 cm3
    - take aliquot: 25.0 cm3
    - titrate: {with: titrant, concentration: 0.0600 to 0.200 mol dm-3 by 0.0005}
  WINDOWS
  ask:
    - percentage of analyte in material
  source: common practice, no source
"""
MATERIAL = """
- {name: own crust, noun: dried crust, analyte: MgCO3, low: 70.0, high: 95.0, reagents: [HCl], source: common practice}
"""
WINDOWS = {
    "little of the acid used": "used: 0.07 to 0.20",
    "small titres": "used: 0.30 to 0.40\n  titre: 15 to 20 cm3",
}
DRAWS = 80


@pytest.mark.thorough
@pytest.mark.parametrize("which", WINDOWS)
def test_the_planned_mass_is_one_that_such_a_question_could_have(which: str, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    (folder / "archetypes").mkdir(parents=True)
    (folder / "contexts.yaml").write_text(SCENES, "utf-8")
    (folder / "materials.yaml").write_text(MATERIAL, "utf-8")
    (folder / "archetypes" / "crust.yaml").write_text(KIND.replace("WINDOWS", WINDOWS[which]), "utf-8")
    both = read_bank(own=(folder,), whole=False)
    questions = Questions(both, Plans(both.fingerprint, tmp_path))
    archetype = both.archetypes["own-crust"]
    seen = 0
    for number in range(DRAWS):
        stretched = questions.stretched(questions.make(archetype, Stream(f"own/{number}")))
        for part in stretched.further_parts:
            if part.demand.key == "plan mass":
                seen += 1
                answer, titre = part.points[-1].answer, dict(part.demand.slots)["titre"]
                assert isinstance(answer, Quantity)
                assert isinstance(titre, Quantity)
                choice = stretched.draw.variant.choices[
                    quantities.mass(stretched.draw.variant.procedure.weighings[0].sample)
                ]
                assert choice.low is not None
                assert choice.high is not None
                assert choice.low / 2 <= answer.number <= choice.high * 2
                assert archetype.windows.titre[0] <= titre.exact <= archetype.windows.titre[1]
                assert answer.exact > Fraction(1, 40)
    assert seen
