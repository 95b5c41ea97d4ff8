"""The chain of a plan comes in; the common wrong plans go out, with the slips behind them and the marks that they keep.

The slips are those of the bank, put into the plan's own chain as they are put into an answer's. Nothing is worded.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from math import log10

from molewright.derivation.worked import Worked, mark_points
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import Calculation
from molewright.slips.mistaken_route import SlipTable
from molewright.slips.slip_words import Surroundings
from molewright.slips.wrong_answers import WrongAnswer, wrong_answers

MOST = 8
_BELIEVABLE = 100  # times too large or too small: further off, nobody would weigh it out


def wrong_plans(calculation: Calculation, worked: Worked, exact: Mapping[Name, Fraction]) -> tuple[WrongAnswer, ...]:
    """What the common mistakes would make of a plan, the nearest to the right one first.

    `exact` holds what the plan is worked out from, in base units. A mistake that hides within the accepted range is left out.
    """
    draw = calculation.draw
    points = mark_points(calculation.system, worked.plan, draw.archetype.joined, table=False)
    natures = calculation.mistakes.table.surroundings.natures
    around = Surroundings(draw.variant.procedure, calculation.system, worked.plan, calculation.masses, False, natures)
    table = SlipTable(calculation.bank.slips, calculation.system, worked.plan, around, points)
    right = table.right(exact, around.facts(()))
    found = wrong_answers(table.answers(right, worked.marks), worked)
    seen = [one for one in found if not one.hidden and not one.impossible and one.slips[0].often != "low"]
    kept = [one for one in seen if _apart(one, worked.answer.number) < log10(_BELIEVABLE)]
    return tuple(sorted(kept, key=lambda one: (_apart(one, worked.answer.number), one.slips[0].key))[:MOST])


def _apart(one: WrongAnswer, right: Decimal) -> float:
    """How many powers of ten lie between a wrong plan and the right one."""
    return abs(log10(float(one.answer.number) / float(right))) if one.answer.number > 0 else float("inf")
