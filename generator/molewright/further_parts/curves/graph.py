"""A calculation comes in; parts go out in which its titre is read from a graph of temperature or conductivity, before it is used.

What is accepted as the titre spans what straight lines through the printed points give, and half a small division more on both
sides. The calculation's own range is widened to what both ends of it lead to.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.further_parts.curves.instrument_readings import (
    Followed,
    Path,
    Reading,
    follow_conductance,
    follow_heat,
)
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Piece,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)

NUMBERED_CM3 = 5
_WIDE_CM3 = 30  # up to here the paper has room for half cubic centimetres, 2 mm apart
_FINE, _COARSE = 10, 5  # small divisions between two numbers
_STEPS = tuple((Decimal(step), divided) for step, divided in (("0.1", 5), ("0.2", 4), ("0.5", 5), ("1", 5), ("2", 4)))
_MOST_STEPS = 10


@dataclass(frozen=True, slots=True)
class Scale:
    """The upright axis: from, to, numbered every, each number's step divided into."""

    low: Decimal
    high: Decimal
    step: Decimal
    divided: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GraphPicture:
    """The facts of a graph: its points, the solution in the burette, how far both axes go, the lines with where they meet."""

    shows: str  # thermometric graph or conductometric graph
    titrant: str
    readings: tuple[Reading, ...]
    across_cm3: Decimal
    across_divided: int  # small divisions between two numbers, which are NUMBERED_CM3 apart
    up: Scale
    lines: tuple[Path, ...] = ()
    meeting: tuple[float, float] | None = None
    label: Piece = ""
    kind: str = "graph"


def read_temperatures(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part before the calculation: two straight lines through corrected rises, and the volume at which they meet."""
    found = follow_heat(calculation)
    return (_read(calculation, found, "thermometric graph", (said("guide graph level"),)),)


def read_conductivities(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part before the calculation: two straight lines through conductivities, and the volume at which they meet."""
    found = follow_conductance(calculation)
    start = (said("guide graph start"),) if found.bent else ()
    return (_read(calculation, found, "conductometric graph", start),)


def _scale(found: Followed) -> Scale:
    """The upright axis; with nothing near 0 the paper begins higher up."""
    heights = [height for _, height in (*found.before, *found.after)]
    heights.append(half_up(Fraction(repr(found.meeting)), 6))  # where the lines meet must be on the paper
    top, foot = max(heights), min(heights)
    foot = foot if foot > top / 2 else Decimal(0)
    step, divided = next((one for one in _STEPS if (top - foot) / one[0] <= _MOST_STEPS - 2), _STEPS[-1])
    return Scale(-_up(Fraction(-foot / step)) * step, _up(Fraction(top / step)) * step, step, divided)


def _read(calculation: Calculation, found: Followed, kind: str, guidance: tuple[Said, ...]) -> FurtherPart:
    readings = (*found.before, *found.after)
    across = (readings[-1][0] / 10).to_integral_value(ROUND_CEILING) * 10
    divided = _FINE if across <= _WIDE_CM3 else _COARSE
    half_division = Fraction(NUMBERED_CM3, 2 * divided)
    scale = _scale(found)
    volume = Quantity(found.end_cm3, Unit.CM3)
    blank = GraphPicture(
        shows=kind, titrant=found.titrant.name, readings=readings, across_cm3=across, across_divided=divided, up=scale
    )
    end = (float(found.end_cm3), found.meeting)
    label = said("spot meeting", volume=volume)
    drawn = GraphPicture(
        shows=kind,
        titrant=found.titrant.name,
        readings=readings,
        across_cm3=across,
        across_divided=divided,
        up=scale,
        lines=found.lines,
        meeting=end,
        label=label,
    )
    return FurtherPart(
        kind=kind,
        demand=said(kind, titrant=Bottle(found.titrant.name)),
        points=(
            FurtherPoint((said(f"{kind} lines"),), "two lines of best fit that meet", (said("guide graph lines"), *guidance)),
            FurtherPoint((said("graph end", volume=Strong(volume)),), volume, (said("guide graph on"),)),
        ),
        space=(Space(height_mm=4.0, rule_mm=45.0, unit=Unit.CM3),),
        shown=(blank,),
        hint=said("hint graph"),
        accepted=(_tenth(found.least - half_division, ROUND_FLOOR), _tenth(found.most + half_division, ROUND_CEILING)),
        unit=Unit.CM3,
        answered=(drawn,),
        first=True,
        reads=calculation.draw.variant.procedure.titrations[-1].titre,
    )  # fmt: skip


def _up(value: Fraction) -> Decimal:
    """The next whole number."""
    return Decimal(-(-value.numerator // value.denominator))


def _tenth(value: Fraction, way: str) -> Decimal:
    """To a tenth, outwards."""
    return half_up(value, 6).quantize(Decimal("0.1"), way)


# ------------------------------------------------------------------ why


def ask_why_a_graph(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part: an advantage over an indicator."""
    kind = calculation.draw.archetype.graph
    return (
        FurtherPart(
            kind="why a graph",
            demand=said("why a graph"),
            points=(
                FurtherPoint(
                    (said("any one of"), said("graph colour"), said("graph readings"), said(f"{kind} reason")),
                    "no colour has to be seen",
                    (said("guide why graph"),),
                ),
            ),
            space=(writing_lines(1),),
            hint=said("hint why graph"),
        ),
    )
