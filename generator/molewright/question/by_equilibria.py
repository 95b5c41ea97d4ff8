"""A worked answer that rests on a pH comes in; what the equilibria lead to without the approximations that are taught goes out.

Who solves a quadratic equation is right too. The bench balances all charges; the asked quantity is bent until its meter shows what is
known. What it leads to only widens the ranges of what is accepted, of the answer and of the steps before it: none of it is printed as
an answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from math import isfinite

from molewright.derivation.worked import Worked, base_factor
from molewright.draw.windows import look
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name
from molewright.experiment.relations.kinds import BY_DEFINITION

_MOST_LOOKS = 12
_CLOSE_ENOUGH_PH = 1e-7
_MOST_TIMES = 1.2  # how many times the answer by approximations the true one is at most, where numbers are not refused
_FIGURES = 8


def with_equilibria(procedure: Procedure, worked: Worked, values: Mapping[Name, Fraction]) -> Worked:
    """The same, where what the equilibria lead to is right too. `values` are all that the bench needs beside the answer."""
    asked = worked.plan.asked
    exactly = by_equilibria(procedure, asked, {**values, asked: worked.exact})
    if exactly is None:
        return worked
    wider = replace(worked, accepted=worked.accepted.wider([exactly * base_factor(worked.answer)]))
    return wider.with_also(_before(worked, values, exactly))


def _before(worked: Worked, values: Mapping[Name, Fraction], exactly: Fraction) -> dict[Name, Fraction]:
    """What the steps before the answer come to, as far as nothing between them and the answer is neglected."""
    made = {step.variable.name: step for step in worked.steps}
    known = {**values, **{name: step.exact for name, step in made.items()}}
    found: dict[Name, Fraction] = {}
    name, number = worked.plan.asked, exactly
    while True:
        relation = made[name].relation
        if relation is None or relation.kind not in BY_DEFINITION:
            return found
        earlier = [one for one in relation.names if one != name and one in made]
        if len(earlier) != 1:
            return found
        number = relation.solved(earlier[0], {**known, name: number})
        name = earlier[0]
        found[name] = number


def by_equilibria(procedure: Procedure, asked: Name, values: Mapping[Name, Fraction]) -> Fraction | None:
    """The asked quantity by the equilibria; None where no meter is read, or none of it depends on what is asked.

    `values` hold every number that the bench needs, in base units, with the answer by approximations among them.
    """
    if not procedure.meters:
        return None
    floats = {name: float(value) for name, value in values.items()}
    shown = look(procedure, floats).meters
    if asked in shown:
        return _kept(shown[asked])
    meter = next((name for name in shown if name in values), None)
    if meter is None:
        return None

    def apart(tried: float) -> float:
        return look(procedure, {**floats, asked: tried}).meters[meter] - floats[meter]

    found = _nought(apart, floats[asked])
    return None if found is None else _kept(found)


def _nought(apart: Callable[[float], float], near: float) -> float | None:
    """Where something is nought, by straight lines from two points to the next."""
    one, other = near, near * 1.01
    at_one, at_other = apart(one), apart(other)
    for _ in range(_MOST_LOOKS):
        if abs(at_other) < _CLOSE_ENOUGH_PH:
            return other
        if at_other == at_one:
            return None
        following = other - at_other * (other - one) / (at_other - at_one)
        if not (isfinite(following) and near / _MOST_TIMES < following < near * _MOST_TIMES):
            return None
        one, at_one, other, at_other = other, at_other, following, apart(following)
    return None


def _kept(number: float) -> Fraction:
    return Fraction(f"{number:.{_FIGURES}e}")
