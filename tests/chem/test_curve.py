"""Titration curves, held to printed tables and to what the equation of the reaction says of the equivalence points."""

from __future__ import annotations

import json
import math
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from molewright.chem.curve import Titration
from molewright.chem.equilibrium import Solute, ph
from molewright.errors import Mistake
from shared.acids_and_bases import BOILED_OFF, steepest, strong_acid, strong_base

PUBLISHED = json.loads((Path(__file__).parents[1] / "reference" / "ph_curves.json").read_text("utf-8"))

# pKa at 25 °C: LibreTexts General Chemistry (Averill, Eldredge), tables E1 and E5
ETHANOIC = (4.756,)
AMMONIUM = (9.244,)
CARBONIC = (6.35, 10.33)
PHOSPHORIC = (2.16, 7.21, 12.32)
CITRIC = (3.13, 4.76, 6.40)
HYDROGENSULFATE = (1.99,)


def _published_titration(curve):
    acid = curve["acid_mol_dm3"]
    flask = strong_acid(acid) if curve["ka"] is None else Solute((-math.log10(curve["ka"]),), 1, acid)
    return Titration(flask=(flask,), flask_cm3=curve["flask_cm3"], titrant=(strong_base(curve["alkali_mol_dm3"]),))


def _as_printed(number, like):
    return str(Decimal(repr(number)).quantize(Decimal(like), ROUND_HALF_UP))


def _rows(key):
    return [
        pytest.param(curve, *(row if isinstance(row, list) else (row,)), id=f"{curve['name']}-{place}")
        for curve in PUBLISHED["curves"]
        for place, row in enumerate(curve.get(key, ()))
    ]


@pytest.mark.parametrize(("curve", "volume", "printed"), _rows("printed"))
def test_printed_ph_is_reached_in_every_figure(curve, volume, printed):
    assert _as_printed(_published_titration(curve).ph_at(float(volume)), printed) == printed


@pytest.mark.parametrize(("curve", "volume", "printed"), _rows("printed_hydrogen_ion_mol_dm3"))
def test_printed_hydrogen_ion_concentration_is_reached(curve, volume, printed):
    assert _as_printed(10 ** -_published_titration(curve).ph_at(float(volume)), printed) == printed


@pytest.mark.parametrize(("curve", "row"), _rows("wrong_in_print"))
def test_value_that_is_wrong_in_print_is_not_repeated(curve, row):
    found = _as_printed(_published_titration(curve).ph_at(float(row["volume_cm3"])), row["printed"])
    assert found == row["right"]
    assert found != row["printed"]


def test_published_tables_are_all_there():
    assert sum(len(curve["printed"]) for curve in PUBLISHED["curves"]) == 44
    assert sum(len(curve["wrong_in_print"]) for curve in PUBLISHED["curves"]) == 5


# ---------------------------------------------------------------- equivalence points

NAOH = (strong_base(0.1),)
HCL = (strong_acid(0.1),)
SODA = (Solute(CARBONIC, 0, 0.05, gas=True),)

# what is in 25.0 cm³, what is run in, and the volumes by the equation of each stage
STOICHIOMETRY = {
    "HCl with NaOH": ((strong_acid(0.08),), NAOH, (20.0,)),
    "HCl with Ba(OH)2": ((strong_acid(0.1),), (strong_base(0.05, 2),), (25.0,)),
    "CH3COOH with NaOH": ((Solute(ETHANOIC, 1, 0.1),), NAOH, (25.0,)),
    "NH3 with HCl": ((Solute(AMMONIUM, 0, 0.1),), HCL, (25.0,)),
    "HCl with NH3": ((strong_acid(0.1),), (Solute(AMMONIUM, 0, 0.1),), (25.0,)),
    "NH3 with CH3COOH": ((Solute(AMMONIUM, 0, 0.1),), (Solute(ETHANOIC, 1, 0.1),), (25.0,)),
    "Na2CO3 with HCl": (SODA, HCL, (12.5, 25.0)),
    "HCl with Na2CO3": ((strong_acid(0.1),), (Solute(CARBONIC, 0, 0.05, gas=True),), (25.0, 50.0)),
    "NaOH and Na2CO3 with HCl": ((strong_base(0.02), Solute(CARBONIC, 0, 0.04)), HCL, (5.0, 15.0, 25.0)),
    "Na2CO3 and NaHCO3 with HCl": ((Solute(CARBONIC, 0, 0.02), Solute(CARBONIC, 1, 0.04)), HCL, (5.0, 20.0)),
    "H3PO4 with NaOH": ((Solute(PHOSPHORIC, 3, 0.04),), NAOH, (10.0, 20.0, 30.0)),
    "NaH2PO4 with NaOH": ((Solute(PHOSPHORIC, 2, 0.04),), NAOH, (10.0, 20.0)),
    "citric acid with NaOH": ((Solute(CITRIC, 3, 0.04),), NAOH, (10.0, 20.0, 30.0)),
    "H2SO4 with NaOH": ((Solute(HYDROGENSULFATE, 2, 0.05),), NAOH, (12.5, 25.0)),
    "HCl left over beside NH4Cl with NaOH": ((strong_acid(0.06), Solute(AMMONIUM, 1, 0.04)), NAOH, (15.0, 25.0)),
    "NH3 and NH4Cl with NaOH": ((Solute(AMMONIUM, 0, 0.04), Solute(AMMONIUM, 1, 0.08)), NAOH, (20.0,)),
    "CH3COOH already half neutralised": ((Solute(ETHANOIC, 1, 0.08), strong_base(0.04)), NAOH, (10.0,)),
    "salt water": ((Solute((), 0, 0.1),), NAOH, ()),
}


