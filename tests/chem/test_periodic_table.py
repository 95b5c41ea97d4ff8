"""Where the elements stand, against groups and periods as IUPAC's table of 2022 has them."""

from __future__ import annotations

from molewright.chem.formula import ELEMENTS
from molewright.chem.masses import has_mass
from molewright.chem.periodic_table import ElementPlace, element_places
from shared.for_each import for_each

PLACES = dict(element_places())
GROUPS = {
    1: "H Li Na K Rb Cs Fr",
    2: "Be Mg Ca Sr Ba Ra",
    3: "Sc Y",
    4: "Ti Zr Hf Rf",
    8: "Fe Ru Os Hs",
    11: "Cu Ag Au Rg",
    12: "Zn Cd Hg Cn",
    13: "B Al Ga In Tl Nh",
    17: "F Cl Br I At Ts",
    18: "He Ne Ar Kr Xe Rn Og",
}


def test_every_element_stands_somewhere_and_no_two_in_one_place() -> None:
    assert tuple(PLACES) == ELEMENTS
    assert len(set(PLACES.values())) == len(ELEMENTS)


@for_each("group", GROUPS)
def test_a_group_holds_its_elements(group: int) -> None:
    held = [symbol for symbol, place in PLACES.items() if place.group == group and not place.series]
    assert held == GROUPS[group].split()


def test_the_series_are_fifteen_each() -> None:
    for period, first, last in ((6, "La", "Lu"), (7, "Ac", "Lr")):
        held = [symbol for symbol, place in PLACES.items() if place.series and place.period == period]
        assert (held[0], held[-1], len(held)) == (first, last, 15)
    assert PLACES["Hf"] == ElementPlace(6, 4)
    assert PLACES["U"] == ElementPlace(7, 6, series=True)


def test_periods_end_with_a_noble_gas() -> None:
    assert [PLACES[symbol].period for symbol in GROUPS[18].split()] == [1, 2, 3, 4, 5, 6, 7]


def test_what_has_no_standard_mass_is_told_apart() -> None:
    assert has_mass("Fe")
    assert not has_mass("Tc")
