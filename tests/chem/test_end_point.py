"""Which indicator fits which titration, held to what textbooks teach."""

from __future__ import annotations

import math

import pytest

from molewright.chem.curve import Titration
from molewright.chem.end_point import end_point_volume, fits, titration_error_percent
from molewright.chem.equilibrium import Solute
from molewright.errors import Mistake
from shared.acids_and_bases import steepest, strong_acid, strong_base
from shared.for_each import for_each

# Ranges as OpenStax, Chemistry 2e, 14.7 and common chemistry tables print them
METHYL_ORANGE = (3.1, 4.4)
BROMOPHENOL_BLUE = (3.0, 4.6)
METHYL_RED = (4.4, 6.2)
LITMUS = (4.5, 8.3)
BROMOTHYMOL_BLUE = (6.0, 7.6)
PHENOLPHTHALEIN = (8.2, 10.0)
THYMOLPHTHALEIN = (9.3, 10.5)

ETHANOIC = (4.756,)
AMMONIUM = (9.244,)
CARBONIC = (6.35, 10.33)
PHOSPHORIC = (2.16, 7.21, 12.32)
ETHANEDIOIC = (1.27, 4.26)

NAOH = (strong_base(0.1),)
HCL = (strong_acid(0.1),)
STRONG = steepest(Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH))
WEAK_ACID = steepest(Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=NAOH))
WEAK_BASE = steepest(Titration(flask=(Solute(AMMONIUM, 0, 0.1),), flask_cm3=25.0, titrant=HCL))
BOTH_WEAK = steepest(Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=(Solute(AMMONIUM, 0, 0.1),)))
SODA = Titration(flask=(Solute(CARBONIC, 0, 0.05, gas=True),), flask_cm3=25.0, titrant=HCL)


@pytest.mark.parametrize("indicator", [METHYL_ORANGE, LITMUS, PHENOLPHTHALEIN])
def test_any_of_three_indicators_fits_a_strong_acid_with_a_strong_base(indicator):
    # OpenStax, Chemistry 2e, 14.7, figure of the three indicators: all three serve for the strong acid
    assert fits(*indicator, STRONG)


@pytest.mark.parametrize(("indicator", "expected"), [(METHYL_ORANGE, False), (LITMUS, False), (PHENOLPHTHALEIN, True)])
def test_only_phenolphthalein_fits_a_weak_acid_with_a_strong_base(indicator, expected):
    # the same figure: only phenolphthalein serves for ethanoic acid
    assert fits(*indicator, WEAK_ACID).fits is expected


def test_methyl_orange_has_changed_after_8_cm3_of_the_weak_acid_titration():
    # OpenStax, Chemistry 2e, 14.7: the change ends when about 8 mL has been added
    verdict = fits(*METHYL_ORANGE, WEAK_ACID)
    assert verdict.finishes_cm3 == pytest.approx(8, abs=0.5)
    assert verdict.error_percent < -80
    assert "before the equivalence point at 25.00 cm³" in verdict.reason


@pytest.mark.parametrize(
    ("indicator", "expected"),
    [(METHYL_ORANGE, True), (BROMOPHENOL_BLUE, True), (METHYL_RED, True), (LITMUS, False), (PHENOLPHTHALEIN, False)],
)
def test_weak_base_with_strong_acid_needs_an_indicator_of_the_acid_range(indicator, expected):
    assert fits(*indicator, WEAK_BASE).fits is expected


@for_each(
    "indicator",
    [METHYL_ORANGE, BROMOPHENOL_BLUE, METHYL_RED, LITMUS, BROMOTHYMOL_BLUE, PHENOLPHTHALEIN, THYMOLPHTHALEIN],
)
def test_no_indicator_fits_a_weak_acid_with_a_weak_base(indicator):
    assert not fits(*indicator, BOTH_WEAK)


def test_methyl_orange_fits_the_second_end_point_of_sodium_carbonate_and_phenolphthalein_does_not():
    assert fits(*METHYL_ORANGE, SODA.steep(25.0))
    assert not fits(*PHENOLPHTHALEIN, SODA.steep(25.0))


def test_phenolphthalein_stopped_when_colourless_is_at_the_first_end_point_of_sodium_carbonate_but_not_sharp():
    verdict = fits(*PHENOLPHTHALEIN, SODA.steep(12.5), stop_ph=8.3)
    assert verdict.error_percent == pytest.approx(0, abs=0.5)
    assert not verdict
    assert "no sharp end point" in verdict.reason
    assert fits(*PHENOLPHTHALEIN, SODA.steep(12.5), stop_ph=8.3, spread_percent=math.inf)


