"""How a number may be written in an entry: one, a list, a range, 'fit', 'of the material'."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.bank.definitions import Bank, Choice
from molewright.bank.readers.choices import read_choice
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake
from molewright.reading.yaml_text import parse_tree
from shared.for_each import for_each


def choice(text: str, unit: str) -> Choice:
    return read_choice(parse_tree(text, "page.yaml"), parse_unit(unit))


def test_one_quantity_is_a_choice_of_one() -> None:
    assert choice("25.0 cm3", "cm³").options == (Quantity(Decimal("25.0"), Unit.CM3),)


def test_a_list_keeps_its_figures_and_order() -> None:
    assert [str(q.number) for q in choice("[25.0 cm3, 20.0 cm3]", "cm³").options] == ["25.0", "20.0"]


def test_a_range_has_a_step() -> None:
    found = choice("fit 0.800 to 1.700 g by 0.001", "g")
    assert (found.low, found.high, found.step, found.unit) == (
        Decimal("0.800"),
        Decimal("1.700"),
        Decimal("0.001"),
        Unit.G,
    )
    assert found.fit
    assert not choice("0.800 to 1.700 g by 0.001", "g").fit


def test_the_step_that_is_not_written_is_the_last_place_of_the_lower_end() -> None:
    assert choice("80.0 to 95.0 %", "%").step == Decimal("0.1")
    assert choice("2 to 4", "").step == 1


def test_a_concentration_is_printed_with_three_figures() -> None:
    # common practice of school bottles: 0.0985, 0.105, 1.20
    found = choice("0.0850 to 1.25 mol dm-3 by 0.0005", "mol dm⁻³")
    assert [str(found.written(Fraction(exact)).number) for exact in ("0.0985", "0.105", "1.2")] == [
        "0.0985",
        "0.105",
        "1.20",
    ]


@given(st.integers(800, 1700))
def test_a_mass_is_printed_to_the_places_of_its_step(milligrams: int) -> None:
    written = choice("0.800 to 1.700 g by 0.001", "g").written(Fraction(milligrams, 1000))
    assert written.exact == Fraction(milligrams, 1000)
    assert written.places == 3


def test_the_range_of_the_material_is_taken(small_bank: Bank) -> None:
    found = read_choice(parse_tree("of the material", "page.yaml"), Unit.PERCENT, small_bank.materials["limestone"])
    assert (found.low, found.high, found.step, found.unit) == (
        Decimal("80.0"),
        Decimal("98.0"),
        Decimal("0.1"),
        Unit.PERCENT,
    )


@for_each(
    ("text", "unit", "said"),
    [
        ("25.0", "cm³", "has no unit"),
        ("25.0 g", "cm³", "a unit of the kind 'cm³'"),
        ("0.1 to 0.2 g dm-3 by 0.01", "mol dm⁻³", "a unit of the kind 'mol dm⁻³'"),
        ("3 g", "", "expected no unit"),
        ("0.2 to 0.1 g by 0.01", "g", "is empty"),
        ("0 to 0.1 g by 0.01", "g", "is empty"),
        ("0.1 to 0.2 g by 0", "g", "expected a step above 0"),
        ("0 g", "g", "not above zero"),
        ("-3 g", "g", "not above zero"),
        ("1.2.3 to 4 g by 1", "g", "cannot be read"),
        ("about 5 g", "g", "does not start with a number"),
        ("[]", "g", "empty list"),
        ("[3 g, 4 cm3]", "g", "'cm³'"),
        ("of the material", "%", "no material is named"),
        ("{a: b}", "g", "where a text belongs"),
        ("fit", "g", "expected 'fit LOW to HIGH UNIT by STEP'"),
        ("5 M", "mol dm⁻³", "M is the symbol of a molar mass"),
    ],
)
def test_what_is_no_number_of_this_kind_is_a_mistake(text: str, unit: str, said: str) -> None:
    with pytest.raises(Mistake) as caught:
        choice(text, unit)
    assert said in str(caught.value)
