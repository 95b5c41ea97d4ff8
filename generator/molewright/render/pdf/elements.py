"""The periodic table comes in; one slab a row goes out, its squares ruled one by one. A table to a screen reader, as every other."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from molewright.nodes.blocks import ElementSquare, ElementTable
from molewright.nodes.inline import Text
from molewright.render.pdf.content import bar
from molewright.render.pdf.lines import Chunk, natural_width
from molewright.render.pdf.look import RULE, Style
from molewright.render.pdf.slabs import Mark, Slab, tied
from molewright.render.pdf.tags import COLUMN_HEAD, ROW_HEAD, Element, table_summary
from molewright.render.pdf.typesetting import Place, Typesetting, artifact

_PERIODS, _COLUMNS = 7, 18
_HEADS = 16.0  # width of the column of row numbers
_SYMBOL = Style(11.0, 12.5, True)
_MASS = Style(10.0, 12.0, tabular=True)
_LONG_MASS = Style(
    8.0, 9.5, tabular=True
)  # where one is too long for its square: all are smaller, and the long ones on two lines
_LETTERS = 7  # of a long mass on one line
_INSIDE, _EDGE = 1.5, 2.0  # round what stands in a square
_SERIES_ABOVE = 8.0


def element_table(block: ElementTable, setting: Typesetting, place: Place) -> list[Slab]:
    """The rows of the table with their numbers, the numbers of the columns above them."""
    element = place.owner.child("Table", attributes=table_summary(block.summary))
    squares = _Squares(block, setting, place)
    slabs = [squares.heading(element.child("TR"))]
    rows = sorted({square.row for square in block.squares})
    for row in rows:
        slab = squares.row(row, element.child("TR"))
        slab.above = _SERIES_ABOVE if row > _PERIODS and row - 1 in rows and row == _PERIODS + 1 else 0.0
        slabs.append(slab)
    tied(slabs)
    slabs[0].above, slabs[-1].below = 3.0, setting.look.after + 4
    return slabs


class _Squares:
    """Sets the squares of one table, all of one size."""

    def __init__(self, block: ElementTable, setting: Typesetting, place: Place) -> None:
        self.setting = setting
        self.x = place.x
        self.width = (place.width - _HEADS) / _COLUMNS
        self.small = setting.look.small.heavier()
        inside = self.width - 2 * _INSIDE
        long = any(natural_width((Text(square.mass),), _MASS) > inside for square in block.squares if square.mass)
        self.mass = _LONG_MASS if long else _MASS
        self.at = {(square.row, square.column): self._set(square, inside) for square in block.squares}
        self.tall = max((_height(chunks) for chunks in self.at.values()), default=0.0) + 2 * _EDGE

    def _set(self, square: ElementSquare, width: float) -> list[Chunk]:
        fits = natural_width((Text(square.symbol),), _SYMBOL) <= width
        texts = [(square.symbol, _SYMBOL if fits else self.small)]
        at_once = _LETTERS if self.mass is _LONG_MASS else max(1, len(square.mass))
        texts += [(square.mass[at : at + at_once], self.mass) for at in range(0, len(square.mass), at_once)]
        return [chunk for text, style in texts for chunk in self.setting.lines((Text(text),), style, width, "centre")]

    def heading(self, row: Element) -> Slab:
        """The numbers of the columns."""
        marks: list[Mark] = [Mark(row.child("TH", attributes=COLUMN_HEAD), self.x, 0.0, ())]
        tall = 0.0
        for column in range(1, _COLUMNS + 1):
            chunks = self.setting.lines((Text(str(column)),), self.small, self.width, "centre")
            tall = max(tall, _height(chunks))
            element = row.child("TH", attributes=COLUMN_HEAD)
            marks += [Mark(element, self._left(column), 0.0, chunk.segments) for chunk in chunks]
        return Slab(height=tall + 2.0, marks=marks)

    def row(self, number: int, row: Element) -> Slab:
        """One row: its number (that of its period; the series belong to the last two), and its squares."""
        period = str(number if number <= _PERIODS else number - 2)
        chunks = self.setting.lines((Text(period),), self.small, _HEADS - 4.0, "left")
        head = row.child("TH", attributes=ROW_HEAD)
        top = (self.tall - _height(chunks)) / 2
        marks = [Mark(head, self.x, top, chunk.segments) for chunk in chunks]
        for column in range(1, _COLUMNS + 1):
            held = self.at.get((number, column))
            element = row.child("TD")
            if held is None:
                marks.append(Mark(element, self._left(column), 0.0, ()))
                continue
            marks.append(artifact(self._left(column), 0.0, _frame(self.width, self.tall)))
            y = _EDGE if len(held) > 1 else (self.tall - _height(held)) / 2
            for chunk in held:
                marks.append(Mark(element, self._left(column) + _INSIDE, y, chunk.segments))
                y += chunk.height
        return Slab(height=self.tall, marks=marks)

    def _left(self, column: int) -> float:
        return self.x + _HEADS + (column - 1) * self.width


def _height(chunks: Sequence[Chunk]) -> float:
    return fsum(chunk.height for chunk in chunks)


def _frame(width: float, tall: float) -> str:
    """The four sides of a square; neighbours share theirs."""
    half = RULE / 2
    across = [bar(-half, -half, width + RULE, RULE), bar(-half, -tall - half, width + RULE, RULE)]
    upright = [bar(-half, -tall, RULE, tall), bar(width - half, -tall, RULE, tall)]
    return "\n".join([*across, *upright])
