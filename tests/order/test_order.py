"""What a person asks for, as a value: its limits, and what it leaves to be settled."""

from __future__ import annotations

import pytest

from molewright.errors import Mistake
from molewright.order.choices import SHEETS
from molewright.order.order import DEFAULT_QUESTIONS, MOST_PAST, MOST_QUESTIONS, MOST_SEED, Order, Past, Wanted


@pytest.mark.parametrize(("seed", "count"), [(-1, 6), (MOST_SEED + 1, 6), (1, 0), (1, MOST_QUESTIONS + 1)])
def test_an_order_outside_its_limits_is_a_mistake(seed: int, count: int) -> None:
    with pytest.raises(Mistake, match="expected"):
        Order(seed=seed, count=count)


def test_more_earlier_questions_than_an_order_can_keep_are_a_mistake() -> None:
    past = tuple(Past(kind="", roles=(), asked="", scene=f"scene-{number}") for number in range(MOST_PAST + 1))
    assert Order(seed=1, not_again=past[1:]).not_again == past[1:]
    with pytest.raises(Mistake, match="earlier papers"):
        Order(seed=1, not_again=past)


def test_a_number_of_questions_is_left_open_only_where_marks_are_named() -> None:
    assert not Order(seed=1, count=0, marks=30).settled
    with pytest.raises(Mistake, match="0 questions"):
        Order(seed=1, count=0)


def test_an_order_of_nothing_but_a_seed_is_a_homework_of_six() -> None:
    order = Order(seed=5)
    assert (order.count, order.level, order.archetypes) == (DEFAULT_QUESTIONS, "mixed", ())
    assert Wanted() == Wanted(versions=("A",), forms=("pdf",), sheets=SHEETS)


def test_an_order_does_not_change() -> None:
    with pytest.raises(AttributeError):
        Order(seed=5).seed = 6  # type: ignore[misc]
