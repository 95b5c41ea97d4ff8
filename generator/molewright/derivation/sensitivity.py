"""A plan with its values comes in; by how many per cent each quantity changes for one per cent of each input goes out, exactly.

The derivatives are those of the relations themselves, step by step: in a product the powers add up, in a sum every share weighs as much
as it is of the whole, and an expression is differentiated by its signs. Nothing is taken from differences of two values.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping
from fractions import Fraction
from functools import partial, reduce
from typing import TypeAlias, TypeVar

from molewright.bank.algebra import Tree
from molewright.derivation.derive import Plan
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System

Weights: TypeAlias = Mapping[Name, Fraction]
"""Of one quantity: (x/y) dy/dx for every input x that it depends on."""

Word = TypeVar("Word", bound=Hashable)


def sensitivities(
    system: System, plan: Plan, values: Mapping[Name, Fraction], inputs: Collection[Name]
) -> dict[Name, Weights]:
    """The weights of the inputs and of every quantity that a plan finds; `values` holds the givens and what the steps find."""
    found: dict[Name, Weights] = {name: {name: Fraction(1)} for name in inputs}
    for step in plan.steps:
        if step.together is None:
            shares = _shares(system.relations[step.relation], step.target, values)
        else:
            shares = expression_weights(step.together, values)
        found[step.target] = _passed_on(shares, found)
    return found


def _shares(relation: Relation, target: Name, values: Mapping[Name, Fraction]) -> Weights:
    """Of the quantities beside the target: the power in a product, and in a sum what each is of the whole."""
    if relation.form == "logarithm":  # of a pH one per cent of [H⁺] is no per cent: nothing that is asked rests on this
        raise ArithmeticError(f"the {target} is no power of what it rests on")
    _, others = relation.alone(target)
    if relation.form == "product":
        of_target = abs(relation.power(target))
        return {name: power / of_target for name, power in others}
    return {name: share * values[name] / values[target] for name, share in others}


def _passed_on(shares: Weights, found: Mapping[Name, Weights]) -> Weights:
    weights: dict[Name, Fraction] = {}
    for name, share in shares.items():
        for source, weight in found.get(name, {}).items():
            weights[source] = weights.get(source, Fraction(0)) + share * weight
    return {source: weight for source, weight in weights.items() if weight}


# ------------------------------------------------------------------ expressions


def expression_weights(tree: Tree, values: Mapping[Word, Fraction]) -> dict[Word, Fraction]:
    """The weight of every word of an expression, keyed as the words are spelt. Its value must not be zero."""
    value, partials = _differentiated(tree, values)
    return {word: slope * values[word] / value for word, slope in partials.items()}


def _differentiated(tree: Tree, values: Mapping[Word, Fraction]) -> tuple[Fraction, dict[Word, Fraction]]:
    """The value of an expression, and its derivative by every word in it."""
    head = tree[0]
    if head == "word":
        return values[tree[1]], {tree[1]: Fraction(1)}
    if head == "number":
        return Fraction(tree[1]), {}
    if head == "^":
        value, partials = _differentiated(tree[1], values)
        power = tree[2]
        return value**power, _weighed((power * value ** (power - 1), partials))
    first, *others = (_differentiated(part, values) for part in tree[1:])
    return reduce(partial(_joined, head), others, first)


def _joined(
    sign: str, one: tuple[Fraction, dict[Word, Fraction]], other: tuple[Fraction, dict[Word, Fraction]]
) -> tuple[Fraction, dict[Word, Fraction]]:
    """Two expressions with a sign between them."""
    (a, by_a), (b, by_b) = one, other
    match sign:
        case "+":
            return a + b, _weighed((Fraction(1), by_a), (Fraction(1), by_b))
        case "-":
            return a - b, _weighed((Fraction(1), by_a), (Fraction(-1), by_b))
        case "*":
            return a * b, _weighed((b, by_a), (a, by_b))
        case _:
            return a / b, _weighed((1 / b, by_a), (-a / b**2, by_b))


def _weighed(*several: tuple[Fraction, dict[Word, Fraction]]) -> dict[Word, Fraction]:
    """Derivatives added up, each with its factor."""
    found: dict[Word, Fraction] = {}
    for factor, partials in several:
        for word, one in partials.items():
            found[word] = found.get(word, Fraction(0)) + factor * one
    return found
