"""The one rule of what is right, by hand: ranges, whole numbers, ratios, figures, and the ends of each."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.answer.accepted import Accepted, accepted, in_range
from molewright.answer.judge import judge_further, right_or_rounded, wrong_alone
from molewright.answer.printed import Further
from molewright.answer.written import Written, as_written
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.units import Unit
from molewright.marking.typed_answers import Asked, read_answer
from shared.for_each import for_each

# 94.87 and 94.94 are what rounding each line of the limestone question comes to (worked by hand: 94.872 % exactly)
LIMESTONE = accepted("number", [Fraction("94.872"), Fraction("94.87"), Fraction("94.94")], parse_quantity("94.9 %"))
TWO = accepted("whole number", [Fraction("1.998"), Fraction("1.996"), Fraction("2.003")], Quantity(Decimal(2)))
FIVE_TO_TWO = accepted("ratio", [Fraction("2.498"), Fraction("2.495"), Fraction("2.504")], Quantity(Decimal("2.50")))


def right(rule: Accepted, text: str) -> bool:
    """Whether a text, read as the marker reads it, is right."""
    read = read_answer(text, Asked(rule.answer.unit, rule.type))
    assert isinstance(read, Written), text
    fitted = read.in_unit(rule.answer.unit)
    return fitted is not None and rule.is_right(fitted)


def as_read(text: str) -> Written:
    """A number as the marker reads it."""
    read = read_answer(text)
    assert isinstance(read, Written), text
    return read


def test_the_range_spans_all_roundings_and_one_unit_of_the_last_figure_at_least() -> None:
    assert (str(LIMESTONE.low.number), str(LIMESTONE.high.number)) == ("94.8", "95.0")


@pytest.mark.parametrize(
    ("rounded", "low", "high"),
    [("94.94", "94.8", "95.0"), ("95.14", "94.7", "95.1"), ("94.35", "94.4", "95.4"), ("94.34", "94.3", "95.5")],
)
def test_the_range_reaches_to_both_sides_as_far_as_any_rounding_leads(rounded: str, low: str, high: str) -> None:
    rule = accepted("number", [Fraction("94.872"), Fraction(rounded)], parse_quantity("94.9 %"))
    assert (str(rule.low.number), str(rule.high.number)) == (low, high)


@for_each(
    ("rounded", "answer", "wide"),
    [
        ("95.84", "94.9 %", False),  # 0.9 of 94.9
        ("95.85", "94.9 %", True),  # rounds to 1.0 away
        ("1.084", "1.07", False),  # one unit of the last figure, though more than one per cent
        ("1.085", "1.07", True),
        ("54", "53", False),  # to two figures
        ("54.5", "53", True),
    ],
)
def test_a_range_of_more_than_a_per_cent_and_a_unit_is_too_wide(rounded: str, answer: str, wide: bool) -> None:
    shown = parse_quantity(answer, unit_needed=False)
    assert accepted("number", [shown.exact, Fraction(rounded)], shown).too_wide is wide


def test_a_whole_number_is_never_too_wide() -> None:
    assert not accepted("whole number", [Fraction("1.9"), Fraction("2.3")], Quantity(Decimal(2))).too_wide


@for_each("text", ["94.8", "94.9 %", "95.0", "95", "94.872", "94.75", "95.04", "9.49e1"])
def test_what_rounds_into_the_range_is_right(text: str) -> None:
    assert right(LIMESTONE, text)


@for_each("text", ["94.7", "95.1", "94.74", "95.05", "0.949", "94", "96", "-94.9"])
def test_what_rounds_out_of_the_range_is_wrong(text: str) -> None:
    assert not right(LIMESTONE, text)


@for_each("text", ["2", "2.0", "2.00", "1.998", "x = 2", "2.004"])
def test_a_whole_number_alone_or_a_value_near_it_is_right(text: str) -> None:
    assert right(TWO, text)


@for_each("text", ["1.55", "1.9", "2.1", "2.4", "1.5", "2.02", "3", "1", "0.5"])
def test_a_value_that_only_rounds_to_the_whole_number_is_wrong(text: str) -> None:
    assert not right(TWO, text)


@for_each("text", ["5 : 2", "5:2", "2.5", "10 : 4", "2.5 to 1", "2.499"])
def test_a_ratio_is_right_in_whole_numbers_and_to_one(text: str) -> None:
    assert right(FIVE_TO_TWO, text)


@for_each("text", ["2 : 5", "0.4", "2.4", "2.45", "2.55", "3", "12 : 5"])
def test_another_ratio_is_wrong_however_near_its_simplest_form_lies(text: str) -> None:
    assert not right(FIVE_TO_TWO, text)


def test_a_settled_answer_is_right_though_every_working_comes_to_less() -> None:
    # 2.43 molecules of water are written as 2, 2.47 to one as 5 : 2, which lie outside what the workings come to
    water = accepted("whole number", [Fraction("2.43"), Fraction("2.42")], Quantity(Decimal(2)))
    ratio = accepted("ratio", [Fraction("2.47"), Fraction("2.46")], Quantity(Decimal("2.47")))
    assert (right(water, "2"), right(water, "2.43"), right(water, "2.2"), right(water, "3")) == (
        True,
        True,
        False,
        False,
    )
    assert (right(ratio, "5 : 2"), right(ratio, "2.47"), right(ratio, "2.55")) == (True, True, False)


def test_an_answer_in_words_that_was_left_empty_earns_nothing_and_asks_for_no_teacher() -> None:
    part = Further(part="b", type="number", marks=2, unit=Unit.NONE, accepted=None, words=1)
    assert judge_further(part, None) == ("no answer", 0, "")
    assert judge_further(part, read_answer("pink")) == ("for the teacher", 0, "this part is answered in words")


def test_three_figures_suffice_where_more_are_asked_for() -> None:
    rule = accepted("number", [Fraction("0.094968")], parse_quantity("0.09497 mol dm-3"))
    assert right(rule, "0.0950")
    assert not right(rule, "0.0951")
    assert not right(rule, "0.09")


@pytest.mark.parametrize(
    ("text", "verdict"),
    [("0.0523", "right"), ("0.052", "rounded too far"), ("0.05", ""), ("0.053", ""), ("0.0520", "")],
)
def test_two_figures_that_the_answer_rounds_to_lose_the_last_mark_alone(text: str, verdict: str) -> None:
    rule = accepted("number", [Fraction("0.052347")], parse_quantity("0.0523 mol dm-3"))
    read = read_answer(text)
    assert isinstance(read, Written)
    found = right_or_rounded(rule, read, frozenset({2, 3, 4}), frozenset({4}))
    assert (found.verdict if found else "") == verdict
    if found:
        assert (found.earned, found.lost) == (({2, 3, 4}, set()) if verdict == "right" else ({2, 3}, {4}))


PH = accepted("logarithm", [Fraction("11.8597"), Fraction("11.846")], Quantity(Decimal("11.86")))


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("11.86", "right"),
        ("11.8", ""),
        ("11.9", "rounded too far"),  # three figures, but one decimal place
        ("12", ""),
    ],
)
def test_of_a_ph_the_decimal_places_count_and_not_the_figures(text: str, verdict: str) -> None:
    found = right_or_rounded(PH, as_read(text), frozenset({1, 2, 3}), frozenset({3}))
    assert (found.verdict if found else "") == verdict
    small = accepted("logarithm", [Fraction("0.7118")], Quantity(Decimal("0.71")))
    assert right_or_rounded(small, as_read("0.7"), frozenset({1, 2}), frozenset({2})) is not None


@pytest.mark.parametrize(
    ("text", "verdict"), [("11.84", "nearly right"), ("11.88", "nearly right"), ("11.83", "wrong"), ("11.96", "wrong")]
)
def test_a_ph_is_nearly_right_by_its_places_and_not_by_one_per_cent_of_it(text: str, verdict: str) -> None:
    # 11.96 for 11.86 lies within one per cent and has a fifth less of the hydrogen ions
    found = wrong_alone(PH, as_read(text), (), {}, frozenset({1, 2, 3}), frozenset({3}))
    assert found.verdict == verdict
    assert found.earned == ({1, 2} if verdict == "nearly right" else set())


@pytest.mark.parametrize(
    ("text", "is_right"),
    [("1.995 = 2", True), ("x = 2 (2.00)", True), ("1.55 = 2", False), ("2 (from 1.6)", False), ("3.0 = 3", False)],
)
def test_a_whole_number_is_right_only_with_a_right_value_before_it_where_one_is_shown(
    text: str, is_right: bool
) -> None:
    assert right(TWO, text) is is_right


@pytest.mark.parametrize(("text", "is_right"), [("2.498 = 5:2", True), ("5 : 2 (2.55)", False), ("5:2", True)])
def test_a_ratio_is_right_only_with_a_right_value_before_it_where_one_is_shown(text: str, is_right: bool) -> None:
    assert right(FIVE_TO_TWO, text) is is_right


def test_a_reading_is_right_to_its_own_places_only() -> None:
    rule = in_range(Decimal("24.65"), Decimal("24.65"), Unit.CM3)
    assert right(rule, "24.65")
    assert not right(rule, "24.6")
    assert not right(rule, "24.70")


def test_a_range_stands_for_its_middle() -> None:
    assert in_range(Decimal("24.6"), Decimal("24.9"), Unit.CM3).exact == Fraction("24.75")


def test_a_further_reading_makes_the_range_wider_and_never_narrower() -> None:
    wider = LIMESTONE.wider([Fraction("95.3")])
    assert (str(wider.low.number), str(wider.high.number)) == ("94.8", "95.4")
    before = TWO.wider([Fraction("2.02")]).before
    assert before is not None
    assert str(before[1].number) == "2.03"


@given(st.decimals(Decimal("0.00001"), Decimal("99999"), allow_nan=False), st.integers(2, 6), st.booleans())
def test_what_is_printed_is_understood_as_it_is_typed_back(number: Decimal, figures: int, scientific: bool) -> None:
    printed = Quantity(Decimal(f"{number:.{figures - 1}e}"), Unit.MOL if scientific else Unit.PERCENT, scientific)
    assert read_answer(str(printed)) == as_written(printed), str(printed)


@given(
    st.fractions(Fraction(1, 100), Fraction(500), max_denominator=10**6), st.fractions(0, 600, max_denominator=10**5)
)
def test_the_reach_is_just_what_is_right_once_it_is_rounded(exact: Fraction, other: Fraction) -> None:
    shown = Quantity(Decimal(f"{float(exact):.2e}"), Unit.PERCENT)
    rule = accepted("number", [exact], shown)
    low, high = rule.reach
    assert rule.holds(other) == (low <= other < high)
