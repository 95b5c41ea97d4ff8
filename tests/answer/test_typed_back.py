"""What the scheme prints, the marker pays: every printed answer of every kind and level typed back in, marks compared one by one."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.sheet.parts import LEVELS
from shared.banks import built_in
from shared.for_each import for_each
from shared.typed_back import differences

KEYS = sorted(built_in().archetypes)


@pytest.mark.parametrize("seed", [1, 2])
@for_each("key", KEYS, shares=6)
def test_every_printed_answer_earns_the_marks_that_the_scheme_prints(
    bank: Bank, questions: Questions, tmp_path: Path, key: str, seed: int
) -> None:
    question = questions.make(bank.archetypes[key], Stream(f"typed back/{key}/{seed}"))
    stretched = questions.stretched(question)
    for level, one in [*((level, question) for level in LEVELS), ("exam", stretched)]:
        _, found = differences(one, level, bank, tmp_path)
        assert not found, "\n".join(found)


def test_the_walk_types_ends_routes_and_wrong_answers(bank: Bank, questions: Questions, tmp_path: Path) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("typed back"))
    typed, found = differences(question, "structured", bank, tmp_path)
    assert typed >= 10
    assert not found
