"""One question of a settled order is changed, moved, removed or added: the others stay as they are."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.errors import Mistake
from molewright.order.order import MOST_QUESTIONS, Order
from molewright.papers.changing import (
    added,
    at_level,
    at_levels,
    drawn_line,
    moved,
    next_level,
    removed,
    with_lines,
    with_numbers_fixed,
)
from molewright.papers.choosing import new_order
from molewright.papers.making import PaperMaker


@pytest.fixture(scope="module")
def order(bank: Bank) -> Order:
    return PaperMaker(bank, new_order(bank, ["direct-purity", "vinegar-label", "back-portions"], 3, 7)).order


def test_a_question_that_is_moved_there_and_back_leaves_the_order_as_it_was(order: Order) -> None:
    for number in (1, 2, 3):
        for to in (1, 2, 3):
            there = moved(order, number, to)
            assert there.lines[to - 1] == order.lines[number - 1]
            assert moved(there, to, number) == order


def test_a_line_of_its_own_is_settled_and_repeats_neither_kind_nor_scene(bank: Bank, order: Order) -> None:
    line = drawn_line(bank, order, "back titration with an aliquot", "5")
    assert line.settled
    assert line.kind not in {one.kind for one in order.lines}
    assert line.scene not in {one.scene for one in order.lines}
    for after in range(4):
        more = added(order, after, line)
        assert more.lines[after] == line
        assert more.count == 4
        assert removed(more, after + 1) == order
    assert len(PaperMaker(bank, added(order, 1, line)).slots) == 4


def test_a_paper_has_one_question_at_least_and_no_more_than_may_be(order: Order) -> None:
    one = removed(removed(order, 1), 1)
    with pytest.raises(Mistake, match="without a question"):
        removed(one, 1)
    with pytest.raises(Mistake, match="at most"):
        with_lines(order, order.lines[:1] * (MOST_QUESTIONS + 1))
    for wrong in (0, 4):
        with pytest.raises(Mistake, match=f"no question {wrong}"):
            moved(order, 1, wrong)


def test_support_goes_up_and_down_within_its_levels(order: Order) -> None:
    exam = at_level(order, 1, "exam")
    assert exam.lines[1:] == order.lines[1:]
    assert (next_level(exam, 1, -1), next_level(exam, 1, 1)) == ("structured", "stretch")
    with pytest.raises(Mistake, match="less support"):
        next_level(at_level(order, 1, "stretch"), 1, 1)
    with pytest.raises(Mistake, match="level ''"):
        at_level(order, 1, "")
    several = at_levels(exam, ("structured", "exam"))
    assert {line.level for line in several.lines} == {""}
    assert at_level(several, 1, "").levels == ("structured", "exam")


def test_numbers_that_are_fixed_let_go_of_those_that_were_drawn(bank: Bank, order: Order) -> None:
    fixed = with_numbers_fixed(order, 3, (("titre of NaOH", "24.35 cm3"),))
    assert fixed.lines[2].numbers == (("titre of NaOH", "24.35 cm3"),)
    assert fixed.lines[2].drawn == ()
    with pytest.raises(Mistake, match="no archetype"):
        drawn_line(bank, order, "nothing like it", "5")
