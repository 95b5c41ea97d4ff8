"""Sensitivities: by hand for each form of relation and sign, and for whole derivations against central differences."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.algebra import compiled, parse_algebra
from molewright.derivation.evaluated import evaluate
from molewright.derivation.sensitivity import expression_weights, sensitivities
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.for_each import for_each

VALUES = {"a": Fraction(7, 2), "b": Fraction(5, 3), "c": Fraction(11, 4)}


def differences(measured: object, values: dict[str, Fraction], word: str) -> Fraction:
    """(x/y) dy/dx by central differences, to some eighteen figures."""
    assert callable(measured)
    step = values[word] / 10**9
    up, down = (measured({**values, word: values[word] + sign * step}) for sign in (1, -1))
    return Fraction((up - down) / (2 * step) * values[word] / measured(values))


@pytest.mark.parametrize(
    ("expression", "weights"),
    [
        ("a * b / c", {"a": 1, "b": 1, "c": -1}),
        ("a - b", {"a": Fraction(21, 11), "b": Fraction(-10, 11)}),  # 3.5/(3.5 − 1.667), 1.667/(3.5 − 1.667)
        ("a + b", {"a": Fraction(21, 31), "b": Fraction(10, 31)}),
        ("a * (b + c) - a * c", {"a": 1, "b": 1, "c": 0}),
        ("a / (b - a * b)", {"a": Fraction(-2, 5), "b": -1}),  # 1/(1 − a) = 1/(1 − 3.5)
    ],
)
def test_the_weights_of_an_expression_are_those_worked_by_hand(expression: str, weights: dict[str, Fraction]) -> None:
    assert expression_weights(parse_algebra(expression, VALUES), VALUES) == weights


def test_a_power_weighs_as_much_as_it_is() -> None:
    assert expression_weights(("^", ("word", "a"), -3), VALUES) == {"a": -3}


@pytest.mark.parametrize("expression", ["(a - b) * c / (a + c)", "a * b - c / (b + 2)", "(a * a - b) / (c - b * 0.5)"])
def test_an_expression_is_differentiated_as_differences_say(expression: str) -> None:
    tree = parse_algebra(expression, VALUES)
    for word, weight in expression_weights(tree, VALUES).items():
        assert abs(weight - differences(compiled(tree), VALUES, word)) < Fraction(1, 10**15)


def weights_of(question: Question) -> dict[object, dict[object, Fraction]]:
    values = {**question.given, **{step.variable.name: step.exact for step in question.worked.steps}}
    found = sensitivities(question.system, question.worked.plan, values, list(question.draw.given))
    return {name: dict(weights) for name, weights in found.items()}


@for_each(
    "key", ["back-portions", "soda-water", "soda-and-salt", "back-portions-blank", "dolomite-mixture", "iron-in-ore"]
)
def test_a_whole_derivation_is_differentiated_as_differences_say(key: str, questions: Questions) -> None:
    question = questions.make(questions.bank.archetypes[key], Stream(f"sensitivity {key}"))
    plan = question.worked.plan
    found = weights_of(question)[plan.asked]
    assert found
    for name in question.draw.given:
        step = question.given[name] / 10**9
        up, down = (
            evaluate(plan.expression, {**question.given, name: question.given[name] + sign * step}) for sign in (1, -1)
        )
        by_hand = (up - down) / (2 * step) * question.given[name] / question.worked.exact
        assert abs(found.get(name, Fraction(0)) - by_hand) < Fraction(1, 10**12), name


def test_what_no_step_uses_has_no_weight(questions: Questions) -> None:
    for number in range(40):
        question = questions.make(questions.bank.archetypes["direct-purity"], Stream(f"unused {number}"))
        if question.draw.ask.quantity.kind == "mass within":
            break
    (sample,) = (name for name in question.draw.given if name.kind == "mass")
    assert sample not in weights_of(question)[question.worked.plan.asked]
