"""What the scheme prints, the marker pays: every printed answer of every kind and level typed back in, marks compared one by one."""

from __future__ import annotations

from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.sheet.parts import LEVELS
from shared.banks import built_in
from shared.for_each import for_each
from shared.typed_back import differences

KEYS = sorted(built_in().archetypes)


@for_each("key", KEYS, shares=8)
def test_every_printed_answer_earns_the_marks_that_the_scheme_prints(
    bank: Bank, questions: Questions, tmp_path: Path, key: str
) -> None:
    """A question at every level and with its stretch part, another at the level whose turn it is: the command types more."""
    first, second = (questions.make(bank.archetypes[key], Stream(f"typed back/{key}/{seed}")) for seed in (1, 2))
    turn = LEVELS[KEYS.index(key) % len(LEVELS)]
    for level, one in [*((level, first) for level in LEVELS), ("exam", questions.stretched(first)), (turn, second)]:
        _, found = differences(one, level, bank, tmp_path)
        assert not found, "\n".join(found)


def test_the_walk_types_ends_routes_and_wrong_answers(bank: Bank, questions: Questions, tmp_path: Path) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("typed back"))
    typed, found = differences(question, "structured", bank, tmp_path)
    assert typed >= 10
    assert not found
