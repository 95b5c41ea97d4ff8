"""What a figure shows: a closed set of frozen nodes, each with what it means and no measure on paper. Draws nothing."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from molewright.nodes.inline import Line

Apparatus = Literal["balance", "beaker", "burette", "conical flask", "pipette", "volumetric flask"]


@dataclass(frozen=True, slots=True)
class FlowBox:
    """One station of the experiment: what it is, and what is in it.

    `found` is what a pupil finds of it, a blank to fill in or its value; `apparatus` is drawn beside the title.
    """

    title: Line
    lines: tuple[Line, ...]
    found: tuple[Line, ...] = ()
    apparatus: Apparatus | None = None


@dataclass(frozen=True, slots=True)
class FlowFigure:
    """What went where: boxes from left to right with words on the arrows between them (one arrow fewer than boxes).

    `tools` are drawn above those words, one for each arrow, where there are any.
    """

    boxes: tuple[FlowBox, ...]
    arrows: tuple[Line, ...]
    alt: str = ""
    tools: tuple[Apparatus | None, ...] = ()


@dataclass(frozen=True, slots=True)
class BarPiece:
    """A piece of a bar: its share (pieces add up to 1), what it is, and its amount. `hatched` tells pieces apart."""

    share: float
    label: Line
    hatched: bool = False


@dataclass(frozen=True, slots=True)
class BarFigure:
    """Total = reacted + left over, as a bar with the total above and the pieces below. Mono-safe."""

    total: Line
    pieces: tuple[BarPiece, ...]
    alt: str = ""


@dataclass(frozen=True, slots=True)
class BuretteView:
    """A burette seen close round the bottom of its meniscus: what stands above it, and where the meniscus is."""

    label: Line
    reading: Decimal


@dataclass(frozen=True, slots=True)
class BuretteFigure:
    """Burettes side by side, scale numbered downwards, a line for every tenth of `unit`.

    Without `alt` it is told by lines of the scale, so that whoever cannot see it reads it as the others do: the reading
    itself is never said.
    """

    views: tuple[BuretteView, ...]
    unit: str
    alt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """An axis: what it shows, its unit ("" for none), its ends, the step of its numbers, and how often a step is divided."""

    name: Line
    unit: str
    low: Decimal
    high: Decimal
    step: Decimal
    divided: int = 1


@dataclass(frozen=True, slots=True)
class CurveMark:
    """A place to point out: a point with dashed lines to both axes, or with `to_y` the upright stretch from y to it."""

    x: float
    y: float
    label: Line
    to_y: float | None = None


@dataclass(frozen=True, slots=True)
class CurveBand:
    """A hatched strip across the figure between two values of y: the range of an indicator."""

    low: float
    high: float
    label: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveFigure:
    """A curve on squared paper. Without points the axes are blank, to sketch on. Its points are drawn, never printed.

    `crosses` are readings, each drawn as a cross and told as it is written; `lines` are drawn beside them.
    """

    across: Axis
    up: Axis
    points: tuple[tuple[float, float], ...] = ()
    marks: tuple[CurveMark, ...] = ()
    bands: tuple[CurveBand, ...] = ()
    alt: str = ""
    crosses: tuple[tuple[Decimal, Decimal], ...] = ()
    lines: tuple[tuple[tuple[float, float], ...], ...] = ()


@dataclass(frozen=True, slots=True)
class CountRow:
    """One bar of a chart of counts: what was counted, and how often."""

    label: Line
    count: int


@dataclass(frozen=True, slots=True)
class CountChart:
    """How often each of several things was counted, as horizontal bars with the count at the end of each. Mono-safe.

    `most` is what a bar of the whole length stands for, 0 the largest count; `sign` stands behind every number ("%").
    """

    rows: tuple[CountRow, ...]
    title: Line = ()
    alt: str = ""
    most: int = 0
    sign: str = ""


Figure = FlowFigure | BarFigure | CountChart | BuretteFigure | CurveFigure