@pytest.mark.parametrize(("flask", "titrant", "expected"), STOICHIOMETRY.values(), ids=STOICHIOMETRY)
def test_equivalence_volumes_are_those_of_the_equation(flask, titrant, expected):
    assert Titration(flask=flask, flask_cm3=25.0, titrant=titrant).equivalence_volumes() == pytest.approx(expected)


def test_water_in_the_flask_changes_no_equivalence_volume():
    dry = Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=NAOH)
    diluted = Titration(flask=(Solute(ETHANOIC, 1, 0.05),), flask_cm3=50.0, titrant=NAOH)
    assert diluted.equivalence_volumes() == pytest.approx(dry.equivalence_volumes())


def test_steep_part_of_strong_acid_with_strong_base_is_from_4_to_10():
    # 0.05 cm³ of 0.1 mol dm⁻³ too much or too little in 50 cm³ is 1 × 10⁻⁴ mol dm⁻³
    steep = steepest(Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH))
    assert (steep.low, steep.ph, steep.high) == pytest.approx((4.0, 7.0, 10.0), abs=0.002)
    assert steep.height == pytest.approx(6.0, abs=0.004)
    assert steep.low == steep.titration.ph_at(25.0 - 0.05)


def test_steep_part_is_the_same_whichever_solution_is_in_the_burette():
    up = steepest(Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH))
    down = steepest(Titration(flask=(strong_base(0.1),), flask_cm3=25.0, titrant=HCL))
    assert up.titration.rising
    assert not down.titration.rising
    assert (down.low, down.high) == pytest.approx((up.low, up.high), abs=0.001)


def test_steep_part_widens_with_what_is_asked_of_it():
    titration = Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=NAOH)
    narrow, wide = titration.steep(25.0), titration.steep(25.0, within_percent=0.5)
    assert wide.high == titration.ph_at(25.0 + 0.125)
    assert wide.low < narrow.low < narrow.ph < narrow.high < wide.high
    tenth = titration.steep(25.0, within_cm3=0.0, within_percent=0.1)
    # Henderson's equation 0.1 % before the equivalence point
    assert tenth.low == pytest.approx(4.756 + math.log10(999), abs=0.01)


def test_only_the_last_equivalence_point_of_citric_acid_is_steep():
    first, second, third = Titration(flask=(Solute(CITRIC, 3, 0.04),), flask_cm3=25.0, titrant=NAOH).steep_parts()
    assert max(first.height, second.height) < 0.1
    assert third.height > 1.0


def test_boric_acid_has_no_steep_part():
    # too weak (pKa 9.27) to be titrated directly: A. I. Vogel, Quantitative Inorganic Analysis, adds mannitol
    assert steepest(Titration(flask=(Solute((9.27,), 1, 0.1),), flask_cm3=25.0, titrant=NAOH)).height < 0.1


def test_flask_that_neutralises_nothing_has_no_steep_part():
    assert Titration(flask=(Solute((), 0, 0.1),), flask_cm3=25.0, titrant=NAOH).steep_parts() == ()


# ---------------------------------------------------------------- boiling


def test_boiling_makes_the_second_end_point_of_carbonate_steep():
    closed = Titration(flask=SODA, flask_cm3=25.0, titrant=HCL).steep(25.0)
    boiled = Titration(flask=SODA, flask_cm3=25.0, titrant=HCL, gas_left=BOILED_OFF).steep(25.0)
    assert closed.height < 0.5
    assert boiled.height > 3.0


def test_boiling_is_for_acid_run_in():
    with pytest.raises(Mistake, match="boiled as alkali"):
        Titration(flask=(strong_acid(0.1), *SODA), flask_cm3=25.0, titrant=NAOH, gas_left=BOILED_OFF)


