"""A calculation comes in; parts on indicators go out: choosing one from printed ranges, its colours, why another will not do.

What is suitable is computed from the flask, never looked up in a list of pairs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from molewright.bank.definitions import Indicator
from molewright.chem.end_point import Verdict
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.course import BURETTE_CM3, Course, course, read_off
from molewright.further_parts.curves.ph_curve import CurvePicture, Strip
from molewright.further_parts.curves.suitable_indicators import (
    DROP_CM3,
    Ranged,
    printed_steep,
    ranged,
    serving,
    suitable,
)
from molewright.further_parts.pieces import (
    INDICATOR_CHOICE,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Piece,
    Rows,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)
from molewright.plausibility.rules import Plausibility

_ANSWERS = {
    "reject changed already": "its colour has changed before the start",
    "reject never changes": "its colour never changes",
    "reject unfinished": "its colour change is never finished",
    "reject too early": "its colour changes too early",
    "reject too late": "its colour changes too late",
}
_LISTED = 5
_CLEARLY = 0.5  # of pH between an unsuitable indicator's range and the steep part


def _clearly_out(one: Ranged, steep: tuple[float, float]) -> bool:
    return one.high < steep[0] - _CLEARLY or one.low > steep[1] + _CLEARLY


# ------------------------------------------------------------------ choosing one


def choose_indicator(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Two parts: an indicator from a printed table with the reason, and the colour change that goes with it."""
    found = course(calculation)
    judge = Plausibility(calculation.bank)
    names_of_suitable = suitable(calculation)
    steep = found.steep_part()
    right = serving(calculation, found)
    wrong = [
        one for one in ranged(calculation, found) if one.name not in names_of_suitable and _clearly_out(one, steep)
    ]
    if not right:
        raise Refusal("indicator", "no indicator shows this end point")
    if not wrong:  # where every indicator serves there is nothing to choose
        raise Refusal("indicator", "every indicator shows this end point")
    stream = calculation.stream
    picked = stream.shuffled(right)[: min(2, len(right))]
    picked += stream.shuffled(wrong)[: _LISTED - len(picked)]
    listed = sorted(picked, key=lambda one: (one.low, one.high))
    accepted = [one for one in listed if one in right]
    others = [one.name for one in right if one not in listed]
    blunt = [one.name for one in ranged(calculation, found) if one.name in names_of_suitable and one not in right]
    low, high = printed_steep(calculation, found)
    names = _either([one.name for one in accepted])
    guidance = (
        said("guide one indicator"),
        *((said("guide other indicators", names=_either(others)),) if others else ()),
        *((said("guide blunt indicators", names=_either(blunt)),) if blunt else ()),
    )
    choice = FurtherPart(
        kind=INDICATOR_CHOICE,
        demand=said("indicator choice"),
        points=(
            FurtherPoint((Strong(names),), names, guidance),
            FurtherPoint(
                (said("indicator reason", low=str(low), high=str(high)),),
                f"its range lies in the steep part, pH {low} to {high}",
                (said(_drops(accepted)), said("guide indicator reason")),
            ),
        ),
        space=(writing_lines(2),),
        shown=(indicator_table([one.indicator for one in listed]),),
        hint=said("hint indicator"),
    )
    return choice, _colours(calculation, judge, accepted)


def _drops(accepted: list[Ranged]) -> str:
    """What may be said of drops: that one is enough, where that is so of each of them."""
    return "guide one drop" if all(one.spread_cm3 <= DROP_CM3 for one in accepted) else "guide two drops"


def indicator_table(listed: Iterable[Indicator]) -> Rows:
    """Indicators with their ranges and colours, to choose from."""
    return Rows(
        heading=(said("indicator head"), said("range head"), said("acid head"), said("base head")),
        rows=tuple((one.name, f"{one.low} to {one.high}", one.acid_colour, one.base_colour) for one in listed),
        widths=(0.34, 0.2, 0.23, 0.23),
        summary=said("indicator summary"),
    )


def _colours(calculation: Calculation, judge: Plausibility, accepted: list[Ranged]) -> FurtherPart:
    """The colour change with each indicator that serves."""
    lines: list[Piece] = []
    told: list[str] = []
    for one in accepted:
        before, after = judge.colour_change(replace(calculation.draw, indicator=one.indicator.name))
        lines.append(said("colour change", indicator=one.indicator.name, before=Strong(before), after=Strong(after)))
        told.append(f"{one.indicator.name}: {before} to {after}")
    guidance: tuple[Said, ...] = (said("guide colours"),)
    if any("colourless" in each for each in told):
        guidance += (said("guide colourless"),)
    return FurtherPart(
        kind=INDICATOR_CHOICE,
        demand=said("indicator colours"),
        points=(FurtherPoint(tuple(lines), "; ".join(told), guidance),),
        space=(
            Space(height_mm=4.0, rule_mm=45.0, label=said("label from")),
            Space(height_mm=1.0, rule_mm=45.0, label=said("label to")),
        ),
        shown=(),
        hint=said("hint colours"),
    )


def _either(names: list[str]) -> str:
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))


# ------------------------------------------------------------------ why another will not do


def reject_indicator(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part: why an indicator does not serve, with where its range lies and what would be seen."""
    found = course(calculation)
    names_of_suitable = suitable(calculation)
    steep = found.steep_part()
    wrong = [
        one for one in ranged(calculation, found) if one.name not in names_of_suitable and _clearly_out(one, steep)
    ]
    if not wrong:
        raise Refusal("indicator", "every indicator shows this end point")
    one = calculation.stream.pick(wrong)
    low, high = printed_steep(calculation, found)
    span = f"pH {one.indicator.low} to {one.indicator.high}"
    seen = _seen(one.verdict, found)
    part = FurtherPart(
        kind="unsuitable indicator",
        demand=said(
            "reject indicator", indicator=one.indicator.name, low=str(one.indicator.low), high=str(one.indicator.high)
        ),
        points=(
            FurtherPoint(
                (said("reject range", span=span, low=str(low), high=str(high)),),
                f"{span} is not in the steep part, pH {low} to {high}",
                (said("guide reject range"),),
            ),
            FurtherPoint((seen,), _ANSWERS[seen.key], (said("guide reject seen"),)),
        ),
        space=(writing_lines(2),),
        shown=(),
        hint=said("hint reject"),
        answered=(CurvePicture(titrant=found.titrant.name, points=found.points(), strips=(_strip(one),)),),
    )
    return (part,)


def _strip(one: Ranged) -> Strip:
    indicator = one.indicator
    assert indicator.low is not None
    assert indicator.high is not None
    return Strip(indicator.name, indicator.low, indicator.high)


def _seen(verdict: Verdict, found: Course) -> Said:
    """What a pupil would see with it."""
    starts, ends = verdict.starts_cm3, verdict.finishes_cm3
    if ends < 0.05:
        return said("reject changed already")
    if math.isinf(starts) or starts > BURETTE_CM3:
        return said("reject never changes")
    if math.isinf(ends) or ends > BURETTE_CM3:
        return said("reject unfinished", starts=_volume(starts))
    key = "reject too early" if verdict.end_point_cm3 < found.end_cm3 else "reject too late"
    return said(key, starts=_volume(starts), ends=_volume(ends))


def _volume(value: float) -> Quantity:
    return Quantity(read_off(value), Unit.CM3)
