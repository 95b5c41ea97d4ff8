"""Which slip explains a wrong answer, and what is kept where several do."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.answer.printed import SlipFacts, Slips
from molewright.answer.recognise import explain
from molewright.answer.spans import Span, exactly

FACTS = {
    "S1": SlipFacts(name="common", often="high", near=False),
    "S2": SlipFacts(name="less common", often="medium", near=False),
}
POINTS = frozenset(range(1, 6))


def slip(key: str, gives: int, loses: set[int]) -> Slips:
    return Slips((key,), Fraction(gives), frozenset(loses), 5 - len(loses))


@pytest.mark.parametrize("first", ["S1", "S2"])
def test_where_two_slips_give_one_answer_the_fewest_marks_are_kept(first: str) -> None:
    # the scheme prints both beside the answer: a marker cannot tell them apart, and pays what is sure (common practice, no source)
    other = "S2" if first == "S1" else "S1"
    found = explain(exactly(Fraction(40)), [slip(first, 40, {2}), slip(other, 40, {2, 3, 4})], FACTS, POINTS)
    assert found.found == "shared"
    assert found.keys == (("S1",), ("S2",))
    assert found.loses == {2, 3, 4}


def test_a_minus_that_was_dropped_is_seen_where_no_slip_gives_the_number_itself() -> None:
    below, above = slip("S1", -40, {2}), slip("S2", 40, {3})
    assert explain(exactly(Fraction(40)), [below], FACTS, POINTS).keys == (("S1",),)
    assert explain(exactly(Fraction(40)), [below, above], FACTS, POINTS).keys == (("S2",),)
    assert explain(exactly(Fraction(-40)), [above], FACTS, POINTS).found == "none"


def test_of_a_ph_rounded_working_moves_the_hydrogen_ions_and_not_the_ph() -> None:
    slips = [Slips(("S1",), Fraction("11.80"), frozenset({2}), 4)]
    answer = Span(Fraction("11.855"), Fraction("11.865"))
    assert explain(answer, slips, FACTS, POINTS).found == "possible"  # a number of that size: within 0.6 %
    assert explain(answer, slips, FACTS, POINTS, logarithmic=True).found == "none"
    near = [Slips(("S1",), Fraction("11.867"), frozenset({2}), 4)]  # 0.6 % more of the ions: 0.0026
    assert explain(answer, near, FACTS, POINTS, logarithmic=True).found == "possible"
