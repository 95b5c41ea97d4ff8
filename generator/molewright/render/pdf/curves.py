"""A curve on squared paper comes in; axes, grid, curve, marks and hatched strips go out as one slab, in black and white only."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from molewright.nodes.figures import CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.render.label_places import PlotArea, label_places
from molewright.render.pdf.content import bar
from molewright.render.pdf.lines import Chunk, natural_width
from molewright.render.pdf.look import HAIRLINE, HEAVY, MM, RULE, Style
from molewright.render.pdf.slabs import Mark, Slab
from molewright.render.pdf.spoken import said
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact
from molewright.render.scales import axis_numbers, axis_unit, grid, told_curve

_WIDE, _TALL = 122 * MM, 80 * MM
_CURVE, _LINE = 1.5, 0.9
_ARM = 2.6  # of a cross, along both axes
_BETWEEN_STROKES = 7.0  # of a hatched strip
_WORDS_MOST = 30 * MM  # beside a strip
_CLEAR = 3.0
_DOT, _HEAD = 1.9, 6.0
_ON_THE_LINE = 0.345  # capitals stand astride the line that they name


def curve_figure(block: CurveFigure, setting: Typesetting, place: Place) -> list[Slab]:
    """The figure as wide as its place allows, with its numbers below and at the left, strips named at the right."""
    names = said(_title(block.across.name, axis_unit(block.across))), said(_title(block.up.name, axis_unit(block.up)))
    labels = [mark.label for mark in block.marks] + [band.label for band in block.bands]
    words = {label: said(label) for label in labels}
    element = place.owner.child("Figure", alt=block.alt or told_curve(block, *names, words))
    slab = _Plot(block, setting, place, element).slab()
    slab.box = (element, place.x, place.width)
    return [slab]


def _head(x: float, y: float, way: int) -> str:
    """The head of an arrow that ends at y and comes from above (1) or below (-1)."""
    back = y + way * _HEAD
    return f"{x - _HEAD / 2.2:.2f} {back:.2f} m {x:.2f} {y:.2f} l {x + _HEAD / 2.2:.2f} {back:.2f} l h f"


def _title(name: Line, unit: str) -> Line:
    return (*name, Text(unit)) if unit else name


class _Plot:
    """One figure being set; x from the left edge of the place, y down from the slab's top."""

    def __init__(self, block: CurveFigure, setting: Typesetting, place: Place, element: Element) -> None:
        self.block, self.setting, self.place, self.element = block, setting, place, element
        self.style: Style = setting.look.small
        self.marks: list[Mark] = []
        widest = max(natural_width((Text(text),), self.style) for _, text in axis_numbers(block.up))
        beside = max((natural_width(band.label, self.style) + 6.0 for band in block.bands), default=0.0)
        self.left = widest + 8.0
        self.beside = min(beside, _WORDS_MOST)
        self.wide = min(_WIDE, place.width - self.left - max(self.beside, 8.0))
        self.tall = min(_TALL, max(30 * MM, place.room - 60))
        self.left += max(0.0, (place.width - self.left - self.wide - self.beside) / 2 - 6.0)  # about the middle
        head = setting.lines(_title(block.up.name, axis_unit(block.up)), self.style, place.width)
        self.top = fsum(chunk.height for chunk in head) + 6.0
        self._put(head, self.left - widest - 5.0, 0.0)

    def slab(self) -> Slab:
        """Everything, the lines first and the words on them."""
        block = self.block
        drawn = [
            *self._bands(),
            *self._grid(),
            *self._axes(),
            *self._curve(),
            *self._crosses(),
            *(self._mark(mark) for mark in block.marks),
        ]
        self.marks.insert(0, artifact(self.place.x, 0.0, "\n".join(drawn)))
        for value, text in axis_numbers(block.up):
            chunk = self.setting.lines((Text(text),), self.style, self.left - 5.0, "right")
            self._put(chunk, 0.0, self._y(value) + _ON_THE_LINE * self.style.size - chunk[0].first)
        foot = self.top + self.tall
        for value, text in axis_numbers(block.across):
            chunk = self.setting.lines((Text(text),), self.style, 60, "centre")
            self._put(chunk, self._x(value) - 30, foot + 3.0)
        foot += 3.0 + self.style.leading
        title = self.setting.lines(_title(block.across.name, axis_unit(block.across)), self.style, self.wide, "right")
        self._put(title, self.left, foot + 1.0)
        foot += 1.0 + fsum(chunk.height for chunk in title)
        for band in block.bands:
            self._beside(band.label, (band.low + band.high) / 2)
        self._labels()
        return Slab(height=foot, marks=self.marks, above=6.0, below=10.0)

    # ------------------------------------------------------------ places

    def _x(self, value: float) -> float:
        return self.left + PlotArea(self.block, self.wide, self.tall).x(value)

    def _y(self, value: float) -> float:
        return self.top + PlotArea(self.block, self.wide, self.tall).y(value)

    def _put(self, chunks: tuple[Chunk, ...], x: float, y: float) -> None:
        for chunk in chunks:
            self.marks.append(Mark(self.element, self.place.x + x, y, chunk.segments))
            y += chunk.height

    # ------------------------------------------------------------ lines

    def _grid(self) -> list[str]:
        foot, right = self.top + self.tall, self.left + self.wide
        upright = [
            (f"{self._x(v):.2f} {-self.top:.2f} m {self._x(v):.2f} {-foot:.2f} l", bold)
            for v, bold in grid(self.block.across)
        ]
        level = [
            (f"{self.left:.2f} {-self._y(v):.2f} m {right:.2f} {-self._y(v):.2f} l", bold)
            for v, bold in grid(self.block.up)
        ]
        fine = " ".join(path for path, bold in (*upright, *level) if not bold)
        heavy = " ".join(path for path, bold in (*upright, *level) if bold)
        dotted = f"q {HAIRLINE} w [0.45 2.4] 0 d {fine} S Q" if fine else ""
        return [dotted, f"{HAIRLINE} w {heavy} S"]

    def _axes(self) -> list[str]:
        foot = self.top + self.tall
        path = f"{self.left:.2f} {-self.top + 4:.2f} m {self.left:.2f} {-foot:.2f} l {self.left + self.wide + 4:.2f} {-foot:.2f} l"
        return [f"{HEAVY * 1.3:.2f} w {path} S"]

    def _curve(self) -> list[str]:
        block = self.block
        drawn = [(block.points, _CURVE), *((line, _LINE) for line in block.lines)]
        return [self._stretched(points, weight) for points, weight in drawn if points]

    def _stretched(self, points: Sequence[tuple[float, float]], weight: float) -> str:
        """A line from point to point that does not leave the paper."""
        places = [f"{self._x(x):.2f} {-self._y(y):.2f}" for x, y in points]
        path = f"{places[0]} m " + " ".join(f"{place} l" for place in places[1:])
        frame = f"{self.left:.2f} {-self.top - self.tall:.2f} {self.wide:.2f} {self.tall:.2f} re W n"
        return f"q {frame} 1 J 1 j {weight} w {path} S Q"

    def _crosses(self) -> list[str]:
        """The readings as slanting crosses: upright ones would be lost among the paper's lines."""
        strokes: list[str] = []
        for across, up in self.block.crosses:
            x, y = self._x(float(across)), -self._y(float(up))
            strokes.append(f"{x - _ARM:.2f} {y - _ARM:.2f} m {x + _ARM:.2f} {y + _ARM:.2f} l")
            strokes.append(f"{x - _ARM:.2f} {y + _ARM:.2f} m {x + _ARM:.2f} {y - _ARM:.2f} l")
        return [f"{HEAVY} w {' '.join(strokes)} S"] if strokes else []

    def _bands(self) -> list[str]:
        drawn: list[str] = []
        for number, band in enumerate(self.block.bands):
            high, low = self._y(band.high), self._y(band.low)
            tall = low - high
            lean = 1 if number % 2 == 0 else -1  # neighbours lean to different sides
            strokes: list[str] = []
            x = self.left - tall
            while x < self.left + self.wide + tall:
                strokes += self._stroke(x, low, lean, tall)
                x += _BETWEEN_STROKES
            frame = f"{self.left:.2f} {-low:.2f} {self.wide:.2f} {tall:.2f} re"
            drawn.append(f"{HAIRLINE} w {' '.join(strokes)} S {RULE} w {frame} S")
        return drawn

    def _stroke(self, x: float, low: float, lean: int, tall: float) -> list[str]:
        """A slanting stroke that starts at the strip's foot, no longer than the strip is wide."""
        ends = sorted(((self.left - x) * lean, (self.left + self.wide - x) * lean))
        start, end = max(0.0, ends[0]), min(tall, ends[1])
        if start >= end:
            return []
        return [f"{x + lean * start:.2f} {-low + start:.2f} m {x + lean * end:.2f} {-low + end:.2f} l"]

    def _mark(self, mark: CurveMark) -> str:
        x, y = self._x(mark.x), -self._y(mark.y)
        if mark.to_y is not None:
            low, high = sorted((y, -self._y(mark.to_y)))
            heads = " ".join(_head(x, end, way) for end, way in ((low, 1), (high, -1)))
            return f"{HEAVY} w {x:.2f} {low + _HEAD:.2f} m {x:.2f} {high - _HEAD:.2f} l S {heads}"
        foot = -self.top - self.tall
        dashes = f"{self.left:.2f} {y:.2f} m {x:.2f} {y:.2f} l {x:.2f} {foot:.2f} l"
        dot = f"q 1 J {2 * _DOT:.2f} w {x:.2f} {y:.2f} m {x:.2f} {y:.2f} l S Q"
        return f"q {HEAVY} w [3 2] 0 d {dashes} S Q {dot}"

    # ------------------------------------------------------------ words on the figure

    def _beside(self, label: Line, at: float) -> None:
        chunks = self.setting.lines(label, self.style, self.beside)
        tall = fsum(chunk.height for chunk in chunks)
        self._put(chunks, self.left + self.wide + 5.0, self._y(at) - tall / 2)

    def _labels(self) -> None:
        """Words beside the marks, on white, where the curve leaves room."""
        paper = PlotArea(self.block, self.wide, self.tall)
        most = 0.45 * self.wide
        widths = [min(natural_width(mark.label, self.style) + 1.0, most) for mark in self.block.marks]
        lines = [
            self.setting.lines(mark.label, self.style, wide)
            for mark, wide in zip(self.block.marks, widths, strict=True)
        ]
        sizes = [(wide, fsum(chunk.height for chunk in each)) for wide, each in zip(widths, lines, strict=True)]
        for chunks, room in zip(lines, label_places(paper, sizes, _CLEAR), strict=True):
            x, y = self.left + room.x, self.top + room.y
            white = f"1 g {bar(x - 1.5, -y - room.tall + 0.5, room.wide + 3, room.tall - 0.5)} 0 g"
            self.marks.append(artifact(self.place.x, 0.0, white))
            self._put(chunks, x, y)
