"""Two half-equations of a pupil's own come in, and what was put together from them; what that earns by these two goes out.

A wrong half-equation has lost its mark where it stands. What is put together from it, each taken as often as its electrons ask for,
is right by it, as a number that follows from a wrong one is.
"""

from __future__ import annotations

from dataclasses import replace
from math import gcd

from molewright.answer.equation_sides import Kind, kind_of
from molewright.answer.equations import AskedEquation, JudgedEquation, judge_equation
from molewright.chem.reaction import Reaction, Species


def judge_combined(asked: AskedEquation, typed: Reaction, halves: tuple[Reaction, Reaction]) -> JudgedEquation | None:
    """What an equation earns as one that is put together from these; None where they leave nothing to be put together."""
    own = put_together(*halves)
    return None if own is None else judge_equation(replace(asked, reaction=own), typed)


def put_together(one: Reaction, other: Reaction) -> Reaction | None:
    """The equation that two half-equations make, without electrons and without what stands on both sides.

    None where not one of them takes electrons up and the other gives some, or where nothing is left on a side.
    """
    first, second = electrons_taken(one), electrons_taken(other)
    if first * second >= 0:
        return None
    shared = gcd(first, second)
    net: dict[Kind, int] = {}
    species: dict[Kind, Species] = {}
    for times, half in ((abs(second) // shared, one), (abs(first) // shared, other)):
        for sign, side in ((times, half.left), (-times, half.right)):
            for term in side:  # electrons come to nothing, as often as each half is taken
                kind = kind_of(term.formula)
                species.setdefault(kind, term)
                net[kind] = net.get(kind, 0) + sign * term.coefficient
    left = tuple(replace(species[kind], coefficient=count) for kind, count in net.items() if count > 0)
    right = tuple(replace(species[kind], coefficient=-count) for kind, count in net.items() if count < 0)
    return Reaction(left, right) if left and right else None


def electrons_taken(half: Reaction) -> int:
    """How many electrons a half-equation takes up; below nothing where it gives some."""
    return sum(
        sign * term.coefficient
        for sign, side in ((1, half.left), (-1, half.right))
        for term in side
        if term.formula.is_electron
    )
