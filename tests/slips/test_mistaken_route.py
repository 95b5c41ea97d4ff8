"""A mistake worked on floats, to choose numbers by, and exactly, to print: both come to the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isnan

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.banks import built_in
from shared.for_each import for_each
from shared.kinds import each_kind

# Back titration, one to two, two unknowns at once, a difference of titres, water of crystals, a standardisation before.
OF_EACH_SHAPE = ("back-portions", "direct-one-to-two", "dolomite-mixture", "iron-and-iron", "magnesium-sulfate-water",
                 "standardise-then-vinegar", "two-carbonates")  # fmt: skip


def agree(question: Question) -> None:
    """Every mistake in a question, on floats and exactly."""
    table = question.prepared.slips
    facts = table.surroundings.facts(question.draw.runs)
    right, fast = table.quick(question.given, facts)
    assert right == pytest.approx(float(question.worked.exact), rel=1e-9)
    changing = [one for one in fast if not isnan(one) and abs(one - right) > abs(right) * 1e-12]
    exact = [float(one.exact) for one in question.mistakes.single]
    assert changing == pytest.approx(exact, rel=1e-9)
    assert len(exact) > 2


@for_each("key", OF_EACH_SHAPE)
def test_the_fast_filter_finds_what_the_exact_working_finds(key: str, bank: Bank, questions: Questions) -> None:
    agree(questions.make(bank.archetypes[key], Stream(f"float and exact/{key}")))


@each_kind(key for key, kind in built_in().archetypes.items() if kind.calculated)
def test_it_does_in_every_kind_of_question(key: str, dozen: Callable[[str], Sequence[Question]]) -> None:
    agree(dozen(key)[0])


def test_a_mistake_of_the_answer_is_made_in_the_last_step_alone(bank: Bank, questions: Questions) -> None:
    table = questions.make(bank.archetypes["back-portions"], Stream("answer")).prepared.slips
    answer = [one for one in table.applied if one.slip.kind == "answer"]
    assert answer
    assert {find.index for one in answer for find in one.finds} == {len(table.plan.steps) - 1}


def test_only_rare_mistakes_and_rounding_never_meet_another(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("pairs"))
    table = question.prepared.slips
    facts = table.surroundings.facts(question.draw.runs)
    met = {slip for one in table.pairs(question.given, facts, question.worked.marks, most=10**6) for slip in one.slips}
    assert {one.slip.kind for one in table.applied} >= {"rounding", "ratio", "scale", "percentage"}
    alone = [one.slip for one in table.applied if one.slip not in met]
    assert {slip.key for slip in alone if slip.often != "low" and slip.kind != "rounding"} == set()
    assert all(slip.often != "low" and slip.kind != "rounding" for slip in met)


def test_pairs_of_common_mistakes_come_before_those_with_a_rarer_one(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("pairs"))
    table = question.prepared.slips
    facts = table.surroundings.facts(question.draw.runs)
    pairs = table.pairs(question.given, facts, question.worked.marks, most=10**6)
    rarer = [sum(slip.often != "high" for slip in one.slips) for one in pairs]
    assert set(rarer) == {0, 1, 2}
    assert rarer == sorted(rarer)


def test_two_mistakes_are_put_together_once_and_never_one_with_itself(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("pairs"))
    table = question.prepared.slips
    facts = table.surroundings.facts(question.draw.runs)
    pairs = [tuple(slip.key for slip in one.slips) for one in table.pairs(question.given, facts, question.worked.marks)]
    assert len(pairs) > 10
    assert all(first != second for first, second in pairs)
    assert not {(second, first) for first, second in pairs} & set(pairs)
