"""A calculation comes in; the curve of a flask titrated on from one end point to the next goes out, with all its steps.

Which steps an eye sees is computed from the curve and never listed: two weak stages that lie near each other make one step. Constants
are those of the tables, as in `course`; carbon dioxide is taken to stay dissolved. Nothing is worded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from molewright.bank.definitions import Bank, Indicator
from molewright.chem.curve import Titration
from molewright.draw.refusal import Refusal
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.procedure import Titrate
from molewright.experiment.solution import Solution
from molewright.further_parts.curves.course import SEEN, drawn_points, titration_of
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.flask import flask_before
from molewright.plausibility.solutes import Solutes

PAPER_CM3 = 30  # paper of this width has room for half cubic centimetres
POINTS = 200
_STEPS = 2
_ROOM_CM3 = 2.0  # of curve that must be seen beyond the last step
_BESIDE_CM3 = 0.02
_SAME_CM3 = 0.05  # half a tenth, to which a volume is read off
# An indicator shows a step where people stop within so much of the volume from the start, and the colour takes no longer than this.
_ERROR_PERCENT, _SPREAD_PERCENT = 1.5, 5.0
_NEAR_PERCENT = 3.0  # of the volume: textbooks name methyl orange for phosphoric acid, which is not to be called wrong


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """One flask and what is run in: the steps that an eye sees, each from the start, and the end points that none sees.

    Each step is an end point of the procedure, or all of them together are one, of an acid that gives up its protons in steps.
    """

    titration: Titration
    titrant: Solution
    acts: tuple[Titrate, ...]
    ends_cm3: tuple[float, ...]
    unseen_cm3: tuple[float, ...]

    def points(self) -> tuple[tuple[float, float], ...]:
        """The curve for drawing, to a thousandth: the same digits on every machine."""
        return drawn_points(self.titration, PAPER_CM3, POINTS)


def shows(titration: Titration, indicator: Indicator, end_cm3: float) -> bool:
    """Whether the colour of an indicator changes at an end point, early or late by little, and over little volume."""
    if indicator.low is None or indicator.high is None:
        return False
    low, high = float(indicator.low), float(indicator.high)
    stop = float(indicator.stop) if indicator.stop is not None else (low + high) / 2
    there = titration.volume_at(stop)
    spread = abs(titration.volume_at(high) - titration.volume_at(low))
    return abs(there - end_cm3) <= _ERROR_PERCENT / 100 * end_cm3 and spread <= _SPREAD_PERCENT / 100 * end_cm3


def near(titration: Titration, indicator: Indicator, end_cm3: float) -> bool:
    """Whether an indicator changes so near an end point that some would take it, though it does not show it well."""
    if indicator.low is None or indicator.high is None:
        return False
    ends = sorted(titration.ph_at(end_cm3 * (1 + side * _NEAR_PERCENT / 100)) for side in (-1, 1))
    return float(indicator.low) < ends[1] and ends[0] < float(indicator.high)


def slope(titration: Titration, volume_cm3: float) -> float:
    """How steep a curve is at a volume, in pH per cm³."""
    before, after = (titration.ph_at(volume_cm3 + side) for side in (-_BESIDE_CM3, _BESIDE_CM3))
    return abs(after - before) / (2 * _BESIDE_CM3)


def steps_of(calculation: Calculation) -> Steps:
    """The steps of a question's last flask. Raises Refusal where its end points are not the steps that an eye sees."""
    bank, draw = calculation.bank, calculation.draw
    acts = of_last_flask(draw.variant.procedure)
    solutes = Solutes.of_tables(bank)
    flask = flask_before(acts[0], draw.variant.procedure, draw.truth, solutes.held)
    if flask is None or len({one.titrant.name for one in acts}) != 1:
        raise Refusal("curve", "no flask is titrated on with the same solution")
    titration = titration_of(solutes, flask, acts[0].titrant.species)
    titres = [float(draw.given[one.titre].number) for one in acts if one.titre in draw.given]
    if len(titres) != len(acts):
        raise Refusal("curve", "a titre is asked for and stands on no curve")
    ends = [sum(titres[: at + 1]) for at in range(len(titres))]
    if ends[-1] > PAPER_CM3 - _ROOM_CM3:
        raise Refusal("curve", f"the last step at {ends[-1]:.1f} cm³ lies beyond the paper")
    every = [one for one in titration.equivalence_volumes() if one < PAPER_CM3]
    exact = [_nearest(every, end) for end in ends]
    if any(abs(one - end) > _SAME_CM3 * (1 + len(ends)) for one, end in zip(exact, ends, strict=True)):
        raise Refusal("curve", "an end point of the procedure is no equivalence point of the flask")
    seen = [one for one in every if slope(titration, one) >= SEEN]
    if seen != exact and not (len(exact) == 1 and len(seen) == _STEPS and seen[-1] == exact[0]):
        told = ", ".join(f"{one:.1f}" for one in seen) or "none"
        raise Refusal(
            "curve", f"an eye sees steps at {told} cm³ and not at {', '.join(f'{one:.1f}' for one in exact)} cm³"
        )
    if len(acts) == 1:  # all stages in one equation: the steps before the last are read as well
        ends = [*seen[:-1], *ends]
    return Steps(
        titration=titration,
        titrant=acts[0].titrant,
        acts=acts,
        ends_cm3=tuple(ends),
        unseen_cm3=tuple(one for one in titration.equivalence_volumes() if one not in seen),
    )


def _nearest(volumes: Sequence[float], end_cm3: float) -> float:
    """The equivalence point next to an end point; infinite where there is none."""
    return min(volumes, key=lambda one: abs(one - end_cm3), default=math.inf)


@dataclass(frozen=True, slots=True, kw_only=True)
class Between:
    """The middle between two steps: where half of an ion has given up its next proton, and the constant that the pH tells."""

    ph: float
    formula: str  # of what gives the proton up


def between(bank: Bank, found: Steps) -> Between:
    """The middle between the last two steps. Raises Refusal where the pH there is not the pKa of one acid, within a tenth."""
    pairs = list(pairwise(found.ends_cm3))
    if not pairs:
        raise Refusal("curve", "there is one step only, and nothing between two")
    ph = found.titration.ph_at(sum(pairs[-1]) / 2)
    apart = [
        (abs(pka - ph), name, lost) for name in _families(bank, found) for lost, pka in enumerate(bank.acids[name].pkas)
    ]
    if not apart or min(apart)[0] > 0.1:
        raise Refusal("curve", f"the pH between the steps, {ph:.2f}, is the pKa of nothing in the flask")
    _, name, lost = min(apart)
    formula = bank.acids[name].formula
    if lost:
        formula = next(
            (one.formula for one in bank.ions.values() if one.acids == (name,) and one.lost == lost), ""
        )  # fmt: skip
    if not formula:
        raise Refusal("curve", f"no formula is known for {name} that has lost {lost} protons")
    return Between(ph=ph, formula=formula)


def _families(bank: Bank, found: Steps) -> set[str]:
    """The acid families of what reacts in the titrations."""
    solutes = Solutes(bank)
    members = {one.formula.text for act in found.acts for reaction in act.reactions for one in reaction.left}
    return {name for one in members for _, ion in solutes.parts(one) or () for name in ion.acids}