def test_phosphoric_acid_is_titrated_to_its_second_stage_with_thymolphthalein():
    # I. M. Kolthoff and others, Quantitative Chemical Analysis: phenolphthalein changes too soon there
    second = Titration(flask=(Solute(PHOSPHORIC, 3, 0.1),), flask_cm3=25.0, titrant=NAOH).steep(50.0)
    assert fits(*THYMOLPHTHALEIN, second)
    phenolphthalein = fits(*PHENOLPHTHALEIN, second)
    assert not phenolphthalein
    assert phenolphthalein.error_percent < 0


def test_ethanedioic_acid_is_titrated_with_phenolphthalein():
    steep = steepest(Titration(flask=(Solute(ETHANEDIOIC, 2, 0.05),), flask_cm3=25.0, titrant=NAOH))
    assert steep.equivalence_cm3 == pytest.approx(25.0)
    assert fits(*PHENOLPHTHALEIN, steep)
    assert not fits(*METHYL_ORANGE, steep)


def test_acid_left_beside_ammonium_chloride_needs_methyl_orange_or_red():
    steep = Titration(flask=(strong_acid(0.1), Solute(AMMONIUM, 1, 0.1)), flask_cm3=25.0, titrant=NAOH).steep(25.0)
    assert fits(*METHYL_ORANGE, steep)
    assert fits(*METHYL_RED, steep)
    assert not fits(*PHENOLPHTHALEIN, steep)


def test_colour_that_drifts_after_a_sharp_start_does_not_fit_unless_told_where_to_stop():
    # litmus turns purple at once, but blue only as ammonium ions give way
    steep = Titration(flask=(strong_acid(0.1), Solute(AMMONIUM, 1, 0.1)), flask_cm3=25.0, titrant=NAOH).steep(25.0)
    drifting = fits(*LITMUS, steep)
    assert abs(drifting.error_percent) < 0.5
    assert not drifting
    assert fits(*LITMUS, steep, stop_ph=6.4)


def test_change_wholly_inside_the_steep_part_is_said_to_be():
    verdict = fits(*METHYL_RED, STRONG)
    assert verdict
    assert verdict.reason == "the whole change, pH 4.4 to 6.2, lies inside the steep part, pH 4.0 to 10.0"


def test_error_is_that_of_the_hydrogen_ions_left_over():
    # at pH 3.75, 1.78 × 10⁻⁴ mol dm⁻³ × (25.0 + V) cm³ of acid is left: V = 25 (0.1 − h)/(0.1 + h)
    hydrogen = 10**-3.75
    volume = 25.0 * (0.1 - hydrogen) / (0.1 + hydrogen)
    assert end_point_volume(*METHYL_ORANGE, STRONG) == pytest.approx(volume, abs=1e-6)
    assert fits(*METHYL_ORANGE, STRONG).error_percent == pytest.approx(100 * (volume / 25.0 - 1), abs=1e-5)
    assert titration_error_percent(25.5, STRONG) == pytest.approx(2.0)


def test_tolerance_decides():
    assert fits(*METHYL_ORANGE, STRONG, tolerance_percent=0.4)
    assert not fits(*METHYL_ORANGE, STRONG, tolerance_percent=0.3)
    assert not fits(*METHYL_ORANGE, STRONG, spread_percent=1.0)


def test_methyl_orange_at_sulfuric_acid_fits_where_the_first_orange_is_the_end_point():
    soda_with_sulfuric = Titration(
        flask=(Solute(CARBONIC, 0, 0.05),), flask_cm3=25.0, titrant=(Solute((1.99,), 2, 0.05),)
    ).steep(25.0)
    assert not fits(*METHYL_ORANGE, soda_with_sulfuric)  # hydrogensulfate takes a hundredth of the protons at pH 3.75
    assert fits(*METHYL_ORANGE, soda_with_sulfuric, stop_ph=4.2)


def test_indicator_that_has_changed_before_the_start_is_said_to_have():
    boric = steepest(Titration(flask=(Solute((9.27,), 1, 0.1),), flask_cm3=25.0, titrant=NAOH))
    verdict = fits(*METHYL_ORANGE, boric)
    assert not verdict
    assert verdict.reason.endswith("is over before any titrant is added")


def test_indicator_that_never_changes_is_said_not_to():
    pyridine = (Solute((5.2,), 0, 0.1),)  # its solution is at pH 9.1
    verdict = fits(*THYMOLPHTHALEIN, steepest(Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=pyridine)))
    assert not verdict
    assert math.isinf(verdict.end_point_cm3)
    assert "never" in verdict.reason


def test_range_the_wrong_way_round_is_refused():
    with pytest.raises(Mistake, match="lower pH first"):
        fits(10.0, 8.2, STRONG)


def test_stopping_far_from_the_range_is_refused():
    with pytest.raises(Mistake, match="stopping at pH 7"):
        fits(*METHYL_ORANGE, STRONG, stop_ph=7.0)
