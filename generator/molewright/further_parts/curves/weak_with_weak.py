"""A calculation comes in; parts go out on the same titration with a weak acid or base in the burette, for which no indicator serves.

The partner stands in the variant's role `weak`; it is as strong as the titrant, so that the end point stays where it is. Its curve is
computed, and so is that no indicator of the bank shows the end point.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from molewright.chem.curve import Titration
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.course import course, drawn_points, read_off, titration_of
from molewright.further_parts.curves.ph_curve import CurvePicture, Spot
from molewright.further_parts.curves.steps import shows
from molewright.further_parts.curves.suitable_indicators import ranged
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    said,
    writing_lines,
)
from molewright.plausibility.flask import last_flask
from molewright.plausibility.solutes import Solutes

ROLE = "weak"
_BESIDE_CM3 = 0.5


def ask_weak_with_weak(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Two parts: why no indicator shows this end point, read from the curve, and how it can be found all the same."""
    found = course(calculation)
    bank, draw = calculation.bank, calculation.draw
    weak = draw.variant.roles.get(ROLE, "")
    if found.weak is None or weak not in bank.substances:
        raise Refusal("weak with weak", f"nothing weak is titrated, or no role '{ROLE}' says with what")
    titration = _with(calculation, weak)
    every = ranged(calculation, found)
    showing = [one.name for one in every if shows(titration, one.indicator, found.end_cm3)]
    if showing:
        raise Refusal("weak with weak", f"{showing[0]} would show the end point")
    spreads = (abs(titration.volume_at(one.high) - titration.volume_at(one.low)) for one in every)
    least = read_off(round(min(spreads), 3))
    ends = [titration.ph_at(found.end_cm3 + side) for side in (-_BESIDE_CM3, _BESIDE_CM3)]
    change = half_up(Fraction(repr(round(abs(ends[1] - ends[0]), 6))), 1)
    volume = Quantity(read_off(round(found.end_cm3, 3)), Unit.CM3)
    named = bank.substances[weak].solution
    strong = said("weak by strong", strong=Bottle(found.titrant.name))
    ways = (said("any one of"), said("weak by meter"), said("weak by graph"), strong)
    picture = CurvePicture(titrant="", burette=named, points=drawn_points(titration))
    end = Spot(found.end_cm3, titration.ph_at(found.end_cm3), said("spot end", volume=volume))
    return (
        FurtherPart(
            kind="weak with weak",
            demand=said("weak with weak", strong=Bottle(found.titrant.name), weak=named),
            points=(
                FurtherPoint(
                    (said("weak no jump", volume=volume, change=str(change)),),
                    "no sudden change of pH at the end point",
                    (said("guide weak no jump"),),
                ),
                FurtherPoint(
                    (said("weak slowly", least=Quantity(least, Unit.CM3)),),
                    "every indicator changes slowly",
                    (said("guide weak slowly"),),
                ),
            ),
            space=(writing_lines(2),),
            shown=(picture,),
            hint=said("hint weak with weak"),
            answered=(replace(picture, spots=(end,)),),
        ),
        FurtherPart(
            kind="weak with weak",
            demand=said("weak found otherwise", weak=named),
            points=(
                FurtherPoint(
                    ways,
                    "with a meter, or with a strong titrant",
                    (said("guide weak otherwise"),),
                ),
            ),
            space=(writing_lines(1),),
            hint=said("hint weak otherwise"),
        ),
    )


def _with(calculation: Calculation, weak: str) -> Titration:
    """The same flask with the weak one in the burette, as strong as the titrant is."""
    solutes = Solutes.of_tables(calculation.bank)
    flask = last_flask(calculation.draw.variant.procedure, calculation.draw.truth, solutes.held)
    if flask is None:
        raise Refusal("weak with weak", "nothing is in the flask")
    return titration_of(solutes, flask, weak)
