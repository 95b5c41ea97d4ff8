"""A box of a flow and a width come in; how tall it gets, and its words and apparatus in their places, go out. Draws no frame."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, fsum

from molewright.nodes.drawing.apparatus import apparatus_strokes, apparatus_width
from molewright.nodes.drawing.blanks import has_blank, room_to_write
from molewright.nodes.drawing.strokes import Lettering, Stroke, Words
from molewright.nodes.figures import FlowBox
from molewright.nodes.inline import Line

_PAD = 5.0
_BESIDE = 4.0  # what is clear beside apparatus
_MOST, _MOST_TO_FILL = 135.0, 200.0  # as wide as a box gets; more with blanks, so that each stands beside its name
_BROKEN = 1.12  # how much room broken lines take, of that of their words
_WIDER = 9.0  # the steps in which a row's boxes share what is left of its width


@dataclass(frozen=True, slots=True)
class FilledBox:
    """A box and what is in it; all its words stand `beside` its apparatus, drawn so tall, or only its title does."""

    box: FlowBox
    lettering: Lettering
    drawn: float
    beside: bool

    @property
    def least(self) -> float:
        """The least width that its words need."""
        rows = [self.lettering.widest(line, True) for line in self.box.lines]
        rows += [self.lettering.widest(line) for line in self.box.found]
        title = self.lettering.widest(self.box.title, True) + self._title_from_left
        return max([title, *(row + self._rows_from_left for row in rows)]) + 2 * _PAD

    @property
    def most(self) -> float:
        """As wide as it may get."""
        return _MOST_TO_FILL if any(map(has_blank, self.box.found)) else _MOST

    def height(self, wide: float) -> float:
        """Of the whole box in a width."""
        tall = fsum((self._head(wide), *(self._row_height(line, wide) for line in self._rows)))
        return (max(tall, self.drawn) if self.box.apparatus else tall) + 2 * _PAD - 1.0

    def reckoned(self) -> Callable[[float], float]:
        """About its height in a width, from the lengths of its lines alone: to set every line in every width would take long."""
        rows = [(self.lettering.width(line), room_to_write(line, self.lettering)) for line in self._rows]
        title = self.lettering.width(self.box.title, True)
        leading = self.lettering.leading

        def height(wide: float) -> float:
            inner = wide - 2 * _PAD - self._title_from_left
            head = ceil(_BROKEN * title / inner) * leading
            inner = wide - 2 * _PAD - self._rows_from_left
            told = fsum(ceil(_BROKEN * long / inner) * leading + clear for long, clear in rows)
            return max(head, self.drawn) + told if not self.beside else max(head + told, self.drawn)

        return height

    def words(self, x: float, y: float, wide: float, tall: float) -> list[Words]:
        """Its words, from the top where it has rows of their own, else in the middle of its height."""
        if not self._apart:
            return [self._title(x + _PAD, y + tall / 2, wide)]
        head = self._head(wide)
        y += _PAD
        found = [self._title(x + _PAD + self._title_from_left, y + head / 2, wide)]
        y += head
        for line in self._rows:
            y += room_to_write(line, self.lettering)
            found.append(self._row(line, x + _PAD + self._rows_from_left, y, wide))
            y += self.lettering.height(found[-1])
        return found

    def strokes(self, x: float, y: float, wide: float) -> tuple[Stroke, ...]:
        """Its apparatus."""
        if self.box.apparatus is None:
            return ()
        lower = max(0.0, (self._head(wide) - self.drawn) / 2)
        return apparatus_strokes(self.box.apparatus, x + _PAD, y + _PAD + lower, self.drawn)

    # ------------------------------------------------------------ its rows

    @property
    def _apart(self) -> bool:
        """Whether each line has a place of its own: beside apparatus, and where one is written on."""
        return self.box.apparatus is not None or any(map(has_blank, self.box.found))

    @property
    def _rows(self) -> tuple[Line, ...]:
        return (*self.box.lines, *self.box.found) if self._apart else ()

    @property
    def _title_from_left(self) -> float:
        return apparatus_width(self.box.apparatus, self.drawn) + _BESIDE if self.box.apparatus else 0.0

    @property
    def _rows_from_left(self) -> float:
        return self._title_from_left if self.beside else 0.0

    def _head(self, wide: float) -> float:
        """The height of the title with apparatus that only it stands beside, or of all the words where none stands apart."""
        tall = self.lettering.height(self._title(0.0, 0.0, wide))
        return max(tall, self.drawn) if self.box.apparatus and not self.beside else tall

    def _row_height(self, line: Line, wide: float) -> float:
        return self.lettering.height(self._row(line, 0.0, 0.0, wide)) + room_to_write(line, self.lettering)

    def _title(self, x: float, middle: float, wide: float) -> Words:
        lines: tuple[tuple[Line, bool], ...] = ((self.box.title, True),)
        if not self._apart:
            lines += tuple((line, False) for line in (*self.box.lines, *self.box.found))
        inner = wide - 2 * _PAD - self._title_from_left
        return Words(lines=lines, x=x, y=middle, width=inner, across="centre", hung="middle")

    def _row(self, line: Line, x: float, y: float, wide: float) -> Words:
        inner = wide - 2 * _PAD - self._rows_from_left
        return Words(lines=((line, False),), x=x, y=y, width=inner, across="centre")


def equal_widths(boxes: Sequence[FilledBox], room: float, count: int) -> list[float]:
    """The width that as many boxes as the longest row holds have in a room."""
    return [min(max(box.most for box in boxes), room / count)] * len(boxes)


def shared_widths(boxes: Sequence[FilledBox], room: float) -> list[float]:
    """Widths of a row's boxes by their words: the tallest gets more of the room, again and again, until all is given away."""
    widths = [box.least for box in boxes]
    if fsum(widths) > room:  # they do not fit beside each other, and a single box breaks its words by force
        return [wide * room / fsum(widths) for wide in widths]
    reckoned = [box.reckoned() for box in boxes]
    heights = [reckon(wide) for reckon, wide in zip(reckoned, widths, strict=True)]
    open_to = set(range(len(boxes)))
    left = room - fsum(widths)
    while left >= _WIDER and open_to:
        tallest = max(open_to, key=lambda index: (heights[index], -index))
        if widths[tallest] + _WIDER > boxes[tallest].most:
            open_to.discard(tallest)
            continue
        widths[tallest] += _WIDER
        heights[tallest] = reckoned[tallest](widths[tallest])
        left -= _WIDER
    return widths
