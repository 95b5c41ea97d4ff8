"""Marks are worth their work: without a reaction, a chain of steps has a mark less than there are numbers in it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from molewright.bank.algebra import words_of
from molewright.bank.definitions import Archetype, Bank
from molewright.derivation.worked import mark_points
from molewright.draw.chosen import Chosen, given_names
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from shared.banks import built_in
from shared.for_each import for_each

BY_AN_EQUATION = (
    "ratio",
    "contains",
    "electrons",
    "atoms",
    "found ratio",
    "pH",
    "ions together",
)  # a number that is not printed or is needed twice, or no sign at all
KEYS = sorted(key for key, archetype in built_in().archetypes.items() if archetype.calculated)


def every_ask(archetype: Archetype) -> Iterator[Chosen]:
    for variant in archetype.variants:
        for ask in variant.asks:
            yield Chosen(variant=variant, ask=ask, context=variant.contexts[0], indicator="", table=False)


@pytest.mark.thorough
@for_each("key", KEYS)
def test_a_division_earns_one_mark(key: str, bank: Bank, questions: Questions) -> None:
    """n numbers are joined by n − 1 signs; each earns a mark at most."""
    archetype = bank.archetypes[key]
    for chosen in every_ask(archetype):
        system = questions.system(chosen.variant)
        plan = questions.plans.find(system, given_names(chosen), chosen.ask.quantity)
        if any(system.relations[step.relation].kind in BY_AN_EQUATION for step in plan.steps):
            continue
        points = mark_points(system, plan, archetype.joined, table=False)
        assert len(points) <= len(words_of(plan.expression)) - 1, chosen.ask.quantity


def test_a_mass_over_a_volume_needs_no_amount(bank: Bank, questions: Questions) -> None:
    asked = set()
    for seed in range(12):
        question = questions.make(bank.archetypes["strength-by-difference"], Stream(f"marks/{seed}"))
        asked.add(question.draw.ask.quantity.kind)
        if question.draw.ask.quantity.kind == "mass concentration":
            assert [step.variable.kind for step in question.worked.steps] == ["mass", "mass concentration"]
            assert len(question.points) == 2
    assert "mass concentration" in asked


@pytest.mark.thorough
@for_each("key", KEYS)
def test_no_question_is_one_division(key: str, bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes[key]
    for chosen in every_ask(archetype):
        system = questions.system(chosen.variant)
        plan = questions.plans.find(system, given_names(chosen), chosen.ask.quantity)
        assert len(plan.steps) > 1
