"""The pH of mixtures, held to closed forms, to published tables and to the laws that any right answer obeys."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.chem.equilibrium import Solute, bracketed_root, dissolved, fractions, ph
from molewright.errors import Mistake
from shared.acids_and_bases import BOILED_OFF, net_charge, strong_acid, strong_base
from shared.for_each import for_each

# pKa at 25 °C: LibreTexts General Chemistry (Averill, Eldredge), tables E1 and E5
ETHANOIC = (4.756,)
AMMONIUM = (9.244,)
CARBONIC = (6.35, 10.33)
PHOSPHORIC = (2.16, 7.21, 12.32)
HYDROGENSULFATE = (1.99,)

# OpenStax Chemistry 2e, appendix E (m68863): pKw by temperature in °C
PKW_BY_TEMPERATURE = {0: 14.95, 10: 14.54, 20: 14.17, 25: 14.0, 30: 13.84, 40: 13.55, 60: 13.03, 100: 12.25}


# ---------------------------------------------------------------- closed forms


@for_each(("temperature", "pkw"), PKW_BY_TEMPERATURE.items())
def test_pure_water_is_at_half_pkw(temperature, pkw):
    assert ph([], pkw=pkw) == pytest.approx(pkw / 2, abs=1e-9)


@for_each("concentration", [1e-10, 1e-8, 1e-7, 1e-6, 1e-3, 0.1, 1.0, 10.0])
def test_strong_acid_follows_the_quadratic(concentration):
    hydrogen = (concentration + math.sqrt(concentration**2 + 4e-14)) / 2
    assert ph([strong_acid(concentration)]) == pytest.approx(-math.log10(hydrogen), abs=1e-8)
    assert ph([strong_base(concentration)]) == pytest.approx(14 + math.log10(hydrogen), abs=1e-8)


def test_barium_hydroxide_gives_two_hydroxide_ions():
    assert ph([strong_base(0.05, 2)]) == pytest.approx(13.0, abs=1e-6)


def test_weak_acid_with_strong_base_is_a_root_of_the_cubic():
    # H³ + (K + b)H² + (K(b − c) − Kw)H − K Kw = 0, solved by another library in forty figures
    mpmath = pytest.importorskip("mpmath")
    with mpmath.workdps(40):
        for pka in (2.0, 4.756, 9.244):
            for c, b in ((0.1, 0.0), (0.1, 0.05), (0.1, 0.0999), (0.1, 0.1), (0.1, 0.15), (1e-4, 5e-5), (2.0, 1.0)):
                constant, water = mpmath.mpf(10) ** -mpmath.mpf(pka), mpmath.mpf(10) ** -14
                roots = mpmath.polyroots(
                    [1, constant + b, constant * (mpmath.mpf(b) - c) - water, -constant * water],
                    maxsteps=500,
                    extraprec=200,
                )
                positive = [mpmath.re(root) for root in roots if mpmath.re(root) > 0]
                assert len(positive) == 1
                expected = float(-mpmath.log10(positive[0]))
                assert ph([Solute((pka,), 1, c), strong_base(b)]) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("pkas", [ETHANOIC, AMMONIUM])
def test_half_neutralised_weak_acid_is_at_its_pka(pkas):
    assert ph([Solute(pkas, 1, 0.1), strong_base(0.05)]) == pytest.approx(pkas[0], abs=0.02)


@pytest.mark.parametrize(
    ("name", "pkas", "protons"),
    [("sodium hydrogencarbonate", CARBONIC, 1), ("disodium hydrogenphosphate", PHOSPHORIC, 1)],
)
def test_amphiprotic_salt_is_at_the_mean_of_its_pka_values(name, pkas, protons):
    between = (pkas[-protons] + pkas[-protons - 1]) / 2
    assert ph([Solute(pkas, protons, 0.5)]) == pytest.approx(between, abs=0.03)


def test_ammonium_ethanoate_is_half_way_between_its_two_pka_values():
    mixture = [Solute(AMMONIUM, 1, 0.1), Solute(ETHANOIC, 0, 0.1)]
    assert ph(mixture) == pytest.approx((4.756 + 9.244) / 2, abs=0.001)


def test_sulfuric_acid_gives_its_first_proton_wholly_and_its_second_in_part():
    # x² + (c + K)x − cK = 0 for the second stage: 0.0085 mol dm⁻³ more than the first gives at 0.1 mol dm⁻³
    c, constant = 0.1, 10**-1.99
    second = (-(c + constant) + math.sqrt((c + constant) ** 2 + 4 * c * constant)) / 2
    assert ph([Solute(HYDROGENSULFATE, 2, c)]) == pytest.approx(-math.log10(c + second), abs=1e-6)


def test_salt_of_strong_acid_and_strong_base_leaves_water_neutral():
    assert ph([strong_acid(0.1), strong_base(0.1)]) == pytest.approx(7.0, abs=1e-6)
    assert ph([Solute((), 0, 3.0)]) == pytest.approx(7.0, abs=1e-9)


def test_amount_in_a_volume_is_a_concentration():
    assert dissolved(ETHANOIC, 1, 0.0025, 25.0) == Solute(ETHANOIC, 1, 0.1)


# ---------------------------------------------------------------- carbon dioxide


def test_water_with_the_carbon_dioxide_of_air_is_at_5_6():
    # J. H. Seinfeld, S. N. Pandis, Atmospheric Chemistry and Physics, 2nd ed., ch. 7: pure rain water in air, pH 5.6
    assert ph([Solute(CARBONIC, 2, BOILED_OFF, gas=True)]) == pytest.approx(5.6, abs=0.05)


def test_boiling_moves_a_carbonate_neutralised_to_the_end_point_from_4_to_near_6():
    neutralised = [Solute(CARBONIC, 0, 0.025, gas=True), strong_acid(0.05)]
    assert ph(neutralised) == pytest.approx(4.0, abs=0.1)
    boiled = ph(neutralised, gas_left=BOILED_OFF)
    assert boiled == pytest.approx(5.6, abs=0.1)
    soda_water = [Solute(CARBONIC, 2, 0.03, gas=True)]  # boiled, it holds as much; the sodium chloride changes nothing
    assert ph(soda_water, gas_left=BOILED_OFF) == pytest.approx(boiled, abs=1e-6)


def test_boiling_hydrogencarbonate_turns_it_towards_carbonate():
    hydrogencarbonate = [Solute(CARBONIC, 1, 0.1, gas=True)]
    boiled = ph(hydrogencarbonate, gas_left=BOILED_OFF)
    assert 9.5 < boiled < ph([Solute(CARBONIC, 0, 0.05, gas=True)])


def test_boiling_takes_nothing_where_there_is_no_gas_to_take():
    for mixture in ([Solute(CARBONIC, 0, 0.1, gas=True)], [Solute(ETHANOIC, 1, 0.1)], [strong_acid(0.1)]):
        assert ph(mixture, gas_left=BOILED_OFF) == ph(mixture)


def test_each_of_two_gases_is_boiled_off():
    sulfurous = (1.85, 7.2)
    both = [Solute(CARBONIC, 0, 0.05, gas=True), Solute(sulfurous, 0, 0.05, gas=True), strong_acid(0.2)]
    # what is left of either acid gives up one proton: [H⁺]² = left × (K1 + K1')
    expected = -math.log10(BOILED_OFF * (10**-6.35 + 10**-1.85)) / 2
    assert ph(both) < 2.0
    assert ph(both, gas_left=BOILED_OFF) == pytest.approx(expected, abs=0.001)


# ---------------------------------------------------------------- laws


PKAS = st.lists(st.floats(-2, 16), max_size=4).map(lambda pkas: tuple(sorted(pkas)))
CONCENTRATIONS = st.one_of(st.just(0.0), st.floats(1e-9, 10), st.floats(-9, 1).map(lambda power: 10**power))


@st.composite
def solutes(draw):
    pkas = draw(PKAS)
    return Solute(pkas, draw(st.integers(-2, len(pkas) + 2)), draw(CONCENTRATIONS))


MIXTURES = st.lists(solutes(), max_size=4)


def _turnover(mixture, at_ph):
    """The charge that 1e-8 of a pH unit moves, with what floats lose in sums of the size of the concentrations."""
    slope = abs(net_charge(mixture, at_ph - 1e-8) - net_charge(mixture, at_ph + 1e-8))
    return slope + 1e-13 * (1 + sum(solute.concentration for solute in mixture))


@given(MIXTURES)
def test_no_charge_is_left_over(mixture):
    found = ph(mixture)
    assert abs(net_charge(mixture, found)) <= _turnover(mixture, found)


@given(MIXTURES, st.floats(1e-6, 1))
def test_more_alkali_never_lowers_the_ph(mixture, alkali):
    assert ph([*mixture, strong_base(alkali)]) >= ph(mixture) - 1e-7


@given(MIXTURES)
def test_acids_and_bases_mirror_each_other(mixture):
    mirrored = [
        Solute(tuple(14.0 - pka for pka in reversed(one.pkas)), one.stages - one.protons, one.concentration)
        for one in mixture
    ]
    assert all(-2 <= one.protons <= one.stages + 2 for one in mirrored)
    found, mirror = ph(mixture), ph(mirrored)
    slack = 1e-6
    if abs(found + mirror - 14.0) > slack:  # a pH that floats cannot fix: both must be as good
        assert abs(net_charge(mixture, 14.0 - mirror)) <= _turnover(mixture, 14.0 - mirror) + 1e-12


@given(MIXTURES, st.randoms(use_true_random=False))
def test_order_of_the_solutes_does_not_matter(mixture, shuffler):
    shuffled = list(mixture)
    shuffler.shuffle(shuffled)
    assert ph(shuffled) == pytest.approx(ph(mixture), abs=1e-6)


@given(PKAS, st.floats(-1, 15))
def test_fractions_of_a_family_add_up_to_one(pkas, at_ph):
    parts = fractions(pkas, at_ph)
    assert len(parts) == len(pkas) + 1
    assert sum(parts) == pytest.approx(1.0)


def test_at_its_pka_half_of_a_family_holds_the_proton():
    assert fractions(ETHANOIC, 4.756) == pytest.approx((0.5, 0.5))
    without, one, two = fractions(CARBONIC, 8.34)
    assert one > 0.97
    assert without == pytest.approx(two, rel=0.01)


def test_root_finder_reaches_an_exact_root_and_the_ends():
    assert bracketed_root(lambda x: 2.0 - x, 0.0, 16.0) == 2.0
    assert bracketed_root(lambda x: math.cos(x), 0.0, 3.0) == pytest.approx(math.pi / 2, abs=1e-8)
    assert bracketed_root(lambda x: -1.0 - x, 0.0, 1.0) == 0.0
    assert bracketed_root(lambda x: 3.0 - x, 0.0, 1.0) == 1.0


# ---------------------------------------------------------------- refusals


@pytest.mark.parametrize("concentration", [-0.1, 25.0, math.inf, math.nan])
def test_concentration_that_no_bench_has_is_refused(concentration):
    with pytest.raises(Mistake, match="concentration"):
        Solute(ETHANOIC, 1, concentration)


def test_pka_values_out_of_order_are_refused():
    with pytest.raises(Mistake, match="out of order"):
        Solute((10.33, 6.35), 2, 0.1)


@pytest.mark.parametrize("pkas", [(math.nan,), (99.0,), (1.0,) * 9])
def test_pka_values_that_no_acid_has_are_refused(pkas):
    with pytest.raises(Mistake, match="pKa values"):
        Solute(pkas, 0, 0.1)


def test_more_protons_than_any_formula_brings_are_refused():
    with pytest.raises(Mistake, match="protons"):
        Solute((4.756,), 12, 0.1)


def test_gas_without_an_acid_is_refused():
    with pytest.raises(Mistake, match="gas"):
        Solute((), 0, 0.1, gas=True)


def test_water_constant_outside_liquid_water_is_refused():
    with pytest.raises(Mistake, match="pKw"):
        ph([], pkw=1e-14)


def test_nothing_left_of_a_gas_is_refused():
    with pytest.raises(Mistake, match="gas left"):
        ph([Solute(CARBONIC, 2, 0.1, gas=True)], gas_left=0.0)


def test_no_volume_for_an_amount_is_refused():
    with pytest.raises(Mistake, match="volume"):
        dissolved(ETHANOIC, 1, 0.1, 0.0)
