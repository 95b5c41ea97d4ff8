"""Figures of every kind, easy and hard, and a typeface that is easily reckoned, for the tests of pictures in every form."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

from molewright.nodes.drawing.strokes import Words
from molewright.nodes.figures import (
    Apparatus,
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
from molewright.nodes.inline import Gap, Inline, Line, Text
from shared.every_node import BURETTES, CURVE, GRAPH, words

APPARATUS: tuple[Apparatus, ...] = get_args(Apparatus)
_STATIONS = ("weighed bottle", "beaker", "volumetric flask", "pipette", "conical flask", "burette", "waste")


def flow(count: int, said: str = "rinsed with water") -> FlowFigure:
    """So many stations, each with words in it and on the arrow to the next."""
    boxes = tuple(FlowBox(words(name), (words(f"holds portion {name[0]}"),)) for name in _STATIONS[:count])
    return FlowFigure(boxes, tuple(words(f"{said} {place}") for place in range(count - 1)))


def to_fill(name: str) -> Line:
    """A line that a pupil completes."""
    return (Text(f"{name}: "), Gap(16.0, "mol"))


def flow_to_fill(count: int) -> FlowFigure:
    """Stations with apparatus and a blank in each, two in every other one, and a pipette on the ways between them."""
    plain = flow(count, "in")
    boxes = tuple(
        FlowBox(box.title, box.lines, (to_fill("(a) acid"), to_fill("(b) salt"))[: 1 + n % 2], APPARATUS[n % 6])
        for n, box in enumerate(plain.boxes)
    )
    return FlowFigure(boxes, plain.arrows, tools=("pipette",) * (count - 1))


def bar_to_fill(share: float) -> BarFigure:
    """Two pieces with blanks."""
    return BarFigure(to_fill("added"), (BarPiece(share, to_fill("reacted")), BarPiece(1 - share, to_fill("left"))))


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
    "flow to fill, two": flow_to_fill(2),
    "flow to fill, six": flow_to_fill(6),
    "bar to fill": bar_to_fill(0.6),
    "bar to fill, thin piece": bar_to_fill(0.1),
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
        return "".join(map(self._told, line))

    def _told(self, piece: Inline) -> str:
        return piece.text if isinstance(piece, Text) else f"{'.' * 9}_{piece.unit}" if isinstance(piece, Gap) else ""

    def _rows(self, line: Line, bold: bool, width: float) -> int:
        rows, used = (1 if line else 0), 0.0
        for word in self.said(line).split(" "):
            wide = self.width((Text(word),), bold)
            if used and used + 5.0 + wide > width:
                rows, used = rows + 1, 0.0
            used += wide + (5.0 if used else 0.0)
        return rows
