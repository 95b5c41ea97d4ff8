"""A calculation comes in; parts on a curve with several steps go out: each step's volume, the constant between two, the indicators.

The volumes are read before the calculation, which uses them: up to the first step, and from each step to the next. What may be read off
paper with half cubic centimetres is accepted, a little more than half a division for the place of the steepest part.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Indicator
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.course import read_off
from molewright.further_parts.curves.indicator_parts import indicator_table
from molewright.further_parts.curves.ph_curve import PKA, CurvePicture, Spot
from molewright.further_parts.curves.steps import PAPER_CM3, Steps, between, near, shows, steps_of
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Piece,
    Quotient,
    Reckoning,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)

_READ = Decimal("0.3")  # cm³, one step
_READ_TWICE = Decimal("0.5")  # cm³, from one step to the next
_PH_READ = Decimal("0.2")
_LISTED = 5

_ORDINALS = ("first", "second", "third")


def _picture(found: Steps, spots: tuple[Spot, ...] = ()) -> CurvePicture:
    return CurvePicture(
        titrant=found.titrant.name, points=found.points(), spots=spots, across_cm3=PAPER_CM3, divided=10
    )


def _spots(found: Steps) -> tuple[Spot, ...]:
    return tuple(Spot(end, found.titration.ph_at(end), said("spot end", volume=_volume(end))) for end in found.ends_cm3)


def _volume(value: float) -> Quantity:
    return Quantity(read_off(round(value, 3)), Unit.CM3)


def read_steps(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """A part before the calculation for every step: the volume up to it, or from the step before."""
    found = steps_of(calculation)
    if len(found.acts) == 1:
        return (_both(calculation, found),)
    parts: list[FurtherPart] = []
    for at, (act, end) in enumerate(zip(found.acts, found.ends_cm3, strict=True)):
        titre = calculation.draw.given[act.titre]
        there = _volume(end)
        lines: tuple[Piece, ...] = (said("step at", volume=Strong(there)),)
        points = [FurtherPoint(lines, there, (said("guide step steepest"),))]
        if at:
            earlier = _volume(found.ends_cm3[at - 1])
            taken = (f"{there.number}", "−", f"{earlier.number}", "=", Strong(titre))
            points.append(FurtherPoint((Reckoning(taken),), titre, (said("guide step on"),)))
        read = _READ_TWICE if at else _READ
        parts.append(
            FurtherPart(
                kind="step curve",
                demand=said(f"step {_ORDINALS[at]}", titrant=Bottle(found.titrant.name)),
                points=tuple(points),
                space=(Space(height_mm=10.0 if at else 4.0, rule_mm=45.0, unit=Unit.CM3),),
                shown=() if at else (_picture(found),),
                hint=said("hint step on" if at else "hint step"),
                accepted=(titre.number - read, titre.number + read),
                unit=Unit.CM3,
                answered=(_picture(found, _spots(found)),) if at == len(found.acts) - 1 else (),
                first=True,
                reads=act.titre,
            )
        )
    return tuple(parts)


def _both(calculation: Calculation, found: Steps) -> FurtherPart:
    """Both steps of an acid that gives up its protons one after the other: the calculation goes on with the last."""
    act = found.acts[-1]
    titre = calculation.draw.given[act.titre]
    first = _volume(found.ends_cm3[0])
    return FurtherPart(
        kind="step curve",
        demand=said("step both", titrant=Bottle(found.titrant.name)),
        points=(
            FurtherPoint((said("step at", volume=Strong(first)),), first, (said("guide step steepest"),)),
            FurtherPoint((said("step last at", volume=Strong(titre)),), titre, (said("guide step last"),)),
        ),
        space=(
            Space(height_mm=4.0, rule_mm=45.0, unit=Unit.CM3, label=said("label first step")),
            Space(height_mm=4.0, rule_mm=45.0, unit=Unit.CM3, label=said("label last step")),
        ),
        shown=(_picture(found),),
        hint=said("hint step"),
        accepted=(titre.number - _READ, titre.number + _READ),
        unit=Unit.CM3,
        answered=(_picture(found, _spots(found)),),
        first=True,
        reads=act.titre,
    )


def read_constant(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part: the constant of the acid that reacts in the last step, from the pH in the middle between the last two steps."""
    found = steps_of(calculation)
    middle = between(calculation.bank, found)
    first, last = (_volume(end) for end in found.ends_cm3[-2:])
    middle_cm3 = (Fraction(first.number) + Fraction(last.number)) / 2
    volume = Quantity(half_up(middle_cm3, 1 if (middle_cm3 * 10).denominator == 1 else 2), Unit.CM3)
    there = read_off(round(middle.ph, 3))
    halves = Reckoning(
        (Quotient((f"{first.number}", "+", f"{last.number}"), ("2",)), "=", Strong(volume)),
    )
    return (
        FurtherPart(
            kind="step constant",
            demand=said("step constant", constant=PKA, formula=Chemical(middle.formula)),
            points=(
                FurtherPoint((halves,), volume, (said("guide step middle"),)),
                FurtherPoint(
                    (said("step half", formula=Chemical(middle.formula), constant=PKA, ph=Strong(str(there))),),
                    str(there),
                    (said("guide half pH"),),
                ),
            ),
            space=(Space(height_mm=12.0, rule_mm=45.0, label=(PKA, " =")),),
            hint=said("hint step constant", constant=PKA),
            accepted=(there - _PH_READ, there + _PH_READ),
        ),
    )


