"""The mean titre as a mark of its own: in cm³, or without a unit, and in no other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pytest

from molewright.answer.judge import Judge, Judged
from molewright.answer.printed import PrintedQuestion
from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.marking.typed_answers import read_answer
from molewright.question.check import Question, Questions

AsMarked = Callable[[Sequence[Question], Any], Any]


@pytest.fixture(scope="module")
def with_table(bank: Bank, questions: Questions, as_marked: AsMarked) -> tuple[str, PrintedQuestion]:
    """The mean of a table of readings, and the printed question."""
    kind = bank.archetypes["direct-one-to-two"]
    made = next(one for number in range(40) if (one := questions.make(kind, Stream(f"mean/{number}"))).draw.runs)
    mean = made.draw.given[made.draw.variant.procedure.titrations[-1].titre]
    return mean.number_text, as_marked([made], "structured").paper("A").questions[0]


def judged(printed: PrintedQuestion, text: str) -> Judged:
    return Judge(printed, {}).judge({1: read_answer(text)})[1]


@pytest.mark.parametrize(("unit", "earned"), [("", {1}), (" cm3", {1}), (" mL", {1}), (" g", set()), (" mol", set())])
def test_a_mean_titre_is_in_cubic_centimetres(
    with_table: tuple[str, PrintedQuestion], unit: str, earned: set[int]
) -> None:
    mean, printed = with_table
    assert printed.points[0].mean
    assert judged(printed, f"{mean}{unit}").earned == earned


def test_a_mean_titre_is_right_in_dm3_too(with_table: tuple[str, PrintedQuestion]) -> None:
    mean, printed = with_table
    assert judged(printed, f"{float(mean) / 1000:.5f} dm3").earned == {1}
