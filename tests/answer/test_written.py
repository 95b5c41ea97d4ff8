"""Numbers as they are written: what their figures leave open, and how a ratio of whole numbers is rounded."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import example, given
from hypothesis import strategies as st

from molewright.answer.written import Written, rounded
from molewright.chem.quantity import to_figures
from molewright.marking.typed_answers import read_answer
from shared.for_each import for_each


def written(text: str) -> Written:
    found = read_answer(text)
    assert isinstance(found, Written)
    return found


@for_each(
    ("text", "figures", "half", "kept"),
    [
        ("240", 2, "5", 2),  # 235 to 245
        ("1200", 2, "50", 2),
        ("1200", 3, "5", 3),
        ("243", 2, "1/2", 3),  # a 3 at its end was written on purpose
        ("24", 2, "1/2", 2),
        ("0.240", 2, "1/2000", 3),  # and so was a nought after the point
        ("200", 3, "1/2", 3),
    ],
)
def test_noughts_at_the_end_of_a_whole_number_may_stand_for_a_rounding(
    text: str, figures: int, half: str, kept: int
) -> None:
    found = written(text).to_at_most(figures)
    assert (found.half, found.figures) == (Fraction(half), kept)
    assert found.number == written(text).number


@example(0, 7, 3)
@given(st.integers(-(10**9), 10**9), st.integers(-(10**9), 10**9).filter(bool), st.integers(1, 6))
def test_a_ratio_is_rounded_half_up_as_its_value_is(up: int, down: int, figures: int) -> None:
    value = Fraction(up, down)
    above, below = rounded(up, down, figures)
    assert Fraction(above, below) == (Fraction(to_figures(value, figures)) if value else 0)