# ---------------------------------------------------------------- volume and pH, both ways round

PKAS = st.lists(st.floats(0, 13), max_size=3).map(lambda pkas: tuple(sorted(pkas)))


@st.composite
def titrations(draw):
    pkas = draw(PKAS)
    flask = [Solute(pkas, draw(st.integers(0, len(pkas))), draw(st.floats(0.001, 2)))]
    flask.append(draw(st.sampled_from([strong_acid, strong_base]))(draw(st.floats(0.001, 2))))
    titrant = draw(st.sampled_from([strong_acid, strong_base]))(draw(st.floats(0.01, 2)))
    return Titration(flask=tuple(flask), flask_cm3=draw(st.floats(5, 100)), titrant=(titrant,))


@settings(max_examples=200)
@given(titrations(), st.floats(0.5, 60))
def test_volume_at_a_ph_gives_back_that_ph(titration, volume):
    assume(abs(titration.ph_at(0) - ph(titration.titrant)) > 1e-3)  # the same solution twice has no curve
    at_ph = titration.ph_at(volume)
    back = titration.volume_at(at_ph)
    assert titration.ph_at(back) == pytest.approx(at_ph, abs=1e-6)


@settings(max_examples=100)
@given(titrations())
def test_ph_moves_towards_that_of_the_titrant_all_the_way(titration):
    phs = titration.curve([0, 1, 5, 10, 20, 25, 30, 50]).phs
    assert list(phs) == sorted(phs, reverse=not titration.rising) or max(phs) - min(phs) < 1e-6


@settings(max_examples=100)
@given(st.floats(0.5, 40))
def test_volume_at_a_ph_holds_when_boiled(volume):
    titration = Titration(flask=SODA, flask_cm3=25.0, titrant=HCL, gas_left=BOILED_OFF)
    assert titration.volume_at(titration.ph_at(volume)) == pytest.approx(volume, abs=1e-4)


def test_ph_passed_before_the_start_or_never_has_no_volume():
    titration = Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=NAOH)
    assert titration.volume_at(2.0) == 0.0
    assert math.isinf(titration.volume_at(13.2))


def test_curve_begins_at_the_flask_and_ends_near_the_titrant():
    titration = Titration(flask=(Solute(ETHANOIC, 1, 0.1),), flask_cm3=25.0, titrant=NAOH)
    assert titration.ph_at(0) == pytest.approx(ph([Solute(ETHANOIC, 1, 0.1)]), abs=1e-9)
    assert titration.ph_at(1e7) == pytest.approx(ph(NAOH), abs=1e-4)


def test_curve_for_drawing_is_smooth_through_the_steep_part():
    titration = Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH)
    drawn = titration.drawn(50.0, 100)
    assert len(drawn.volumes_cm3) == len(drawn.phs) == pytest.approx(100, abs=1)
    assert (drawn.volumes_cm3[0], drawn.volumes_cm3[-1]) == pytest.approx((0.0, 50.0))
    assert list(drawn.volumes_cm3) == sorted(drawn.volumes_cm3)
    assert max(after - before for before, after in zip(drawn.phs, drawn.phs[1:], strict=False)) < 0.3
    for volume, at_ph in zip(drawn.volumes_cm3, drawn.phs, strict=True):
        assert titration.ph_at(volume) == pytest.approx(at_ph, abs=1e-4)


def test_curve_sorts_its_volumes():
    assert Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH).curve([30, 10, 20]).volumes_cm3 == (
        10,
        20,
        30,
    )


@pytest.mark.parametrize("volume", [-1.0, math.inf, math.nan])
def test_volume_that_no_burette_gives_is_refused(volume):
    with pytest.raises(Mistake, match="titrant"):
        Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH).ph_at(volume)


def test_empty_flask_and_empty_titrant_are_refused():
    with pytest.raises(Mistake, match="flask volume"):
        Titration(flask=(strong_acid(0.1),), flask_cm3=0.0, titrant=NAOH)
    with pytest.raises(Mistake, match="nothing in it"):
        Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=())


def test_too_few_points_to_draw_are_refused():
    with pytest.raises(Mistake, match="points"):
        Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH).drawn(50.0, 2)


@pytest.mark.parametrize("to_cm3", [0.0, -1.0, math.inf, math.nan])
def test_a_curve_that_leads_nowhere_is_not_drawn(to_cm3):
    with pytest.raises(Mistake, match="points up to"):
        Titration(flask=(strong_acid(0.1),), flask_cm3=25.0, titrant=NAOH).drawn(to_cm3)
