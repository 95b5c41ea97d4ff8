"""A curve on squared paper comes in; axes, grid, curve, marks and hatched strips with their words go out."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.nodes.drawing.label_places import PlotArea, label_places
from molewright.nodes.drawing.scales import axis_numbers, axis_title, grid, told_curve
from molewright.nodes.drawing.strokes import (
    FIRM,
    HAIRLINE,
    HEAVY,
    MM,
    THIN,
    Box,
    Dots,
    Frame,
    Lettering,
    Lines,
    Picture,
    Point,
    Shape,
    Stroke,
    Words,
    one_line,
)
from molewright.nodes.figures import CurveBand, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text

_WIDE, _TALL, _LEAST_TALL = 122 * MM, 80 * MM, 30 * MM
_ROUND_IT = 60.0  # what the words above and below the plot take of the height
_AXIS = 1.17
_ARM = 2.6  # of a cross, along both axes
_BETWEEN_STROKES = 7.0  # of a hatched strip
_WORDS_MOST = 30 * MM  # beside a strip
_CLEAR = 3.0
_DOT, _HEAD = 3.8, 6.0
_PAPER, _TO_AXES = (0.45, 2.4), (3.0, 2.0)  # dashes
_NUMBER = 60.0  # width that a number below has at most


def curve_picture(node: CurveFigure, lettering: Lettering, width: float, room: float) -> Picture:
    """The figure as wide as its place allows, with its numbers below and at the left, strips named at the right."""
    return _Plot(node, lettering, width, room).picture()


def told(node: CurveFigure, lettering: Lettering) -> str:
    """Its axes, points, marks and strips."""
    return told_curve(node, lettering.said)


class _Plot:
    """One figure being set."""

    def __init__(self, node: CurveFigure, lettering: Lettering, width: float, room: float) -> None:
        self.node, self.lettering, self.width = node, lettering, width
        widest = max(lettering.width((Text(text),)) for _, text in axis_numbers(node.up))
        beside = max((lettering.width(band.label) + 6.0 for band in node.bands), default=0.0)
        self.left = widest + 8.0
        self.beside = min(beside, _WORDS_MOST)
        self.wide = min(_WIDE, width - self.left - max(self.beside, 8.0))
        self.tall = min(_TALL, max(_LEAST_TALL, room - _ROUND_IT))
        self.left += max(0.0, (width - self.left - self.wide - self.beside) / 2 - 6.0)  # about the middle
        self.head = Words(lines=((axis_title(node.up), False),), x=self.left - widest - 5.0, y=0.0, width=width)
        self.top = lettering.height(self.head) + 6.0
        self.foot, self.right = self.top + self.tall, self.left + self.wide
        self.paper = PlotArea(node, self.wide, self.tall)
        self.area = Box(self.left, self.top, self.wide, self.tall)

    def picture(self) -> Picture:
        """Everything, the lines first and the words on them."""
        node = self.node
        strokes: list[Stroke] = []
        for number, band in enumerate(node.bands):
            strokes += self._band(band, 1 if number % 2 == 0 else -1)  # neighbours lean to different sides
        strokes += self._grid()
        axes = ((self.left, self.top - 4), (self.left, self.foot), (self.right + 4, self.foot))
        strokes.append(one_line(axes, _AXIS))
        drawn = [(node.points, HEAVY), *((line, FIRM) for line in node.lines)]
        strokes += [self._stretched(points, weight) for points, weight in drawn if points]
        strokes += self._crosses()
        for mark in node.marks:
            strokes += self._mark(mark)
        title = Words(
            lines=((axis_title(node.across), False),),
            x=self.left,
            y=self.foot + 4.0 + self.lettering.leading,
            width=self.wide,
            across="right",
        )
        height = title.y + self.lettering.height(title)
        words = [self.head, *self._numbers(), title, *map(self._beside, node.bands), *self._labels()]
        alt = node.alt or told(node, self.lettering)
        return Picture(width=self.width, height=height, items=(*strokes, *words), alt=alt)

    # ------------------------------------------------------------ places

    def _x(self, value: float) -> float:
        return self.left + self.paper.x(value)

    def _y(self, value: float) -> float:
        return self.top + self.paper.y(value)

    # ------------------------------------------------------------ lines

    def _grid(self) -> list[Stroke]:
        lines = [(((self._x(v), self.top), (self._x(v), self.foot)), bold) for v, bold in grid(self.node.across)]
        lines += [(((self.left, self._y(v)), (self.right, self._y(v))), bold) for v, bold in grid(self.node.up)]
        fine = tuple(line for line, bold in lines if not bold)
        heavy = tuple(line for line, bold in lines if bold)
        paper: list[Stroke] = [Lines(pieces=fine, weight=HAIRLINE, dashes=_PAPER)] if fine else []
        return [*paper, Lines(pieces=heavy, weight=HAIRLINE)]

    def _stretched(self, points: Sequence[tuple[float, float]], weight: float) -> Lines:
        """A line from point to point that does not leave the paper."""
        line = tuple((self._x(x), self._y(y)) for x, y in points)
        return Lines(pieces=(line,), weight=weight, rounded=True, within=self.area)

    def _crosses(self) -> list[Stroke]:
        """The readings as slanting crosses: upright ones would be lost among the paper's lines."""
        pieces: list[tuple[Point, ...]] = []
        for across, up in self.node.crosses:
            x, y = self._x(float(across)), self._y(float(up))
            pieces.append(((x - _ARM, y + _ARM), (x + _ARM, y - _ARM)))
            pieces.append(((x - _ARM, y - _ARM), (x + _ARM, y + _ARM)))
        return [Lines(pieces=tuple(pieces), weight=FIRM)] if pieces else []

    def _band(self, band: CurveBand, lean: int) -> list[Stroke]:
        high, low = self._y(band.high), self._y(band.low)
        tall = low - high
        pieces: list[tuple[Point, ...]] = []
        x = self.left - tall
        while x < self.right + tall:
            pieces += self._stroke(x, low, lean, tall)
            x += _BETWEEN_STROKES
        frame = Frame(Box(self.left, high, self.wide, tall), THIN)
        return [Lines(pieces=tuple(pieces), weight=HAIRLINE), frame]

    def _stroke(self, x: float, low: float, lean: int, tall: float) -> list[tuple[Point, ...]]:
        """A slanting stroke that starts at the strip's foot, no longer than the strip is wide."""
        ends = sorted(((self.left - x) * lean, (self.right - x) * lean))
        start, end = max(0.0, ends[0]), min(tall, ends[1])
        return [((x + lean * start, low - start), (x + lean * end, low - end))] if start < end else []

    def _mark(self, mark: CurveMark) -> list[Stroke]:
        x, y = self._x(mark.x), self._y(mark.y)
        if mark.to_y is None:
            dashed = Lines(pieces=(((self.left, y), (x, y), (x, self.foot)),), weight=FIRM, dashes=_TO_AXES)
            return [dashed, Dots(((x, y),), _DOT)]
        high, low = sorted((y, self._y(mark.to_y)))
        return [one_line(((x, low - _HEAD), (x, high + _HEAD)), FIRM), _head(x, low, -1), _head(x, high, 1)]

    # ------------------------------------------------------------ words

    def _numbers(self) -> list[Words]:
        beside = [
            Words(
                lines=(((Text(text),), False),),
                x=0.0,
                y=self._y(value),
                width=self.left - 5.0,
                across="right",
                hung="astride",
            )
            for value, text in axis_numbers(self.node.up)
        ]
        below = [
            Words(
                lines=(((Text(text),), False),),
                x=self._x(value) - _NUMBER / 2,
                y=self.foot + 3.0,
                width=_NUMBER,
                across="centre",
            )
            for value, text in axis_numbers(self.node.across)
        ]
        return [*beside, *below]

    def _beside(self, band: CurveBand) -> Words:
        at = self._y((band.low + band.high) / 2)
        return Words(lines=((band.label, False),), x=self.right + 5.0, y=at, width=self.beside, hung="middle")

    def _labels(self) -> list[Words]:
        """Words beside the marks, on white, where the curve leaves room."""
        most = 0.45 * self.wide
        columns = [(mark.label, min(self.lettering.width(mark.label) + 1.0, most)) for mark in self.node.marks]
        sizes = [(wide, self.lettering.height(_label(line, wide, 0.0, 0.0))) for line, wide in columns]
        places = label_places(self.paper, sizes, _CLEAR)
        return [
            _label(line, wide, self.left + place.x, self.top + place.y)
            for (line, wide), place in zip(columns, places, strict=True)
        ]


def _label(line: Line, width: float, x: float, y: float) -> Words:
    return Words(lines=((line, False),), x=x, y=y, width=width, cleared=True)


def _head(x: float, y: float, way: int) -> Shape:
    """The head of an arrow that ends at y and comes from below (1) or above (-1)."""
    back = y + way * _HEAD
    return Shape((x - _HEAD / 2.2, back), (((x, y),), ((x + _HEAD / 2.2, back),)))
