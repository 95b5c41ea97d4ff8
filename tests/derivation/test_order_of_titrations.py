"""Branches that rest on titrations of their own are worked in the order in which the titrations are done."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.derive import plan
from molewright.draw.chosen import Chosen, given_names
from molewright.experiment.quantities import Name
from molewright.question.check import Questions
from shared.banks import built_in
from shared.for_each import for_each

KEYS = sorted(
    key
    for key, archetype in built_in().archetypes.items()
    if any(len(variant.procedure.titrations) > 1 for variant in archetype.variants)
)


@pytest.mark.thorough
@for_each("key", KEYS)
def test_no_later_titration_is_worked_out_before_an_earlier_one(key: str, bank: Bank, questions: Questions) -> None:
    """A titre that the chain uses comes after every titre read before it that the chain uses too, unless one of them leads to it."""
    archetype = bank.archetypes[key]
    seen = 0
    for variant in archetype.variants:
        if len(variant.procedure.titrations) < 2:
            continue
        titres = [titration.titre for titration in variant.procedure.titrations]
        for ask in variant.asks:
            chosen = Chosen(variant=variant, ask=ask, context=variant.contexts[0], indicator="", table=False)
            made = plan(questions.system(variant), given_names(chosen), ask.quantity)
            relations = questions.system(variant).relations
            used: list[Name] = []
            for step in made.steps:
                used += [name for name in relations[step.relation].names if name in titres and name != step.target]
            assert used == sorted(used, key=titres.index), (ask.quantity, used)
            seen += len(used)
    assert seen
