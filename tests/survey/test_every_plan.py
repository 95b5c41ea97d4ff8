"""The plans that a package carries: those of nearly all questions, and each proved before it is used."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation import plans as module
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.survey.every_plan import every_plan


@pytest.mark.thorough
def test_with_carried_plans_nothing_is_planned_by_sympy(
    small_bank: Bank, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "plans.json").write_bytes(every_plan(small_bank))
    assert every_plan(small_bank) == (tmp_path / "plans.json").read_bytes()

    def never(*_: object) -> None:
        raise AssertionError("sympy was asked")

    monkeypatch.setattr(module, "plan", never)
    questions = Questions(small_bank, Plans("another", None, tmp_path / "plans.json"))
    for key, archetype in small_bank.archetypes.items():
        assert questions.make(archetype, Stream(f"plans/{key}/0"), stretch=True).draw.archetype.key == key
