"""A lowered expression and values come in; its exact number goes out, or values as pairs of whole numbers. Nothing is planned."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import lru_cache
from typing import TypeAlias, cast

from molewright.bank.algebra import Tree, compiled, words_of
from molewright.experiment.quantities import Name
from molewright.machine.same import Same


class _Unreduced:
    """Two whole numbers as a fraction that is reduced at the end only: a reduction at every sign costs ten times as much."""

    __slots__ = ("denominator", "numerator")

    def __init__(self, numerator: int, denominator: int) -> None:
        self.numerator = numerator
        self.denominator = denominator

    def __add__(self, other: Fraction | _Unreduced) -> _Unreduced:
        up = self.numerator * other.denominator + other.numerator * self.denominator
        return _Unreduced(up, self.denominator * other.denominator)

    def __mul__(self, other: Fraction | _Unreduced) -> _Unreduced:
        return _Unreduced(self.numerator * other.numerator, self.denominator * other.denominator)

    def __pow__(self, power: int) -> _Unreduced:
        up, down = (self.numerator, self.denominator) if power >= 0 else (self.denominator, self.numerator)
        return _Unreduced(up ** abs(power), down ** abs(power))

    __radd__, __rmul__ = __add__, __mul__


def evaluate(expression: Tree, values: Mapping[Name, Fraction]) -> Fraction:
    """The exact value of a lowered expression."""
    words, run = _ready(Same(expression))
    needed = ((name, values[name]) for name in words)
    found = run({name: _Unreduced(value.numerator, value.denominator) for name, value in needed})
    return Fraction(found.numerator, found.denominator)


@lru_cache(maxsize=4096)
def _ready(expression: Same) -> tuple[frozenset[Name], Callable[[Mapping[Name, _Unreduced]], _Unreduced]]:
    """The words of an expression, and a function of their values: of each plan made once."""
    tree = cast(Tree, expression.held)
    return frozenset(words_of(tree)), compiled(tree)


Pairs: TypeAlias = dict[Name, tuple[int, int]]
"""Values as two whole numbers each, not reduced."""


def pairs_of(values: Mapping[Name, Fraction]) -> Pairs:
    """Exact values as pairs of whole numbers."""
    return {name: (value.numerator, value.denominator) for name, value in values.items()}
