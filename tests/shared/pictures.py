"""Figures of every kind, easy and hard, and a typeface that is easily reckoned, for the tests of pictures in every form."""

from __future__ import annotations

from decimal import Decimal

from molewright.nodes.drawing.strokes import Words
from molewright.nodes.figures import (
    BarFigure,
    BarPiece,
    BuretteFigure,
    BuretteView,
    CountChart,
    CountRow,
    Figure,
    FlowBox,
    FlowFigure,
)
from molewright.nodes.inline import Line, Text
from shared.every_node import BURETTES, CURVE, GRAPH, words

_STATIONS = ("weighed bottle", "beaker", "volumetric flask", "pipette", "conical flask", "burette", "waste")


def flow(count: int, said: str = "rinsed with water") -> FlowFigure:
    """So many stations, each with words in it and on the arrow to the next."""
    boxes = tuple(FlowBox(words(name), (words(f"holds portion {name[0]}"),)) for name in _STATIONS[:count])
    return FlowFigure(boxes, tuple(words(f"{said} {place}") for place in range(count - 1)))


def bar(*shares: float) -> BarFigure:
    """Pieces of these shares, every other one hatched."""
    pieces = (BarPiece(share, words(f"piece number {n}"), n % 2 == 1) for n, share in enumerate(shares))
    return BarFigure(words("total of all"), tuple(pieces))


def chart(*counts: int, title: str = "") -> CountChart:
    """A bar for each count."""
    rows = tuple(CountRow(words(f"slip {n} of a class told at some length"), count) for n, count in enumerate(counts))
    return CountChart(rows, words(title) if title else ())


FIGURES: dict[str, Figure] = {
    "flow of one": flow(1),
    "flow of three": flow(3),
    "flow of seven": flow(7),
    "flow, long passages": flow(6, "washed in with several small portions"),
    "bar": bar(0.4, 0.6),
    "bar, thin pieces": bar(0.02, 0.02, 0.93, 0.03),
    "bar of nothing": bar(0.0, 0.0),
    "counts": chart(12, 6, 0, title="Slips of the class"),
    "counts without title": chart(0, 3000),
    "burettes": BURETTES,
    "six burettes": BuretteFigure(
        tuple(BuretteView(words(f"run {n}"), Decimal(n) * Decimal("9.95")) for n in range(6)), "cm³"
    ),
    "curve": CURVE,
    "graph": GRAPH,
}


class HalfEms:
    """Ten points from line to line, every letter five points wide."""

    leading = 10.0

    def width(self, line: Line, bold: bool = False) -> float:
        return 5.0 * len(self.said(line)) * (1.1 if bold else 1.0)

    def widest(self, line: Line, bold: bool = False) -> float:
        return max((self.width((Text(word),), bold) for word in self.said(line).split(" ")), default=0.0)

    def height(self, words: Words) -> float:
        return sum(self._rows(line, bold, words.width) * self.leading for line, bold in words.lines)

    def said(self, line: Line) -> str:
        return "".join(one.text for one in line if isinstance(one, Text))

    def _rows(self, line: Line, bold: bool, width: float) -> int:
        rows, used = (1 if line else 0), 0.0
        for word in self.said(line).split(" "):
            wide = self.width((Text(word),), bold)
            if used and used + 5.0 + wide > width:
                rows, used = rows + 1, 0.0
            used += wide + (5.0 if used else 0.0)
        return rows
