"""Temperatures in an insulated cup, against figures that school books print and against energy counted by hand."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.heat import CAPACITY_J_PER_CM3_K, Cup
from molewright.errors import Mistake

# Standard enthalpies of formation in kJ mol⁻¹ at 25 °C: D. D. Wagman et al., J. Phys. Chem. Ref. Data 11 (1982)
# Supplement 2, from memory.
FORMED = {"OH-": -229.99, "H2O": -285.83, "CH3COOH": -485.76, "CH3COO-": -486.01, "NH3": -80.29, "NH4+": -132.51}


def test_equal_volumes_of_molar_acid_and_alkali_warm_by_nearly_seven_kelvin() -> None:
    # 25 cm³ of 1.00 mol dm⁻³ HCl with 25 cm³ of 1.00 mol dm⁻³ NaOH, 57 kJ mol⁻¹: about 6.8 K (common in school books).
    cup = Cup(25.0, 20.0, 25.0, 0.025 * 57.0)
    assert cup.at(25.0) - 20.0 == pytest.approx(6.8, abs=0.05)


def test_the_heats_follow_from_published_enthalpies_of_formation(bank: Bank) -> None:
    water = FORMED["OH-"] - FORMED["H2O"]  # given out by H+ + OH- -> H2O
    assert water == pytest.approx(55.84, abs=0.05)
    strong = bank.ions["H+"].heat
    assert strong is not None
    assert water < strong < water + 2  # more at the strengths of a school experiment
    acetic = FORMED["CH3COOH"] + FORMED["OH-"] - FORMED["CH3COO-"] - FORMED["H2O"]
    assert bank.acids["ethanoic acid"].heat == pytest.approx(acetic, abs=0.1)
    assert bank.acids["ammonium ion"].heat == pytest.approx(FORMED["NH3"] - FORMED["NH4+"], abs=0.1)


def test_corrected_rises_lie_on_two_straight_lines_that_meet_at_the_end_point() -> None:
    cup = Cup(50.0, 18.0, 16.0, 0.032 * 57.0)
    rises = {added: cup.corrected(cup.at(added), added) for added in (0.0, 4.0, 8.0, 16.0, 20.0, 30.0)}
    assert rises[0.0] == 0
    assert rises[8.0] == pytest.approx(2 * rises[4.0])
    assert rises[16.0] == pytest.approx(4 * rises[4.0])
    assert [rises[added] for added in (16.0, 20.0, 30.0)] == pytest.approx([cup.whole_rise_c] * 3)
    assert cup.whole_rise_c == pytest.approx(1824 / (50 * CAPACITY_J_PER_CM3_K))  # all the heat in the first 50 cm³


def test_the_thermometer_itself_falls_after_the_end_point() -> None:
    cup = Cup(50.0, 18.0, 16.0, 0.032 * 57.0)
    assert cup.at(16.0) > cup.at(15.0)
    assert cup.at(16.0) > cup.at(17.0) > cup.at(30.0)


def test_no_heat_is_lost_or_made_after_the_end_point() -> None:
    cup = Cup(50.0, 18.0, 16.0, 1.824)
    for added in (16.0, 20.0, 50.0):
        joules = (cup.at(added) - 18.0) * (50.0 + added) * CAPACITY_J_PER_CM3_K
        assert joules == pytest.approx(1824)


def test_an_empty_cup_is_a_mistake() -> None:
    with pytest.raises(Mistake):
        Cup(0.0, 20.0, 10.0, 1.0)
