"""Conductivities against published ones: of standards for meters, and limiting molar conductivities of whole salts."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.conductance import conductivity
from shared.for_each import for_each

# Limiting molar conductivities of electrolytes at 25 °C in S cm² mol⁻¹: R. A. Robinson, R. H. Stokes, Electrolyte Solutions (1959),
# appendix 6.2, from memory.
WHOLE = {
    ("H+", "Cl-"): 426.2,
    ("K+", "Cl-"): 149.9,
    ("Na+", "Cl-"): 126.5,
    ("Na+", "OH-"): 248.1,
    ("Ag+", "NO3-"): 133.4,
    ("Na+", "CH3COO-"): 91.0,
}


def limiting(bank: Bank) -> dict[str, float]:
    return {one.formula: one.limiting for one in bank.ions.values() if one.limiting is not None}


@for_each("pair", WHOLE)
def test_ions_add_up_to_the_published_value_of_their_salt(pair: tuple[str, str], bank: Bank) -> None:
    total = sum(bank.ions[ion].limiting or 0.0 for ion in pair)
    assert total == pytest.approx(WHOLE[pair], rel=0.002)


def test_dilute_potassium_chloride_is_near_the_standard_for_conductivity_meters(bank: Bank) -> None:
    # 0.0100 mol dm⁻³ KCl at 25 °C: 1.41 mS cm⁻¹ (OIML R 56). Limiting values leave out that ions hold each other back:
    # they lie above, and by no more than a tenth.
    found = conductivity({"K+": 0.01, "Cl-": 0.01}, limiting(bank))
    assert found is not None
    assert 1.41 < found < 1.41 * 1.1


def test_pure_water_hardly_conducts(bank: Bank) -> None:
    # 0.055 µS cm⁻¹ at 25 °C (IAPWS G1, from memory)
    found = conductivity({"H+": 1e-7, "OH-": 1e-7}, limiting(bank))
    assert found == pytest.approx(0.055e-3, rel=0.02)


def test_molecules_do_not_conduct_and_an_unknown_ion_is_no_number(bank: Bank) -> None:
    assert bank.ions["NH3"].limiting == 0.0
    assert conductivity({"CH3COOH": 0.1}, limiting(bank)) == 0.0
    assert conductivity({"K+": 0.1, "MnO4-": 0.1}, limiting(bank)) is None
