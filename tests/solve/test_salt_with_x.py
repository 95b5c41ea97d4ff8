"""The formula of a metal chloride is found from its mass and a titration: x of a known metal, or the metal where x is known."""

from __future__ import annotations

import pytest

from molewright.bank.readers.salt_with_x import salt_with_x
from molewright.errors import Mistake
from molewright.solve.described import named_element
from shared.described import Work

CHLORIDE = """
procedure:
  - weigh: {{sample: chloride, contains: {0}, mass: {1} g}}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {{with: AgNO3, concentration: 0.0500 mol dm-3, titre: {2} cm3{3}}}
asked: {4}
"""


@pytest.mark.parametrize(
    ("contains", "mass", "titre", "asked", "told"),
    [
        # 7.50 mmol of chloride, 0.2663 g; 0.1398 g of iron is 2.504 mmol: 2.995
        ("FeClx", "0.406", "15.00", "x", "3"),
        ("FeCl_x", "0.406", "15.00", "the value of x in FeClx", "3"),
        ("FeCln", "0.406", "15.00", "empirical formula of the chloride", "3"),
        ("MClx, atomic mass of M: 55.8", "0.406", "15.00", "x", "3"),
        # 10.0 mmol of chloride, 5.00 mmol of the salt, 111.0 g mol-1 without 71.0
        ("MCl2", "0.555", "20.00", "relative atomic mass of M", "40.0"),
        ("MClx, x: 2", "0.555", "20.00", "relative atomic mass of M", "40.0"),
        # 1 : 2 in 1.11 g of CaCl2: 10.0 mmol of it in all
        ("CaClx", "1.11", "40.00", "x", "2"),
    ],
)  # fmt: skip
def test_x_or_the_metal_of_a_chloride_is_found(
    contains: str, mass: str, titre: str, asked: str, told: str, work: Work
) -> None:
    _, worked = work(CHLORIDE.format(contains, mass, titre, ", indicator: potassium chromate", asked))
    assert worked.told == told


def test_the_metal_is_named(work: Work) -> None:
    found = named_element(*work(CHLORIDE.format("MClx, x: 2", "0.555", "20.00", "", "relative atomic mass of M")))
    assert found is not None
    assert found.name == "calcium"


def test_only_a_salt_of_two_elements_has_x() -> None:
    assert salt_with_x("TiCl_x") == ("Ti", "Cl")
    assert salt_with_x("MCln") == ("M", "Cl")
    assert [salt_with_x(one) for one in ("FeCl3", "Na2CO3.xH2O", "QClx", "Clx", "chlorine box")] == [None] * 5


def test_a_formula_of_something_else_is_told(work: Work) -> None:
    with pytest.raises(Mistake, match="no salt of two elements"):
        work(CHLORIDE.format("FeCl3, formula: FeClx", "0.406", "15.00", "", "x"))
