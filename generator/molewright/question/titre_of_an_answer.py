"""A question and a value of its answer come in; the titre that the experiment would have had goes out: an answer put back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from molewright.bench.perform import BenchFault, perform
from molewright.experiment.procedure import Titrate
from molewright.question.check import Question

_A_LITTLE = Fraction(1001, 1000)


@dataclass(frozen=True, slots=True)
class PutBack:
    """A titration, the titre in cm³ that a value of the answer leads to, exactly, and the one that was measured."""

    titration: Titrate
    titre: Fraction
    measured: Fraction


def put_back(question: Question, value: Fraction) -> PutBack | None:
    """The last titration whose titre depends on the answer, with that which this value (in its base unit) leads to.

    None where no titre depends on it: none is measured, it is itself asked for, or the value cannot be performed.
    """
    procedure, asked = question.draw.variant.procedure, question.draw.ask.quantity
    if not procedure.titrations or asked in {act.titre for act in procedure.titrations}:
        return None
    try:
        titres, moved = (
            perform(procedure, {**question.replayed, asked: one}).titres for one in (value, value * _A_LITTLE)
        )
    except (BenchFault, KeyError):  # an experiment of somebody's own may need numbers that only follow from its answer
        return None
    for act in reversed(procedure.titrations):
        if titres[act.titre] != moved[act.titre]:
            return PutBack(act, titres[act.titre], question.given[act.titre])
    return None
