"""What went where comes in; boxes from left to right with words on the arrows between them go out."""

from __future__ import annotations

from math import ceil, fsum

from molewright.nodes.drawing.apparatus import apparatus_strokes, apparatus_width
from molewright.nodes.drawing.flow_boxes import FilledBox, equal_widths, shared_widths
from molewright.nodes.drawing.strokes import RULE, Box, Frame, Lettering, Picture, Point, Shape, Stroke, Words, one_line
from molewright.nodes.figures import Apparatus, FlowFigure
from molewright.nodes.inline import Line

_ROW_MOST = 4
_ARROW_LEAST, _ARROW_MOST = 30.0, 92.0
_SPARE_BETWEEN, _SPARE_BESIDE_DRAWN = 16.0, 12.0  # of an arrow beyond its words; less where boxes need the width
_DRAWN = 2.3  # the height of apparatus, in leadings
_CLEAR = 3.0  # between an arrow and the boxes or words beside it
_NEARLY = 1e-6
_HEAD_LONG, _HEAD_HALF = 5.5, 2.3


def flow_picture(node: FlowFigure, lettering: Lettering, width: float) -> Picture:
    """In two rows where there are more than four boxes; fewer boxes in a row where their words need the width."""
    below = _fitting(node, lettering, width, False)
    beside = _fitting(node, lettering, width, True) if below.drawn_beside else below
    return (beside if beside.fits and beside.reckoned < below.reckoned else below).picture()


def _fitting(node: FlowFigure, lettering: Lettering, width: float, beside: bool) -> _Flow:
    """The flow with as many boxes in a row as their words allow."""
    count = len(node.boxes)
    in_a_row = min(_ROW_MOST, ceil(count / 2)) if count > _ROW_MOST else count
    flow = _Flow(node, lettering, width, in_a_row, beside)
    while in_a_row > 1 and not flow.fits:
        in_a_row -= 1
        flow = _Flow(node, lettering, width, in_a_row, beside)
    return flow


def told_flow(node: FlowFigure, lettering: Lettering) -> str:
    """The stations in order, with what happens between them."""
    told: list[str] = []
    for index, box in enumerate(node.boxes):
        inside = "; ".join(map(lettering.said, (*box.lines, *box.found)))
        told.append(": ".join(filter(None, (lettering.said(box.title), inside))))
        if index < len(node.boxes) - 1:
            arrow = lettering.said(node.arrows[index]) if index < len(node.arrows) else ""
            told.append(f"then {arrow}" if arrow else "then")
    return ", ".join(told)


