"""What is made ready once finds what is found step by step: a chain, whatever its relations, and a relation solved for any quantity."""

from __future__ import annotations

from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from shared.for_each import for_each

# A back titration, two unknowns at once, water of crystals, a blank, an oxidation state.
KEYS = ("back-portions", "dolomite-mixture", "iron-and-iron", "magnesium-sulfate-water", "two-carbonates")


@for_each("key", KEYS)
def test_a_chain_finds_what_each_relation_finds_by_itself(key: str, bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes[key], Stream(f"chain/{key}"))
    values = {step.variable.name: step.exact for step in question.worked.steps}
    known = {**question.given, **values}
    relations = [step.relation for step in question.worked.steps if step.relation is not None]
    assert len(relations) > 1
    for relation in relations:
        for target in relation.names:
            pairs = {name: (known[name].numerator, known[name].denominator) for name in relation.names}
            del pairs[target]
            assert (
                Fraction(*relation.finding(target)(pairs)) == Fraction(*relation.ratio(target, pairs)) == known[target]
            )
