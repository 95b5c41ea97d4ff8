"""Problems as textbooks word them, typed from the help alone: what is typed first is read and comes to what paper came to."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import build_experiment
from molewright.derivation.plans import Plans
from molewright.reading.each_asked import each_asked
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve

# Worked on paper with relative atomic masses to one place, before they were typed.
PROBLEMS = {
    "Solubility of calcium hydroxide": (
        """
procedure:
  - measure: {solution: limewater, contains: Ca(OH)2, volume: 25.0 cm3}
  - titrate: {with: HCl, concentration: 0.0500 mol dm-3, titre: 14.50 cm3}
asked: concentration of Ca(OH)2 in limewater
unit: g dm-3
""",
        "1.07 g dm⁻³",
    ),
    "Purity of zinc oxide": (
        """
procedure:
  - weigh: {sample: impure zinc oxide, contains: ZnO, mass: 0.500 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
  - react: ZnO + 2HCl -> ZnCl2 + H2O
  - titrate: {with: NaOH, concentration: 0.500 mol dm-3, titre: 27.4 cm3}
asked: percentage purity of zinc oxide
""",
        "92.0 %",
    ),
    "Drain cleaner": (
        """
procedure:
  - weigh: {sample: drain cleaner, contains: NaOH, mass: 2.50 g}
  - make up: 500 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 24.30 cm3}
asked: percentage by mass of NaOH in drain cleaner
""",
        "77.8 %",
    ),
    "Iron in lawn sand": (
        """
procedure:
  - weigh: {sample: ammonium iron sulfate, contains: (NH4)2SO4.FeSO4.6H2O, mass: 3.95 g}
  - dissolve: dilute sulfuric acid
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: KMnO4, concentration: 0.0100 mol dm-3, titre: 19.85 cm3}
  - react: MnO4- + 8H+ + 5Fe2+ -> Mn2+ + 5Fe3+ + 4H2O
asked: percentage of iron in ammonium iron sulfate
""",
        "14.0 %",
    ),
    "Copper in bronze": (
        """
procedure:
  - weigh: {sample: bronze, contains: Cu, mass: 1.00 g}
  - dissolve: nitric acid
  - add excess: KI
  - react: 2Cu2+ + 4I- -> 2CuI + I2
  - titrate: {with: Na2S2O3, concentration: 0.400 mol dm-3, titre: 29.7 cm3, indicator: starch}
  - react: I2 + 2S2O3^2- -> 2I- + S4O6^2-
asked: percentage of copper in bronze
""",
        "75.4 %",
    ),
    "Zinc ointment": (
        """
procedure:
  - weigh: {sample: zinc ointment, contains: ZnO, mass: 1.50 g}
  - dissolve: dilute hydrochloric acid
  - add: a buffer of pH 10
  - titrate: {with: EDTA, concentration: 0.0500 mol dm-3, titre: 24.6 cm3, indicator: Eriochrome Black T}
asked: percentage of ZnO in zinc ointment
""",
        "6.67 %",
    ),
    "Chloride in bath salts": (
        """
procedure:
  - weigh: {sample: bath salts, contains: NaCl, mass: 0.350 g}
  - dissolve
  - add excess: {solution: AgNO3, volume: 50.0 cm3, concentration: 0.100 mol dm-3}
  - react: Ag+ + Cl- -> AgCl
  - titrate: {with: KSCN, concentration: 0.0800 mol dm-3, titre: 21.3 cm3}
  - react: Ag+ + SCN- -> AgSCN
asked: percentage of chloride in bath salts
""",
        "33.4 %",
    ),
    "Water in sodium thiosulfate": (
        """
procedure:
  - weigh: {sample: hydrated sodium thiosulfate, contains: Na2S2O3.xH2O, mass: 1.24 g}
  - make up: 100 cm3
  - take aliquot: 20.0 cm3
  - titrate: {with: I2, concentration: 0.0500 mol dm-3, titre: 10.0 cm3, indicator: starch}
  - react: I2 + 2S2O3^2- -> 2I- + S4O6^2-
asked: x
""",
        "5",
    ),
    "Magnesium and acid": (
        """
procedure:
  - weigh: {sample: magnesium ribbon, contains: Mg, mass: 0.240 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: Mg + 2HCl -> MgCl2 + H2
  - collect gas: {gas: H2, molar volume: 24.0 dm3 mol-1}
  - titrate: {with: NaOH, concentration: 1.00 mol dm-3}
asked: [volume of H2 given off, volume of NaOH]
""",
        "237 cm³; 30.2 cm³",
    ),
    "Concentrated nitric acid": (
        """
procedure:
  - measure: {solution: concentrated nitric acid, contains: HNO3, volume: 10.0 cm3, density: 1.42 g cm-3}
  - make up: 1.00 dm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.200 mol dm-3, titre: 19.75 cm3}
asked: percentage by mass of HNO3
""",
        "70.1 %",
    ),
    "Protein in milk powder": (
        """
procedure:
  - weigh: {sample: milk powder, contains: N, mass: 0.500 g, factor: 6.38}
  - drive over: {gas: NH3, into: HCl, volume: 25.0 cm3, concentration: 0.200 mol dm-3}
  - react: NH3 + HCl -> NH4Cl
  - titrate: {with: NaOH, concentration: 0.200 mol dm-3, titre: 14.2 cm3}
asked: percentage of protein in milk powder
""",
        "38.6 %",
    ),
    "A chloride of titanium": (
        """
procedure:
  - weigh: {sample: titanium chloride, contains: TiClx, mass: 0.475 g}
  - make up: 100 cm3
  - take aliquot: 10.0 cm3
  - titrate: {with: AgNO3, concentration: 0.0500 mol dm-3, titre: 20.0 cm3}
asked: x
""",
        "4",
    ),
}


@pytest.mark.parametrize("title", PROBLEMS)
def test_what_is_typed_first_is_solved(title: str, bank: Bank) -> None:
    text, told = PROBLEMS[title]
    chemicals, plans = chemicals_of(bank), Plans(bank.fingerprint, None)
    experiments = [build_experiment(one, chemicals) for one in each_asked(parse_tree(text, "by hand"))]
    found = "; ".join(solve(one, plans).told for one in experiments)
    assert found.replace("\N{NO-BREAK SPACE}", " ") == told
