"""A curve, its marks and the sizes of their words come in; places where the words stand clear go out. Draws nothing.

Everything is measured in one unit of length from the upper left corner of the plot, y downwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from molewright.nodes.drawing.strokes import Box
from molewright.nodes.figures import CurveFigure, CurveMark


class PlotArea(NamedTuple):
    """The plot's size, and how its two axes are spread over it."""

    node: CurveFigure
    wide: float
    tall: float

    def x(self, value: float) -> float:
        """From the left edge."""
        axis = self.node.across
        return self.wide * (value - float(axis.low)) / float(axis.high - axis.low)

    def y(self, value: float) -> float:
        """From the upper edge."""
        axis = self.node.up
        return self.tall * (1 - (value - float(axis.low)) / float(axis.high - axis.low))


def label_places(paper: PlotArea, sizes: Sequence[tuple[float, float]], clear: float) -> list[Box]:
    """A room for the words of each mark, beside it, off the curve and off the words before it as far as can be."""
    curve = [(paper.x(x), paper.y(y)) for x, y in paper.node.points]
    curve += [place for line in paper.node.lines for place in _along(paper, line)]
    curve += [place for mark in paper.node.marks if mark.to_y is None for place in _dashes(paper, mark)]
    stretches = [_stretch(paper, mark, clear) for mark in paper.node.marks]
    crosses = [_around(paper.x(float(x)), paper.y(float(y)), clear) for x, y in paper.node.crosses]
    taken: list[Box] = []
    for mark, size in zip(paper.node.marks, sizes, strict=True):
        taken.append(
            min(
                _candidates(paper, mark, size, clear),
                key=lambda room: _cost(room, taken, [*stretches, *crosses], curve),
            )
        )
    return taken


def _along(paper: PlotArea, line: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places on a line, close together."""
    found: list[tuple[float, float]] = []
    for (x0, y0), (x1, y1) in pairwise(line):
        parts = [part / 20 for part in range(21)]
        found += [(paper.x(x0 + (x1 - x0) * part), paper.y(y0 + (y1 - y0) * part)) for part in parts]
    return found


def _stretch(paper: PlotArea, mark: CurveMark, clear: float) -> Box:
    top, foot = sorted((paper.y(mark.y), paper.y(mark.y if mark.to_y is None else mark.to_y)))
    return Box(paper.x(mark.x) - clear / 2, top - clear / 2, clear, foot - top + clear)


def _around(x: float, y: float, clear: float) -> Box:
    """The room of a cross: whoever reads the points must see all of it."""
    return Box(x - clear, y - clear, 2 * clear, 2 * clear)


def _dashes(paper: PlotArea, mark: CurveMark) -> list[tuple[float, float]]:
    """Places on the lines from a mark to both axes."""
    x, y = paper.x(mark.x), paper.y(mark.y)
    parts = [part / 40 for part in range(41)]
    return [(x * part, y) for part in parts] + [(x, y + (paper.tall - y) * part) for part in parts]


def _candidates(paper: PlotArea, mark: CurveMark, size: tuple[float, float], clear: float) -> list[Box]:
    """Right and left of the mark, level with it and ever further up and down; always inside the plot, the best first."""
    wide, tall = min(size[0], paper.wide), min(size[1], paper.tall)
    x, y = paper.x(mark.x), paper.y(mark.y)
    if mark.to_y is not None:
        y = (y + paper.y(mark.to_y)) / 2
    levels = [y - tall / 2] if mark.to_y is not None else []
    for step in range(12):
        levels += [y + clear + step * tall / 2, y - clear - tall - step * tall / 2]
    return [
        Box(_between(left, clear, paper.wide - wide - clear), _between(level, 0.0, paper.tall - tall), wide, tall)
        for level in levels
        for left in (x + 2 * clear, x - 2 * clear - wide)
    ]


def _between(value: float, low: float, high: float) -> float:
    return max(0.0, min(max(low, value), high))


def _cost(room: Box, taken: Sequence[Box], stretches: Sequence[Box], curve: Sequence[tuple[float, float]]) -> int:
    """What a room would cover. Of rooms that cover nothing the first one is taken."""
    words = sum(room.meets(other) for other in taken)
    marks = sum(room.meets(other) for other in stretches)
    left, top, right, foot = room.x, room.y, room.x + room.wide, room.y + room.tall  # once: the points are many
    return 100 * words + 20 * marks + sum(left <= x <= right and top <= y <= foot for x, y in curve)
