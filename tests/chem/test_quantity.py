"""Quantities: figures as written survive every way in and out; rounding is held to the General Decimal Arithmetic."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from molewright.chem.quantity import (
    MINUS,
    Quantity,
    finite_places,
    half_up,
    leading_place,
    mantissa,
    parse_quantity,
    ratio_text,
    to_figures,
)
from molewright.chem.units import NO_BREAK, Unit, parse_unit
from molewright.errors import Mistake
from shared.for_each import for_each

fractions = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)


@st.composite
def quantities(draw):
    coefficient = draw(st.integers(-(10**9), 10**9))
    scientific = draw(st.booleans())
    assume(not (scientific and coefficient == 0))  # nought has no leading figure to put before the point
    exponent = draw(st.integers(-12, 12 if scientific else 0))
    return Quantity(Decimal(coefficient).scaleb(exponent), draw(st.sampled_from(Unit)), scientific)


@given(quantities())
def test_what_is_printed_is_read_back_with_its_figures_and_unit(quantity):
    again = parse_quantity(str(quantity), unit_needed=False)
    assert again == quantity
    assert again.figures == quantity.figures
    assert again.places == quantity.places


def test_two_quantities_are_equal_only_where_they_are_written_alike():
    written = [parse_quantity(text) for text in ("0.00260 mol", "2.60e-3 mol", "2.6e-3 mol", "2.60e-3 g")]
    for one in written:
        assert [other for other in written if other == one] == [one]
        assert [other for other in written if one == other] == [one]


@given(st.text(alphabet="0123456789.,x×^-−e gcmol³⁻%", max_size=30))
def test_any_text_is_either_read_or_refused_as_a_mistake(text):
    try:
        quantity = parse_quantity(text, unit_needed=False)
    except Mistake:
        return
    assert quantity.number.is_finite()


# ---------------------------------------------------------------- reading


@for_each(
    ("text", "number", "unit", "figures", "places"),
    [
        ("25.0 cm3", "25.0", "cm³", 3, 1),
        ("0.100 mol dm-3", "0.100", "mol dm⁻³", 3, 3),
        ("0.0985 mol/dm^3", "0.0985", "mol dm⁻³", 3, 4),
        ("250.0cm^3", "250.0", "cm³", 4, 1),
        ("2.604 × 10⁻³ mol", "0.002604", "mol", 4, 6),
        ("2.604 x 10^-3 mol", "0.002604", "mol", 4, 6),
        ("2.604e-3 mol", "0.002604", "mol", 4, 6),
        ("2.50*10^3 mg", "2.50E+3", "mg", 3, 0),
        ("−5.0 °C", "-5.0", "°C", 2, 1),
        ("88.4 percent", "88.4", "%", 3, 1),
        ("0 cm3", "0", "cm³", 1, 0),
        ("0.0 cm3", "0.0", "cm³", 2, 1),
        ("0.00 cm3", "0.00", "cm³", 3, 2),
    ],
)
def test_a_quantity_keeps_the_figures_it_was_written_with(text, number, unit, figures, places):
    quantity = parse_quantity(text)
    assert quantity.number.compare_total(Decimal(number)) == 0
    assert (quantity.unit.text, quantity.figures, quantity.places) == (unit, figures, places)


@for_each(
    ("text", "found"),
    [
        ("cm3", "does not start with a number"),
        ("", "does not start with a number"),
        ("25.0", "has no unit"),
        ("25.0 furlongs", "unit 'furlongs' is not known"),
        ("0.100 M", "unit 'M'"),
        ("1,000 cm3", "cannot be read"),
        ("25.0.1 cm3", "cannot be read"),
        ("1 000 cm3", "cannot be read"),
        ("nan g", "does not start with a number"),
        ("inf g", "does not start with a number"),
    ],
)
def test_a_faulty_quantity_is_refused_with_its_fault(text, found):
    with pytest.raises(Mistake, match=found):
        parse_quantity(text)


def test_a_number_that_is_not_finite_makes_no_quantity():
    with pytest.raises(Mistake, match="not finite"):
        Quantity(Decimal("NaN"), Unit.G)


def test_a_misspelt_unit_names_the_nearest():
    with pytest.raises(Mistake) as caught:
        parse_unit("mol dm3-")
    assert caught.value.near


@pytest.mark.parametrize("spelling", ["mol dm-3", "mol dm^-3", "mol/dm3", "mol dm−3", "mol  dm⁻³"])
def test_every_spelling_of_a_unit_is_printed_alike(spelling):
    assert parse_unit(spelling) is Unit.MOL_PER_DM3


@for_each(
    ("text", "exact"),
    [  # SI Brochure, 9th ed. (2019), tables 7 and 8: milli, micro, kilo; 1 L = 1 dm³ = 10⁻³ m³
        ("250 cm3", Fraction(250)),
        ("0.25 dm3", Fraction(250)),
        ("1 m3", Fraction(10**6)),
        ("1 L", Fraction(1000)),
        ("1.5 kg", Fraction(1500)),
        ("5 mg", Fraction(5, 1000)),
        ("5 ug", Fraction(5, 10**6)),
        ("2 mmol", Fraction(2, 1000)),
        ("100 mmol/L", Fraction(1, 10)),
        ("3 mg/L", Fraction(3, 1000)),
    ],
)
def test_prefixes_are_those_of_the_si(text, exact):
    assert parse_quantity(text).in_base == exact


def test_exact_is_in_the_unit_as_written_and_the_base_is_told():
    assert parse_quantity("0.25 dm3").exact == Fraction(1, 4)
    assert (Unit.DM3.base, Unit.DM3.factor) == (Unit.CM3, 1000)
    assert (Unit.MOL.base, Unit.MOL.factor) == (Unit.MOL, 1)


@given(quantities(), st.sampled_from(Unit))
def test_a_quantity_keeps_value_and_figures_in_any_unit_of_its_kind(quantity, unit):
    if unit not in quantity.unit.like:
        with pytest.raises(Mistake, match=re.escape(f"in {unit or 'no unit'}")):
            quantity.to(unit)
        return
    other = quantity.to(unit)
    assert (other.unit, other.in_base, other.scientific) == (unit, quantity.in_base, quantity.scientific)
    assert other.number.as_tuple().digits == quantity.number.as_tuple().digits
    assert other.to(quantity.unit) == quantity


def test_a_hundred_and_twenty_milligrams_are_0_120_g():
    assert str(parse_quantity("120 mg").to(Unit.G)) == f"0.120{NO_BREAK}g"


@given(st.sampled_from(Unit))
def test_no_two_units_share_a_spelling_and_each_is_read_from_all_of_its_own(unit):
    assert all(parse_unit(spelling) is unit for spelling in (unit.text, *unit.spellings))
    assert unit.base.base is unit.base
    assert unit.base.factor == 1
    assert unit.like[0] is unit.base
    assert {one.base for one in unit.like} == {unit.base}
    assert bool(unit) is bool(unit.text)


def test_a_paper_in_litres_prints_its_own_unit_for_each_of_the_same_size():
    for unit in Unit:
        other = unit.in_style("litre")
        assert (other.base, other.factor) == (unit.base, unit.factor)
        assert "dm" not in other.text
        assert unit.in_style("dm3") is unit


# ---------------------------------------------------------------- printing


def test_number_and_unit_are_never_parted():
    assert str(parse_quantity("0.100 mol dm-3")) == f"0.100{NO_BREAK}mol{NO_BREAK}dm⁻³"
    assert " " not in str(parse_quantity("2.604e-3 mol"))


def test_powers_of_ten_are_raised_figures_with_a_true_minus():
    assert str(parse_quantity("2.60e-3 mol")) == f"2.60{NO_BREAK}×{NO_BREAK}10⁻³{NO_BREAK}mol"
    assert parse_quantity("-3.0e4 g").number_text == f"{MINUS}3.0{NO_BREAK}×{NO_BREAK}10⁴"


def test_small_numbers_are_never_printed_with_an_e():
    assert Quantity(Decimal("1E-7"), Unit.G).number_text == "0.0000001"


@given(st.integers(1, 10**12), st.integers(-20, 20))
def test_mantissa_lies_between_one_and_ten_and_keeps_all_figures(coefficient, exponent):
    number = Decimal(coefficient).scaleb(exponent)
    digits, power = mantissa(number)
    assert 1 <= Decimal(digits) < 10
    assert Decimal(digits).scaleb(power).compare_total(number) == 0


# ---------------------------------------------------------------- rounding
# Held to Python's decimal: M. Cowlishaw, General Decimal Arithmetic Specification, version 1.70, round-half-up.


@given(
    st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**6), max_value=10**6, places=6), st.integers(0, 5)
)
def test_half_up_rounds_as_the_decimal_standard_does(number, places):
    expected = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    rounded = half_up(Fraction(number), places)
    assert rounded == expected
    assert rounded.as_tuple().exponent == -places


@given(st.integers(1, 10**12), st.integers(-15, 6), st.integers(1, 8))
def test_figures_round_as_the_decimal_standard_does(coefficient, exponent, figures):
    number = Decimal(coefficient).scaleb(exponent)
    expected = Context(prec=figures, rounding=ROUND_HALF_UP).create_decimal(number)
    rounded = to_figures(Fraction(number), figures)
    assert rounded == expected
    assert len(rounded.as_tuple().digits) == figures


@given(fractions, st.integers(-2, 8))
def test_rounding_moves_a_number_by_half_a_unit_at_most(exact, places):
    rounded = Fraction(half_up(exact, places))
    assert abs(rounded - exact) <= Fraction(1, 2) / Fraction(10) ** places
    assert half_up(-exact, places) == -half_up(exact, places)


@pytest.mark.parametrize(
    ("number", "places", "rounded"),
    [("2.675", 2, "2.68"), ("0.125", 2, "0.13"), ("24.305", 2, "24.31"), ("-0.5", 0, "-1"), ("0.045", 2, "0.05")],
)
def test_a_half_goes_away_from_nought(number, places, rounded):
    assert str(half_up(Fraction(number), places)) == rounded


def test_figures_keep_trailing_noughts_and_carry_over():
    assert str(to_figures(Fraction(1, 2), 3)) == "0.500"
    assert str(to_figures(Fraction("9.996"), 3)) == "10.0"
    assert str(to_figures(Fraction(0), 3)) == "0.00"
    assert to_figures(Fraction(99995), 4) == Decimal("1.000E+5")


@given(fractions.filter(bool))
def test_leading_place_is_the_power_of_the_first_figure(exact):
    assert Fraction(10) ** leading_place(exact) <= abs(exact) < Fraction(10) ** (leading_place(exact) + 1)


@given(fractions)
def test_finite_places_is_the_fewest_places_that_write_the_number_exactly(exact):
    places = finite_places(exact)
    rest = exact.denominator
    while rest % 2 == 0:
        rest //= 2
    while rest % 5 == 0:
        rest //= 5
    assert (places is None) == (rest != 1)
    if places is not None:
        assert (exact * 10**places).denominator == 1
        assert places == 0 or (exact * 10 ** (places - 1)).denominator != 1


@for_each(
    ("value", "ratio"),
    [
        ("2.48", "5 : 2"),
        ("4.97", "5 : 1"),
        ("1.26", "5 : 4"),
        ("0.402", "2 : 5"),
        ("0.33", "1 : 3"),
        ("1", "1 : 1"),
        ("4.72", "5 : 1"),
        ("8.1", "8 : 1"),
    ],
)
def test_a_value_leads_to_the_nearest_ratio_of_small_whole_numbers(value: str, ratio: str) -> None:
    assert ratio_text(Fraction(value)).replace("\N{NO-BREAK SPACE}", " ") == ratio


# ---------------------------------------------------------------- the same


def test_two_and_two_point_nought_are_two_quantities():
    assert Quantity(Decimal("2"), Unit.G) != Quantity(Decimal("2.0"), Unit.G)
    assert len({Quantity(Decimal("2"), Unit.G), Quantity(Decimal("2.0"), Unit.G)}) == 2
    assert Quantity(Decimal("2.0"), Unit.G) == Quantity(Decimal("2.0"), Unit.G)
    assert Quantity(Decimal("2"), Unit.G).exact == Quantity(Decimal("2.0"), Unit.G).exact


@given(quantities(), st.integers(0, 2), st.sampled_from(Unit), st.booleans())
def test_quantities_are_equal_just_where_they_are_written_alike(one, zeros, unit, scientific):
    number = one.number * Decimal("1." + "0" * zeros) if zeros else one.number
    other = Quantity(number, unit, scientific)
    alike = (one.number.as_tuple(), one.unit, one.scientific) == (number.as_tuple(), unit, scientific)
    assert (one == other) is alike
    assert not alike or hash(one) == hash(other)
    assert one != one.number
