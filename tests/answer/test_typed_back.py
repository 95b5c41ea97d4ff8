"""What the scheme prints, the marker pays: every printed answer of every kind and level typed back in, marks compared one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from molewright.sheet.parts import LEVELS, Level
from shared.covering import covering
from shared.kinds import KEYS, each_kind
from shared.typed_back import differences

Dozen = Callable[[str], Sequence[Question]]


def require_paid(question: Question, level: Level, bank: Bank, folder: Path) -> None:
    _, found = differences(question, level, bank, folder)
    assert not found, "\n".join(found)


@each_kind()
def test_every_printed_answer_earns_the_marks_that_the_scheme_prints(
    key: str, bank: Bank, questions: Questions, dozen: Dozen, tmp_path: Path
) -> None:
    """With its stretch part, where it has one, at the level whose turn it is: the command types more."""
    require_paid(questions.stretched(dozen(key)[0]), LEVELS[KEYS.index(key) % len(LEVELS)], bank, tmp_path)


@each_kind(covering(KEYS))
def test_it_does_at_every_level(key: str, bank: Bank, dozen: Dozen, tmp_path: Path) -> None:
    for level, question in zip(LEVELS, dozen(key)[1:], strict=False):
        require_paid(question, level, bank, tmp_path)


def test_the_walk_types_ends_routes_and_wrong_answers(bank: Bank, questions: Questions, tmp_path: Path) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("typed back"))
    typed, found = differences(question, "structured", bank, tmp_path)
    assert typed >= 10
    assert not found
