"""Accepted ranges of every kind: no wider than a per cent or a unit of the last figure, no slip of reading a burette inside."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from molewright.chem.quantity import last_place
from molewright.derivation.worked import base_factor
from molewright.question.check import Question
from shared.banks import built_in
from shared.kinds import KEYS, each_kind

BANK = built_in()
Dozen = Callable[[str], tuple[Question, ...]]
READING = {"S06", "S59", "S60", "S62"}  # final reading as titre, rough run, run that is not concordant, whole cm³


@each_kind()
def test_no_range_is_wide_and_no_slip_of_reading_lies_in_it(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        right = question.worked.accepted
        if (
            right.type == "number" and not question.draw.archetype.graph and not question.draw.variant.procedure.meters
        ):  # a reading from a graph has its own range besides, and so has what a quadratic equation leads to
            answer = right.answer.number
            unit = Decimal(1).scaleb(last_place(answer))
            assert answer - right.low.number == right.high.number - answer >= unit
            assert right.high.number - answer <= max(unit, abs(answer) / 100), f"{right.low} to {right.high}"
        for one in question.mistakes.single:
            if one.slips[0].key in READING:
                found = one.exact * base_factor(question.worked.answer)
                assert not right.holds(found), f"{one.slips[0].key} gives {float(found):.5g}"


@each_kind(key for key in KEYS if BANK.archetypes[key].runs == "table")
def test_slips_of_reading_are_made_where_there_is_a_table(key: str, dozen: Dozen) -> None:
    seen: set[str] = set()
    for question in dozen(key):
        seen |= {one.slips[0].key for one in question.mistakes.single}
    assert {"S59", "S62"} <= seen