class _Flow:
    """One attempt at setting the flow with so many boxes in a row; all words of a box `beside` its apparatus, or only its title."""

    def __init__(self, node: FlowFigure, lettering: Lettering, width: float, in_a_row: int, beside: bool) -> None:
        self.drawn_beside = any(box.apparatus for box in node.boxes)
        self.node, self.lettering, self.width = node, lettering, width
        self.words: list[Words] = []
        self.strokes: list[Stroke] = []
        count = len(node.boxes)
        each = ceil(count / ceil(count / in_a_row))
        self.rows = [range(start, min(start + each, count)) for start in range(0, count, each)]
        self.gaps = [self._gap(index) for index in range(count - 1)]
        self.drawn = _DRAWN * lettering.leading
        self.boxes = [FilledBox(box, lettering, self.drawn, beside) for box in node.boxes]
        arrows = [fsum(self.gaps[index] for index in row[:-1]) for row in self.rows]
        if self.drawn_beside:
            self.widths = [
                wide
                for row, taken in zip(self.rows, arrows, strict=True)
                for wide in shared_widths([self.boxes[index] for index in row], width - taken)
            ]
        else:
            self.widths = equal_widths(self.boxes, width - max(arrows, default=0.0), each)
        self.fits = all(
            fsum(self.widths[index] for index in row) + taken <= width + _NEARLY
            for row, taken in zip(self.rows, arrows, strict=True)
        ) and all(box.least <= wide + _NEARLY for box, wide in zip(self.boxes, self.widths, strict=True))

    @property
    def reckoned(self) -> float:
        """About the height of all rows of boxes."""
        heights = [box.reckoned()(wide) for box, wide in zip(self.boxes, self.widths, strict=True)]
        return fsum(max(heights[index] for index in row) for row in self.rows)

    def picture(self) -> Picture:
        """The whole figure."""
        y = 0.0
        turn: Point | None = None  # where the arrow from the row above comes down
        for number, row in enumerate(self.rows):
            y, right = self._row(row, y, turn)
            if number < len(self.rows) - 1:
                turn = self._turn(row, y, right)
                y = turn[1] + 14.0
        alt = self.node.alt or told_flow(self.node, self.lettering)
        return Picture(width=self.width, height=y + 1.0, items=(*self.words, *self.strokes), alt=alt)

    def _row(self, row: range, y: float, turn: Point | None) -> tuple[float, float]:
        """Set one row of boxes below y; the foot of the row and its right end."""
        tall = max(self.boxes[index].height(self.widths[index]) for index in row)
        above = [self._over_arrow(index) for index in row[:-1]]
        y += max([0.0, *(height + _CLEAR - tall / 2 for height in above)])  # words that overtop the boxes
        if turn is not None:
            self._arrow(turn, (turn[0], y - 1.5))
        x, middle = 0.0, y + tall / 2
        for index in row:
            box, wide = self.boxes[index], self.widths[index]
            self.strokes += (Frame(Box(x, y, wide, tall), RULE), *box.strokes(x, y, wide))
            self.words += box.words(x, y, wide, tall)
            x += wide
            if index < row[-1]:
                gap = self.gaps[index]
                self._arrow((x + _CLEAR, middle), (x + gap - _CLEAR, middle))
                self.words.append(self._passage(index, gap - 10.0, x + 5.0, middle - _CLEAR))
                self._draw_tool(index, x + gap / 2, middle)
                x += gap
        return y + tall, x

    def _turn(self, row: range, y: float, right: float) -> Point:
        """The line from the last box of a row to above the first box of the next, its words on it."""
        start, end = right - self.widths[row[-1]] / 2, self.widths[row[-1] + 1] / 2
        wide = max(60.0, start - end - 12.0)
        tall = self.lettering.height(self._passage(row[-1], wide, 0.0, 0.0))
        if len(row) > 1:
            foot = y + 6.0 + tall
            level = y + 6.0 + max(tall + _CLEAR, 5.0)
        else:  # straight down, the words beside it
            foot = y + _CLEAR + tall
            level = y + max(4.0, tall + _CLEAR - 10.0)
        self.words.append(self._passage(row[-1], wide, end + 6.0, foot))
        self.strokes.append(one_line(((start, y + 2.0), (start, level), (end, level)), RULE))
        return end, level

    def _gap(self, index: int) -> float:
        line = self._arrow_line(index)
        spare = _SPARE_BETWEEN if not self.drawn_beside else _SPARE_BESIDE_DRAWN
        wanted = max(self.lettering.width(line) / 2, self.lettering.widest(line)) + spare
        return min(_ARROW_MOST, max(_ARROW_LEAST, wanted))

    def _arrow_line(self, index: int) -> Line:
        return self.node.arrows[index] if index < len(self.node.arrows) else ()

    def _passage(self, index: int, width: float, x: float, foot: float) -> Words:
        """The words on an arrow, above it."""
        lines = ((self._arrow_line(index), False),)
        return Words(lines=lines, x=x, y=foot, width=width, across="centre", hung="foot")

    def _over_arrow(self, index: int) -> float:
        """The height of the words on an arrow in a row, with what is drawn above them."""
        tall = self.lettering.height(self._passage(index, self.gaps[index] - 10.0, 0.0, 0.0))
        return tall + self.drawn + _CLEAR if self._tool(index) is not None else tall

    def _tool(self, index: int) -> Apparatus | None:
        return self.node.tools[index] if index < len(self.node.tools) else None

    def _draw_tool(self, index: int, across: float, middle: float) -> None:
        tool = self._tool(index)
        if tool is not None:
            wide = apparatus_width(tool, self.drawn)
            self.strokes += apparatus_strokes(
                tool, across - wide / 2, middle - _CLEAR - self._over_arrow(index), self.drawn
            )

    def _arrow(self, start: Point, end: Point) -> None:
        """A line with a filled head, level or straight down."""
        (x, y), (to_x, to_y) = start, end
        if y == to_y:
            back = to_x - _HEAD_LONG
            neck, sides = (back, y), ((back, y + _HEAD_HALF), (back, y - _HEAD_HALF))
        else:
            back = to_y - _HEAD_LONG
            neck, sides = (x, back), ((x - _HEAD_HALF, back), (x + _HEAD_HALF, back))
        self.strokes += [one_line((start, neck), RULE), Shape(sides[0], ((end,), (sides[1],)))]
