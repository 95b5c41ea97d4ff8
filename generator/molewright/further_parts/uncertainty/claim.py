"""A calculation comes in; a part goes out that asks whether a printed claim lies within the uncertainty of the answer. Judges nothing.

The uncertainty is the greatest one (`budget`), each percentage passed on by its factor. The claim is drawn to lie clearly inside the
range or clearly outside it, each about every second time, never on the edge.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Named,
    Quotient,
    Reckoning,
    Space,
    Strong,
    said,
    writing_lines,
)
from molewright.further_parts.uncertainty.budget import budget_of
from molewright.further_parts.uncertainty.measured import FIGURES

INSIDE = (20, 65)  # how far from the answer a true claim lies, in per cent of the uncertainty
OUTSIDE = (160, 300)
EDGE = (Fraction(80, 100), Fraction(130, 100))  # no claim between these, whatever was rounded on the way
_TRIES = 20


def ask_claim(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Whether a claim agrees with the answer."""
    answer = calculation.worked.answer
    total = Quantity(to_figures(budget_of(calculation).greatest, FIGURES), Unit.PERCENT)
    spread = abs(answer.exact) * total.exact / 100
    claim = _claimed(calculation, answer, spread)
    holds = abs(claim.exact - answer.exact) <= spread
    return (_part(calculation, answer, total, spread, claim, holds),)


def _claimed(calculation: Calculation, answer: Quantity, spread: Fraction) -> Quantity:
    """A claim with the places of the answer, clearly inside or clearly outside the range, about any answer that is accepted."""
    stream = calculation.stream
    inside = stream.chance(50)
    accepted = calculation.worked.accepted
    width = _width(spread, answer).exact
    for _ in range(_TRIES):
        away = Fraction(stream.whole(*(INSIDE if inside else OUTSIDE)), 100) * spread
        exact = answer.exact + (away if stream.chance(50) else -away)
        number = half_up(exact, max(0, answer.places))
        apart = [abs(Fraction(number) - Fraction(taken)) / reach for reach in (spread, width)
                 for taken in (answer.number, accepted.low.number, accepted.high.number)]  # fmt: skip
        sure = max(apart) < EDGE[0] if inside else min(apart) > EDGE[1]
        if sure and number != answer.number and number > 0 and not (answer.unit is Unit.PERCENT and number >= 100):
            return Quantity(number, answer.unit, answer.scientific)
    raise Refusal("claim", "no claim lies clearly inside or outside the uncertainty")


def _part(
    calculation: Calculation, answer: Quantity, total: Quantity, spread: Fraction, claim: Quantity, holds: bool
) -> FurtherPart:
    width = _width(spread, answer)
    low, high = (
        Quantity(half_up(answer.exact + side * width.exact, width.places), answer.unit, answer.scientific)
        for side in (-1, 1)
    )
    own = {"uncertainty", "combined uncertainty"} & set(calculation.draw.archetype.further_parts)
    asked = Named(calculation.worked.plan.asked)
    demand = (
        said("claim own", quantity=asked, claim=claim)
        if own
        else said("claim", quantity=asked, claim=claim, total=total)
    )
    difference = Quantity(abs(claim.number - answer.number), answer.unit, answer.scientific)
    return FurtherPart(
        kind="claim",
        demand=demand,
        points=(
            FurtherPoint(
                (
                    Reckoning((said("claim uncertainty"), "=", Quotient((total.number_text,), ("100",)), "×",
                               Quantity(answer.number, Unit.NONE, answer.scientific), "=", Strong(width))),
                ),
                width,
                (said("guide claim uncertainty"),),
            ),
            FurtherPoint(
                (said("claim range", low=low, high=high), said("claim holds" if holds else "claim fails", claim=claim)),
                "consistent" if holds else "not consistent",
                (said("guide claim difference", difference=difference),),
            ),
        ),
        space=(Space(height_mm=20.0), writing_lines(1)),
        hint=said("hint claim"),
    )  # fmt: skip


def _width(spread: Fraction, answer: Quantity) -> Quantity:
    """The uncertainty with the places of the answer, or with one figure where it would vanish."""
    number: Decimal = half_up(spread, answer.places)
    return Quantity(number if number else to_figures(spread, 1), answer.unit, answer.scientific)
