"""A mixture that comes to equilibrium, performed forward: amounts and what is known of it come in; amounts at equilibrium go out.

The constant leads to a quadratic equation. Where its root is a fraction it is found exactly, which is what makes the replay of an
answer a proof; any other root, of numbers that are drawn, is told to some thirty figures, far below a reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import isqrt
from typing import TypeVar

from molewright.chem.powers import root
from molewright.experiment.equilibrium import CONSTANT, Settle
from molewright.experiment.quantities import Name

Number = TypeVar("Number", Fraction, float)


def settle(act: Settle, amounts: dict[str, Fraction], values: Mapping[Name, Fraction]) -> None:
    """Turn what is in the vessel into what is there at equilibrium."""
    turned = _turned(act, amounts, values)
    for species in act.left:
        amounts[species] -= turned
    for species in act.right:
        amounts[species] = amounts.get(species, 0 * turned) + turned


def _turned(act: Settle, amounts: Mapping[str, Fraction], values: Mapping[Name, Fraction]) -> Fraction:
    """How much has reacted by then: told as such, by what is there at equilibrium, by the share, or by the constant."""
    if act.turned in values:
        return values[act.turned]
    for species in (*act.left, *act.right):
        if act.reached(species) in values:
            there, start = values[act.reached(species)], amounts.get(species, Fraction(0))
            return start - there if species in act.left else there - start
    if act.share in values:
        return values[act.share] * amounts[act.followed] / 100
    return _by_constant(act, amounts, values[CONSTANT])


def _by_constant(act: Settle, amounts: Mapping[str, Fraction], constant: Fraction) -> Fraction:
    """The root of K(a - x)(b - x) = (c + x)(d + x) that leaves no amount below nothing."""
    first, second = (amounts[species] for species in act.left)
    third, fourth = (amounts.get(species, 0 * first) for species in act.right)
    square = constant - 1
    line = -(constant * (first + second) + third + fourth)
    rest = constant * first * second - third * fourth
    if square == 0:
        return -rest / line
    root = _root(line * line - 4 * square * rest)
    roots = ((-line - root) / (2 * square), (-line + root) / (2 * square))
    low, high = -min(third, fourth), min(first, second)
    return next((one for one in roots if low <= one <= high), roots[0])


def _root(number: Number) -> Number:
    if isinstance(number, Fraction):
        exact = Fraction(isqrt(number.numerator), isqrt(number.denominator))
        if exact * exact == number:
            return exact
    return root(number, 2)
