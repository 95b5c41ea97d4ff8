"""What went where comes in; boxes from left to right with words on the arrows between them go out as one slab."""

from __future__ import annotations

from math import ceil, fsum

from molewright.nodes.blocks import Paragraph
from molewright.nodes.figures import FlowBox, FlowFigure
from molewright.nodes.inline import Line, Text
from molewright.render.pdf.figures import STROKE, SetWords, centred_words
from molewright.render.pdf.lines import natural_width, widest_word
from molewright.render.pdf.look import Style
from molewright.render.pdf.slabs import Mark, Slab
from molewright.render.pdf.spoken import said
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact

_PAD = 5.0
_ROW_MOST = 4
_ARROW_LEAST, _ARROW_MOST = 30.0, 92.0
_BOX_MOST = 135.0
_CLEAR = 3.0  # between an arrow and the boxes or words beside it


def flow_figure(block: FlowFigure, setting: Typesetting, place: Place) -> list[Slab]:
    """In two rows where there are more than four boxes; fewer boxes in a row where their words need the width."""
    if not block.boxes:
        return []
    element = place.owner.child("Figure", alt=block.alt or _told(block))
    count = len(block.boxes)
    in_a_row = min(_ROW_MOST, ceil(count / 2)) if count > _ROW_MOST else count
    while in_a_row > 1 and not _Flow(block, setting, place, element, in_a_row).fits:
        in_a_row -= 1
    slab = _Flow(block, setting, place, element, in_a_row).slab()
    if slab.height > place.room:  # far too many words for a figure: told in order instead
        return setting.lay(_in_words(block), setting, place)
    slab.box = (element, place.x, place.width)
    return [slab]


def _told(block: FlowFigure) -> str:
    told: list[str] = []
    for index, box in enumerate(block.boxes):
        told.append(": ".join(filter(None, (said(box.title), "; ".join(said(line) for line in box.lines)))))
        if index < len(block.boxes) - 1:
            arrow = said(block.arrows[index]) if index < len(block.arrows) else ""
            told.append(f"then {arrow}" if arrow else "then")
    return ", ".join(told)


def _in_words(block: FlowFigure) -> list[Paragraph]:
    told: list[Paragraph] = []
    for index, box in enumerate(block.boxes):
        told.append(Paragraph(box.title, "lead"))
        told += [Paragraph(line) for line in box.lines]
        if index < min(len(block.boxes) - 1, len(block.arrows)):
            told.append(Paragraph((Text("→ "), *block.arrows[index])))
    return told


