"""A mass is asked for in a portion: a glass of so much, or one of what is counted, in the words of a class."""

from __future__ import annotations

import pytest

from molewright.bank.readers.portions_asked import Portion, piece_asked, portion_asked
from molewright.errors import Mistake
from shared.described import Work

JUICE = """
procedure:
  - measure: {solution: orange juice, contains: C6H8O6, volume: 25.0 cm3}
  - titrate: {with: I2, concentration: 0.00500 mol dm-3, titre: 13.40 cm3, indicator: starch}
  - react: C6H8O6 + I2 -> C6H6O6 + 2HI
unit: mg
asked: """
TABLETS = """
procedure:
  - weigh: {sample: vitamin C tablets, contains: C6H8O6, mass: 3.00 g, number: 5}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: I2, concentration: 0.0500 mol dm-3, titre: 13.40 cm3, indicator: starch}
unit: mg
asked: """
IRON = """
procedure:
  - weigh: {sample: iron tablets, contains: FeSO4, mass: 1.90 g, number: 5}
  - dissolve: dilute sulfuric acid
  - titrate: {with: KMnO4, concentration: 0.0500 mol dm-3, titre: 14.20 cm3}
unit: mg
asked: """


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # 0.06700 mmol of iodine in 25.0 cm3: 0.002680 mol dm-3, 176.0 g mol-1, a fifth of a dm3
        (JUICE + "mass of vitamin C in one glass of 200 cm3", "94.3 mg"),
        (JUICE + "mass of C6H8O6 in a 200 cm3 glass of orange juice", "94.3 mg"),
        (JUICE + "What is the mass of C6H8O6 in 0.200 dm3 of the orange juice?", "94.3 mg"),
        (JUICE + "mass of vitamin C in 100 mL of orange juice", "47.2 mg"),
        # 0.670 mmol of iodine, ten portions, 176.0 g mol-1, five tablets
        (TABLETS + "mass of vitamin C in one tablet", "236 mg"),
        (TABLETS + "mass of C6H8O6 per tablet", "236 mg"),
        (TABLETS.replace("mass: 3.00 g, ", "") + "mass of vitamin C in each tablet", "236 mg"),
        (TABLETS.replace("vitamin C tablets,", "tablet,").replace(", number: 5", "") + "mass of C6H8O6 in the tablet", "1180 mg"),
        # 0.710 mmol of manganate(VII), five times as much iron, 55.8 g mol-1, five tablets
        (IRON + "mass of iron in one tablet", "39.6 mg"),
        (IRON + "mass of FeSO4 in one tablet", "108 mg"),
    ],
)  # fmt: skip
def test_a_mass_is_found_in_a_portion(text: str, told: str, work: Work) -> None:
    assert work(text)[1].told.replace("\N{NO-BREAK SPACE}", " ") == told


def test_a_portion_is_a_whole_number_of_cm3_and_told_once(work: Work) -> None:
    assert portion_asked("mass of NaCl in 2.5 cm3 of brine") is None
    assert portion_asked("mass of NaCl in brine") is None
    assert portion_asked("mass of NaCl in one spoonful of 5 cm3 of brine") == Portion("NaCl", 5, "brine")
    assert piece_asked("mass of NaCl in brine") == ("", "mass of NaCl in brine")
    told = JUICE.replace("volume: 25.0 cm3", "volume: 25.0 cm3, portion: {}") + "concentration of C6H8O6"
    with pytest.raises(Mistake, match="a whole number of cm3"):
        work(told.replace("{}", "2.5 cm3"))
    with pytest.raises(Mistake, match="a strength told in two volumes"):
        work(told.replace("{}", "200 cm3, mass in 100 cm3: yes"))