# ------------------------------------------------------------------ an indicator for each step, or none


def choose_for_steps(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part: an indicator from a printed table for each step of the curve, and why none shows a later stage, where there is one."""
    found = steps_of(calculation)
    every = sorted(
        (one for one in calculation.bank.indicators.values() if one.low is not None and one.high is not None),
        key=lambda one: (one.low, one.high),
    )
    right = [[one for one in every if shows(found.titration, one, end)] for end in found.ends_cm3]
    later = [one for one in found.unseen_cm3 if one > found.ends_cm3[-1]]
    if not all(right) or any(shows(found.titration, one, end) for one in every for end in later):
        raise Refusal("indicator", "not every step that is seen has its indicator, and no other")
    stream = calculation.stream
    listed = [stream.pick(names) for names in right]
    wrong = [one for one in every if not any(near(found.titration, one, end) for end in found.ends_cm3)]
    if len({one.name for one in listed}) < len(listed) or not wrong:
        raise Refusal("indicator", "one indicator shows two steps, or there is nothing to choose from")
    listed += stream.shuffled(wrong)[: _LISTED - len(listed)]
    listed.sort(key=lambda one: (one.low or 0, one.high or 0))
    points = [
        _chosen(found, end, [one for one in listed if one in names], [one for one in names if one not in listed])
        for end, names in zip(found.ends_cm3, right, strict=True)
    ]
    return (
        FurtherPart(
            kind="step indicators",
            demand=said("step indicators none" if later else "step indicators"),
            points=(*points, *(_none(found, end) for end in later[:1])),
            space=(writing_lines(len(points) + len(later[:1])),),
            shown=(indicator_table(listed),),
            hint=said("hint step indicators"),
        ),
    )


def _chosen(found: Steps, end: float, names: list[Indicator], others: list[Indicator]) -> FurtherPoint:
    """What is right for one step: those of the table, and others that would do."""
    ph = str(read_off(round(found.titration.ph_at(end), 3)))
    listed = " or ".join(one.name for one in names)
    guidance: tuple[Said, ...] = (said("guide step pH", ph=ph),)
    if others:
        guidance += (said("guide other indicators", names=" or ".join(one.name for one in others)),)
    return FurtherPoint((said("step indicator", volume=_volume(end), names=Strong(listed)),), listed, guidance)


def _none(found: Steps, end: float) -> FurtherPoint:
    """Why a later stage shows no end point: how little the pH changes there."""
    before, after = (round(found.titration.ph_at(end + side), 3) for side in (-1.0, 1.0))
    return FurtherPoint(
        (said("step no jump", volume=_volume(end), change=str(half_up(Fraction(repr(abs(after - before))), 2))),),
        "none: the pH changes too slowly there",
        (said("guide step no jump"),),
    )
