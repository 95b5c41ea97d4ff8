"""What precipitates and what dissolves, held to tables of onset pH, of solubility products and of solubilities."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.chem.solubility import (
    SparingSolid,
    highest_concentration,
    ionic_product,
    onset_ph,
    precipitates_before,
)
from molewright.errors import Mistake
from shared.for_each import for_each


def solid(name, ksp, cations, anions):
    return SparingSolid(name, cations, anions, -math.log10(ksp))


# Ksp: OpenStax, Chemistry 2e, appendix J (m68868); Zn(OH)2 from the CRC Handbook, from memory.
# Onset pH at 0.01 mol dm⁻³: a hydroxide precipitation table of analytical teaching. The two disagree in the Ksp used.
HYDROXIDES = {
    "Fe(OH)3": (solid("Fe(OH)3", 4e-38, 1, 3), 2.3),
    "Al(OH)3": (solid("Al(OH)3", 2e-32, 1, 3), 4.0),
    "Zn(OH)2": (solid("Zn(OH)2", 3e-17, 1, 2), 6.4),
    "Pb(OH)2": (solid("Pb(OH)2", 1.2e-15, 1, 2), 7.2),
    "Fe(OH)2": (solid("Fe(OH)2", 1.8e-15, 1, 2), 7.5),
    "Mn(OH)2": (solid("Mn(OH)2", 2e-13, 1, 2), 8.8),
}
MAGNESIUM = solid("Mg(OH)2", 8.9e-12, 1, 2)


@pytest.mark.parametrize(("hydroxide", "published"), HYDROXIDES.values(), ids=HYDROXIDES)
def test_onset_ph_is_the_published_one_within_what_tables_disagree(hydroxide, published):
    assert onset_ph(hydroxide, 0.01) == pytest.approx(published, abs=0.6)


def test_onset_of_magnesium_is_published_for_a_fresh_precipitate():
    # The same table gives 10.4, which is that of a fresh precipitate (Ksp about 6 × 10⁻¹⁰); every table of aged solids
    # (5.6e-12 to 1.8e-11) gives 9.4 to 9.7. So the 0.6 of the others does not hold here.
    assert onset_ph(MAGNESIUM, 0.01) == pytest.approx(9.47, abs=0.01)
    assert onset_ph(solid("Mg(OH)2, fresh", 6e-10, 1, 2), 0.01) == pytest.approx(10.4, abs=0.05)
    assert not precipitates_before(MAGNESIUM, 0.01, 9.4)
    assert precipitates_before(MAGNESIUM, 0.01, 10.4)


def test_onsets_come_in_the_published_order():
    found = [onset_ph(hydroxide, 0.01) for hydroxide, _ in HYDROXIDES.values()]
    assert found == sorted(found)


def test_zinc_precipitates_before_phenolphthalein_changes_and_after_methyl_orange():
    zinc = HYDROXIDES["Zn(OH)2"][0]
    assert precipitates_before(zinc, 0.01, 8.2)
    assert not precipitates_before(zinc, 0.01, 4.4)
    assert precipitates_before(zinc, 0.01, 6.4, margin=0.5)
    assert not precipitates_before(zinc, 0.01, 6.4)


def test_metal_that_is_not_there_never_precipitates():
    assert not precipitates_before(MAGNESIUM, 0.0, 14.0)
    with pytest.raises(Mistake, match="metal ion"):
        onset_ph(MAGNESIUM, 0.0)


@given(st.floats(1e-6, 1), st.sampled_from([hydroxide for hydroxide, _ in HYDROXIDES.values()]))
def test_at_the_onset_the_ionic_product_is_the_solubility_product(concentration, hydroxide):
    hydroxide_ions = 10 ** (onset_ph(hydroxide, concentration) - 14)
    product = ionic_product((hydroxide.cations, hydroxide.anions), (concentration, hydroxide_ions))
    assert -math.log10(product) == pytest.approx(hydroxide.pksp, abs=1e-6)


def test_barium_sulfate_precipitates_and_calcium_sulfate_of_the_same_strength_does_not():
    # Ksp 1.1e-10 and 9.1e-6: University of Wisconsin-Madison, Chemistry 109, appendix
    assert ionic_product((1, 1), (0.001, 0.001)) > 1.1e-10
    assert ionic_product((1, 1), (0.001, 0.001)) < 9.1e-6


def test_silver_chromate_waits_until_chloride_is_gone():
    # Mohr's titration: 0.005 mol dm⁻³ chromate needs 1.5e-5 mol dm⁻³ silver, near the equivalence point of AgCl
    # (1.3e-5, from Ksp 1.6e-10); Ksp of Ag2CrO4 1.1e-12, CRC Handbook, from memory
    assert ionic_product((2, 1), (1.3e-5, 0.005)) < 1.1e-12
    assert ionic_product((2, 1), (1.6e-5, 0.005)) > 1.1e-12


def test_limewater_is_about_a_fiftieth_molar():
    # 0.165 g in 100 g of water at 20 °C (a published solubility table), Mr 74.1: student limewater is 0.020 to 0.023
    assert highest_concentration(0.165, 74.1) == pytest.approx(0.0222, abs=0.0003)


@for_each(
    ("call", "told"),
    [
        (lambda: SparingSolid("Mg(OH)2", 0, 2, 11.05), "cations"),
        (lambda: SparingSolid("Mg(OH)2", 1, 2, math.nan), "pKsp"),
        (lambda: ionic_product((1, 1), (1.0,)), "for each"),
        (lambda: ionic_product((1, 0), (1.0, 1.0)), "counts"),
        (lambda: ionic_product((1, 1), (1.0, -1.0)), "concentrations"),
        (lambda: highest_concentration(36.0, 0.0), "above 0"),
    ],
)
def test_nonsense_is_refused_in_words(call, told):
    with pytest.raises(Mistake, match=told):
        call()


def test_saturated_brine_is_counted_in_its_own_volume_and_not_in_that_of_its_water():
    # sodium chloride: 36.0 g in 100 g of water, density 1.20 g cm⁻³ at 20 °C, M 58.44: 5.4 mol dm⁻³ (handbooks of chemistry, from
    # memory); counted by the dm³ of water it would be above 6
    assert highest_concentration(36.0, 58.44, density=1.20) == pytest.approx(5.43, abs=0.02)
    assert highest_concentration(36.0, 58.44) < 36.0 / 58.44 * 10
