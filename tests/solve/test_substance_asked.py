"""The substance that is asked for in so much of a solution is the one that is worked out, or the question is refused."""

from __future__ import annotations

import pytest

from molewright.errors import Mistake
from shared.described import Work

SEA = """
procedure:
  - measure: {solution: sea water, contains: Cl-, volume: 10.0 cm3}
  - make up: 100 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: AgNO3, concentration: 0.100 mol dm-3, titre: 13.70 cm3, indicator: potassium chromate}
asked: """
IRON = """
procedure:
  - measure: {solution: iron(II) sulfate, contains: Fe2+, volume: 25.0 cm3}
  - add excess: H2SO4
  - react: Cr2O7^2- + 6Fe^2+ + 14H^+ -> 2Cr^3+ + 6Fe^3+ + 7H2O
  - titrate: {with: K2Cr2O7, concentration: 0.0167 mol dm-3, titre: 23.40 cm3}
asked: """
BOTTLE = IRON.replace("sulfate,", "sulfate solution,")
VINEGAR = """
procedure:
  - measure: {solution: vinegar, contains: CH3COOH, volume: 25.0 cm3}
  - titrate: {with: NaOH, concentration: 1.00 mol dm-3, titre: 20.80 cm3}
asked: """
SALT = """
procedure:
  - measure: {solution: NaCl, volume: 25.0 cm3}
  - titrate: {with: AgNO3, concentration: 0.100 mol dm-3, titre: 13.70 cm3, indicator: potassium chromate}
asked: """


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # 5.480 mmol of chloride in 10.0 cm3: 0.548 mol dm-3; 35.5, 58.5, and of two chlorides 95.3/2 g mol-1
        (SEA + "mass of Cl- in 1 dm3 of sea water", "19.5 g"),
        (SEA + "mass of chloride ions in 1 dm3 of sea water", "19.5 g"),
        (SEA + "mass of NaCl in 1 dm3 of sea water", "32.1 g"),
        (SEA + "mass of sodium chloride in 100 cm3", "3.21 g"),
        (SEA + "mass of NaCl per dm3 of sea water", "32.1 g dm⁻³"),
        (SEA + "mass concentration of NaCl in sea water", "32.1 g dm⁻³"),
        (SEA + "mass of MgCl2 in 1 dm3 of sea water", "26.1 g"),
        (SEA + "concentration of MgCl2 in sea water", "0.274 mol dm⁻³"),
        # 0.09379 mol dm-3 of iron(II), with 55.8, 151.9 and 277.9 g mol-1
        (IRON + "mass of iron in 1 dm3 of iron(II) sulfate", "5.23 g"),
        (IRON + "mass of FeSO4 in 1 dm3 of iron(II) sulfate", "14.2 g"),
        (IRON + "mass of FeSO4.7H2O in 1 dm3 of iron(II) sulfate", "26.1 g"),
        (IRON + "mass concentration of FeSO4.7H2O in iron(II) sulfate", "26.1 g dm⁻³"),
        # a bottle that is called as a salt is
        (BOTTLE + "concentration of Fe2+ in iron(II) sulfate solution", "0.0938 mol dm⁻³"),
        (IRON + "molarity of iron(II) ions in the iron(II) sulfate", "0.0938 mol dm⁻³"),
        (IRON + "concentration of FeSO4 in iron(II) sulfate", "0.0938 mol dm⁻³"),
        (VINEGAR + "mass of ethanoic acid in 200 cm3 of vinegar", "9.98 g"),
        (SALT + "mass of NaCl in 250 cm3 of NaCl", "0.801 g"),
        (SALT + "mass of Cl- in 250 cm3 of NaCl", "0.486 g"),
        (SEA.replace("Cl-,", "MgCl2,") + "mass of MgCl2.6H2O in 1 dm3 of sea water", "55.7 g"),
    ],
)  # fmt: skip
def test_it_is_worked_out_for_what_it_rests_on(text: str, told: str, work: Work) -> None:
    assert work(text)[1].told.replace("\N{NO-BREAK SPACE}", " ") == told


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        (IRON, "mass of Zn in 1 dm3 of iron(II) sulfate"),
        (IRON, "mass of FeCl3 in 1 dm3 of iron(II) sulfate"),
        (IRON, "mass of Zn per dm3 of iron(II) sulfate"),
        (IRON, "mass concentration of Zn in iron(II) sulfate"),
        (VINEGAR, "mass of C6H8O6 in 200 cm3 of vinegar"),
        (VINEGAR, "mass of sugar in 200 cm3 of vinegar"),
        (VINEGAR, "mass of citric acid in 200 cm3"),
        (SALT, "mass of KCl in 250 cm3 of NaCl"),
        (SEA, "mass of NaClO3 in 1 dm3 of sea water"),
        (SEA.replace("Cl-,", "MgCl2,"), "mass of Mg^2+ in 1 dm3 of sea water"),
        (SEA, "mass of bromide ions in 1 dm3 of sea water"),
    ],
)
def test_it_is_refused_for_what_nothing_tells_of(text: str, asked: str, work: Work) -> None:
    with pytest.raises(Mistake, match="no quantity") as refused:
        work(text + asked)
    assert asked in refused.value.found, "told as it is typed"


FLOUR = """
procedure:
  - weigh: {sample: flour, contains: N, mass: 1.25 g, factor: 6.25}
  - drive over: {gas: NH3, into: H2SO4, volume: 50.0 cm3, concentration: 0.100 mol dm-3}
  - titrate: {with: NaOH, concentration: 0.200 mol dm-3, titre: 38.40 cm3}
asked: """
TABLETS = """
procedure:
  - weigh: {sample: iron tablets, contains: Fe, number: 5, mass: 2.10 g}
  - dissolve: dilute sulfuric acid
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - react: MnO4- + 5Fe2+ + 8H+ -> Mn2+ + 5Fe3+ + 4H2O
  - titrate: {with: KMnO4, concentration: 0.00500 mol dm-3, titre: 14.30 cm3}
asked: """
METAL = """
procedure:
  - weigh: {sample: metal chloride, contains: MClx, mass: 1.58 g}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: AgNO3, concentration: 0.100 mol dm-3, titre: 29.95 cm3}
asked: x
"""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # 10.00 mmol of acid's protons, 7.68 of alkali: 2.32 mmol of nitrogen in 1.25 g, and 6.25 times as much protein
        (FLOUR + "percentage of nitrogen in flour", "2.60 %"),
        (FLOUR + "percentage of protein in flour", "16.2 %"),
        # 3.575 mmol of iron in 2.10 g, in five tablets
        (TABLETS + "percentage of Fe in iron tablets", "9.50 %"),
        (TABLETS + "mass of Fe in one tablet", "0.0399 g"),
        (METAL.replace("MClx,", "MClx, atomic mass of M: 52.0,"), "3"),
        (METAL.replace("MClx,", "MClx, relative atomic mass of M: 52.0,"), "3"),
    ],
)  # fmt: skip
def test_a_number_that_the_answer_does_not_need_may_stand_there(text: str, told: str, work: Work) -> None:
    assert work(text)[1].told.replace("\N{NO-BREAK SPACE}", " ") == told


def test_an_atomic_mass_in_the_wrong_place_is_told_the_right_one(work: Work) -> None:
    for typed in ("{M: 52.0}", "M 52.0", "[M]"):
        with pytest.raises(Mistake, match=r"relative atomic masses.*one of: one place.*'atomic mass of M: 52.0'"):
            work(METAL + f"relative atomic masses: {typed}\n")
