"""A plan with its values comes in; by how many per cent each quantity changes for one per cent of each input goes out, exactly.

The derivatives are those of the relations themselves, step by step: in a product the powers add up, in a sum every share weighs as much
as it is of the whole, and an expression is differentiated by its signs. Nothing is taken from differences of two values.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction
from functools import reduce
from typing import Any, TypeAlias

from molewright.bank.algebra import Tree
from molewright.derivation.derive import Plan
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System

Weights: TypeAlias = Mapping[Name, Fraction]
"""Of one quantity: (x/y) dy/dx for every input x that it depends on."""

Partials: TypeAlias = dict[Any, Fraction]


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


def _shares(relation: Relation, target: Name, values: Mapping[Name, Fraction]) -> Partials:
    """Of the quantities beside the target: the power in a product, and in a sum what each is of the whole."""
    _, others = relation.alone(target)
    if relation.form == "product":
        return dict(others)
    return {name: share * values[name] / values[target] for name, share in others}


def _passed_on(shares: Partials, found: Mapping[Name, Weights]) -> Weights:
    weights: dict[Name, Fraction] = {}
    for name, share in shares.items():
        for source, weight in found.get(name, {}).items():
            weights[source] = weights.get(source, Fraction(0)) + share * weight
    return {source: weight for source, weight in weights.items() if weight}


# ------------------------------------------------------------------ expressions


def expression_weights(tree: Tree, values: Mapping[Any, Fraction]) -> dict[Any, Fraction]:
    """The weight of every word of an expression. Its value must not be zero."""
    value, partials = _differentiated(tree, values)
    return {word: partial * values[word] / value for word, partial in partials.items()}


def _differentiated(tree: Tree, values: Mapping[Any, Fraction]) -> tuple[Fraction, Partials]:
    """The value of an expression, and its derivative by every word in it."""
    head = tree[0]
    if head == "word":
        return values[tree[1]], {tree[1]: Fraction(1)}
    if head == "number":
        return Fraction(tree[1]), {}
    if head == "^":
        value, partials = _differentiated(tree[1], values)
        power = tree[2]
        return value**power, _scaled(partials, power * value ** (power - 1))
    parts = [_differentiated(part, values) for part in tree[1:]]
    return reduce(_RULES[head], parts)


def _scaled(partials: Partials, factor: Fraction) -> Partials:
    return {word: partial * factor for word, partial in partials.items()}


def _both(one: Partials, other: Partials) -> Partials:
    return {word: one.get(word, Fraction(0)) + other.get(word, Fraction(0)) for word in (*one, *other)}


_Dual: TypeAlias = tuple[Fraction, Partials]


def _sum(one: _Dual, other: _Dual) -> _Dual:
    return one[0] + other[0], _both(one[1], other[1])


def _difference(one: _Dual, other: _Dual) -> _Dual:
    return one[0] - other[0], _both(one[1], _scaled(other[1], Fraction(-1)))


def _product(one: _Dual, other: _Dual) -> _Dual:
    return one[0] * other[0], _both(_scaled(one[1], other[0]), _scaled(other[1], one[0]))


def _quotient(one: _Dual, other: _Dual) -> _Dual:
    return _product(one, (1 / other[0], _scaled(other[1], -1 / other[0] ** 2)))


_RULES = {"+": _sum, "-": _difference, "*": _product, "/": _quotient}
