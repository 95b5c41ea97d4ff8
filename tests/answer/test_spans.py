"""The chain of a record worked on spans: what is rounded on the way, what is carried over, and where it ends."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.answer.printed import Step
from molewright.answer.spans import ROUNDING, exactly, run
from molewright.chem.units import Unit
from molewright.experiment.relations.variables import BareRelation
from shared.for_each import for_each


def step(finds: str, factor: int, *over: str, form: str = "product") -> Step:
    quantities = ((finds, Fraction(-1)), *((name, Fraction(1)) for name in over))
    relation = BareRelation(form=form, quantities=quantities, factor=Fraction(factor))  # type: ignore[arg-type]
    return Step(finds=finds, unit=Unit.NONE, exact=Fraction(1), relation=relation)


@for_each(
    ("one", "idle"),
    [
        (step("a", 1, "x"), True),
        (step("a", 2, "x"), False),
        (step("a", 1, "x", "y"), False),
        (step("a", 2, "x", "y"), False),
        (step("a", 1, "x", form="sum"), False),
        (Step(finds="a", unit=Unit.NONE, exact=Fraction(1), relation=None), False),
    ],
)
def test_only_a_number_that_is_carried_over_is_not_rounded_again(one: Step, idle: bool) -> None:
    assert one.idle is idle


CHAIN = (step("a", 2, "x"), step("b", 1, "a"), step("c", 3, "b"))


def test_a_step_on_the_way_is_rounded_and_the_last_is_not() -> None:
    found = run(CHAIN, {"x": exactly(Fraction(5))}, "c")
    once = exactly(Fraction(10)).wider(ROUNDING)
    assert (found["a"], found["b"]) == (once, once)  # one to one: the number of the step before
    assert (found["c"].low, found["c"].high) == (3 * once.low, 3 * once.high)


@pytest.mark.parametrize(("last", "reached"), [("a", "xa"), ("b", "xab"), ("c", "xabc")])
def test_the_chain_is_worked_as_far_as_the_step_that_is_asked_for(last: str, reached: str) -> None:
    asked = last.encode().decode()  # a name is its letters, wherever it was read
    found = run(CHAIN, {"x": exactly(Fraction(5))}, asked)
    assert set(found) == set(reached)
    assert (found["a"] == exactly(Fraction(10))) == (last == "a")  # rounded where it is on the way alone