class _Flow:
    """One attempt at setting the flow with so many boxes in a row; x is measured from the left edge of the place."""

    def __init__(self, block: FlowFigure, setting: Typesetting, place: Place, element: Element, in_a_row: int) -> None:
        self.block, self.setting, self.place, self.element = block, setting, place, element
        self.style: Style = setting.look.small
        self.marks: list[Mark] = []
        self.drawn: list[str] = []
        count = len(block.boxes)
        each = ceil(count / ceil(count / in_a_row))
        self.rows = [range(start, min(start + each, count)) for start in range(0, count, each)]
        self.gaps = [self._gap(index) for index in range(count - 1)]
        arrows = max((fsum(self.gaps[index] for index in row[:-1]) for row in self.rows), default=0.0)
        self.box_width = min(_BOX_MOST, (place.width - arrows) / each)
        needed = [widest_word(line, self.style.heavier()) for box in block.boxes for line in (box.title, *box.lines)]
        self.fits = self.box_width >= max(needed, default=0.0) + 2 * _PAD

    def slab(self) -> Slab:
        """The whole figure."""
        y = 0.0
        turn: tuple[float, float] | None = None  # where the arrow from the row above comes down
        for number, row in enumerate(self.rows):
            y, right = self._row(row, y, turn)
            if number < len(self.rows) - 1:
                turn = self._turn(row, y, right)
                y = turn[1] + 14.0
        self.marks.append(artifact(self.place.x, 0.0, "\n".join(self.drawn)))
        return Slab(height=y + 1.0, marks=self.marks, above=6.0, below=10.0)

    def _row(self, row: range, y: float, turn: tuple[float, float] | None) -> tuple[float, float]:
        """Set one row of boxes below y; the foot of the row and its right end."""
        boxes = [self._box(self.block.boxes[index]) for index in row]
        tall = max(each.height for each in boxes) + 2 * _PAD - 1.0
        arrows = {index: self._arrow_words(index, self.gaps[index] - 10.0) for index in row[:-1]}
        y += max([0.0, *(each.height + _CLEAR - tall / 2 for each in arrows.values())])  # words that overtop the boxes
        if turn is not None:
            self.drawn.append(_arrow(turn[0], -turn[1], turn[0], -y + 1.5))
        x, middle = 0.0, y + tall / 2
        for index, inside in zip(row, boxes, strict=True):
            self.drawn.append(f"{STROKE} w {x:.2f} {-y - tall:.2f} {self.box_width:.2f} {tall:.2f} re S")
            self._put(inside, x + _PAD, y + (tall - inside.height) / 2)
            x += self.box_width
            if index in arrows:
                self.drawn.append(_arrow(x + _CLEAR, -middle, x + self.gaps[index] - _CLEAR, -middle))
                self._put(arrows[index], x + 5.0, middle - _CLEAR - arrows[index].height)
                x += self.gaps[index]
        return y + tall, x

    def _turn(self, row: range, y: float, right: float) -> tuple[float, float]:
        """The line from the last box of a row to above the first box of the next, its words on it."""
        start, end = right - self.box_width / 2, self.box_width / 2
        inside = self._arrow_words(row[-1], max(60.0, start - end - 12.0))
        if len(row) > 1:
            self._put(inside, end + 6.0, y + 6.0)
            level = y + 6.0 + max(inside.height + _CLEAR, 5.0)
        else:  # straight down, the words beside it
            self._put(inside, end + 6.0, y + _CLEAR)
            level = y + max(4.0, inside.height + _CLEAR - 10.0)
        self.drawn.append(
            f"{STROKE} w {start:.2f} {-y - 2:.2f} m {start:.2f} {-level:.2f} l {end:.2f} {-level:.2f} l S"
        )
        return end, level

    def _put(self, inside: SetWords, x: float, y: float) -> None:
        self.marks += inside.marks(self.element, self.place.x + x, y)

    def _gap(self, index: int) -> float:
        line = self._arrow_line(index)
        wanted = max(natural_width(line, self.style) / 2, widest_word(line, self.style)) + 16.0
        return min(_ARROW_MOST, max(_ARROW_LEAST, wanted))

    def _arrow_line(self, index: int) -> Line:
        return self.block.arrows[index] if index < len(self.block.arrows) else ()

    def _arrow_words(self, index: int, width: float) -> SetWords:
        return centred_words([(self._arrow_line(index), False)], self.setting, self.style, width)

    def _box(self, box: FlowBox) -> SetWords:
        lines = [(box.title, True), *((line, False) for line in box.lines)]
        return centred_words(lines, self.setting, self.style, self.box_width - 2 * _PAD)


def _arrow(x: float, y: float, to_x: float, to_y: float) -> str:
    """A line with a filled head, level or straight down."""
    long, half = 5.5, 2.3
    if y == to_y:
        x_back, sides = to_x - long, ((to_x - long, to_y - half), (to_x - long, to_y + half))
        line = f"{x:.2f} {y:.2f} m {x_back:.2f} {to_y:.2f} l S"
    else:
        sides = ((to_x - half, to_y + long), (to_x + half, to_y + long))
        line = f"{x:.2f} {y:.2f} m {to_x:.2f} {to_y + long:.2f} l S"
    (ax, ay), (bx, by) = sides
    return f"{STROKE} w {line} {ax:.2f} {ay:.2f} m {to_x:.2f} {to_y:.2f} l {bx:.2f} {by:.2f} l h f"
