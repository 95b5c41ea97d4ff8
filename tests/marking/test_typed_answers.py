"""Answers as pupils write them: what is read, with which rounding, and what is left to the teacher."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.chem.units import Unit
from molewright.marking.typed_answers import MOST_LETTERS, Unread, Written, read_answer
from shared.for_each import for_each

READ = {
    "94.9%": ("94.9", "%"), "94.9 %": ("94.9", "%"), "94,9": ("94.9", ""), "95 percent": ("95", "%"),
    "2.6x10^-3 mol": ("0.0026", "mol"), "2.6 × 10⁻³": ("0.0026", ""), "2.6E-3": ("0.0026", ""), "2.6*10**-3": ("0.0026", ""),
    "2.604×10−3 mol": ("0.002604", "mol"), "2.6 x 10^(-3) mol": ("0.0026", "mol"), "10^-3": ("0.001", ""),
    "0.0026": ("0.0026", ""), ".0026": ("0.0026", ""), "26.": ("26", ""), "−5.0": ("-5", ""), "–5": ("-5", ""), "+5": ("5", ""),
    "1,234.5": ("1234.5", ""), "1.234,5": ("1234.5", ""), "1 234.5 g": ("1234.5", "g"), "0,500": ("0.500", ""),
    "1\u202f234": ("1234", ""),
    "1,234,567": ("1234567", ""), "0,247": ("0.247", ""), "1234,567": ("1234.567", ""), "12,3456": ("12.3456", ""),
    "0.25 mol/dm3": ("0.25", "mol dm⁻³"), "0.25moldm-3": ("0.25", "mol dm⁻³"), "0.25 mol·dm⁻³": ("0.25", "mol dm⁻³"),
    "0.25 Mol dm^-3": ("0.25", "mol dm⁻³"), "24.80 CM3": ("24.80", "cm³"), "12 g L-1": ("12", "g/L"), "x = 7": ("7", ""),
    "5 : 2": ("2.5", ""), "5:4": ("1.25", ""), "2.5 : 1": ("2.5", ""), "5 to 1": ("5", ""),
    "1/4": ("0.25", ""), "1 / 8 mol": ("0.125", "mol"), "  7.0\u00a0moles ": ("7", "mol"),
}  # fmt: skip


@for_each("text", READ)
def test_an_answer_is_read_as_it_is_written(text: str) -> None:
    number, unit = READ[text]
    found = read_answer(text)
    assert isinstance(found, Written), found
    assert (found.number, found.unit.text) == (Fraction(number), unit)


UNREAD = [
    "1,234", "12,345", "abc", "=2+3", "2+3", "2.6x103", "1e999", "1/0", "1.2.3", "1'234", "3 x 10-3 x 2", "0.25 M", "12 Mg",
    "1 : 0", "1:2:3", "5 : 2 mol",
    "5 mol-1", "94.9 or 95", "１２", "٣", "1/2/3", "0x1F", "nan", "inf", "1_000", "1 2", "()", ",", ".", "1,,5", "five",
    "{{7*7}}", "@SUM(A1)", "0.0026 mol Xy", "97/98", "\x00", "9" * 41, "1" * (MOST_LETTERS + 1),
]  # fmt: skip


@for_each("text", UNREAD)
def test_what_has_no_sure_reading_is_left_to_the_teacher(text: str) -> None:
    found = read_answer(text)
    assert isinstance(found, Unread)
    assert found.why


@for_each(
    ("text", "why"),
    [("2.6x103", "power of ten"), ("0.5 x 2", "a sum"), ("94.9 95", "more than one number"),
     ("1e999", "power of ten that no answer has"), ("1,234", "thousands or decimals"),
     ("0 500", "more than one number"), ("0,500,000", "points and commas"), ("0.500.000", "points and commas"), ("0.25 M", "unit")],
)  # fmt: skip
def test_the_reason_says_what_was_not_sure(text: str, why: str) -> None:
    found = read_answer(text)
    assert isinstance(found, Unread)
    assert why in found.why


@for_each("text", ["", " ", "-", "—", "\u00a0", "no answer"])
def test_an_empty_answer_is_no_answer(text: str) -> None:
    assert read_answer(text) is None


@for_each(
    ("text", "figures", "half"),
    [("94.9", 3, "0.05"), ("0.0260", 3, "0.00005"), ("2.60e-3", 3, "0.000005"), ("1200", 3, "5"), ("1204", 4, "0.5"),
     ("100", 3, "0.5"), ("1200.", 4, "0.5"), ("7", 1, "0.5"), ("0.9", 1, "0.05")],
)  # fmt: skip
def test_the_rounding_of_an_answer_follows_from_its_figures(text: str, figures: int, half: str) -> None:
    found = read_answer(text)
    assert isinstance(found, Written)
    assert (found.figures, found.half) == (figures, Fraction(half))


def test_an_answer_changes_to_a_unit_of_its_kind_only() -> None:
    milligrams = read_answer("1199 mg")
    assert isinstance(milligrams, Written)
    grams = milligrams.in_unit(Unit.G)
    assert grams is not None
    assert (grams.number, grams.half) == (Fraction("1.199"), Fraction("0.0005"))
    assert milligrams.in_unit(Unit.MOL) is None
    bare = read_answer("1199")
    assert isinstance(bare, Written)
    assert bare.in_unit(Unit.MOL) is not None


@pytest.mark.thorough
@given(st.text(max_size=60))
def test_any_text_at_all_is_read_or_refused_and_never_fails(text: str) -> None:
    assert read_answer(text) is None or isinstance(read_answer(text), Written | Unread)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-99999, max_value=99999))
def test_a_plain_decimal_is_read_exactly(number: object) -> None:
    found = read_answer(f"{number:f} mol")
    assert isinstance(found, Written)
    assert found.number == Fraction(f"{number:f}")
