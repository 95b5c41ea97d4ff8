"""The measures of the page and of the type, in points. Constants and three styles come out; nothing is drawn here.

Common practice for printed school papers: A4 portrait, inner margin wide enough to punch, nothing in the outer 12 mm,
11 pt sans at about 1.25 spacing, schemes at 10 pt, rules of at least half a point so that they survive a photocopier.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

MM = 72 / 25.4
PAGE_WIDTH, PAGE_HEIGHT = 210 * MM, 297 * MM
LEFT, RIGHT, TOP, BOTTOM = 23 * MM, 18 * MM, 21 * MM, 19 * MM
COLUMN = PAGE_WIDTH - LEFT - RIGHT
ROOM = PAGE_HEIGHT - TOP - BOTTOM  # what one page can hold
HEADER_DOWN = 15.5 * MM  # from the top of the page to the baseline of its header
FOOTER_BASELINE = 13.5 * MM
WIDE_COLUMN = PAGE_HEIGHT - LEFT - RIGHT  # of a page that lies on its side
WIDE_ROOM = PAGE_WIDTH - TOP - BOTTOM

GUTTER = 9 * MM  # question numbers and part labels stand here, aligned at the left
MARKS_COLUMN = 11 * MM  # kept free at the right of a demand for its marks in brackets
HAIRLINE, RULE, HEAVY = 0.5, 0.6, 0.9
CELL_SIDE, CELL_TOP = 4.5, 3.0

# Proportions of FiraGO in ems: capitals 0.689, descenders 0.213, minus sign at 0.333 above the baseline.
ASCENT, DESCENT, AXIS = 0.74, 0.215, 0.333
BASELINE = 0.9  # from the top of a line to its baseline


@dataclass(frozen=True, slots=True, eq=False)
class Style:
    """How a line is set. `tabular` takes figures of one width, for columns of readings.

    Styles are few and looked up very often: each is made once and told apart by being itself.
    """

    size: float
    leading: float
    bold: bool = False
    tabular: bool = False

    @property
    def baseline(self) -> float:
        """From the top of an ordinary line to its baseline."""
        return BASELINE * self.size + (self.leading - 1.25 * self.size) / 2

    def heavier(self) -> Style:
        """The same in bold."""
        return _style(self.size, self.leading, True, self.tabular)

    def at_size(self, size: float) -> Style:
        """The same at another size, on the same leading."""
        return _style(size, self.leading, self.bold, self.tabular)


@lru_cache(maxsize=256)
def _style(size: float, leading: float, bold: bool, tabular: bool) -> Style:
    return Style(size, leading, bold, tabular)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The styles of one kind of sheet."""

    body: Style
    small: Style
    cell: Style
    headings: tuple[Style, Style, Style]
    after: float = 6.0  # below a paragraph


def _look(size: float, cell: float) -> Look:
    body = Style(size, round(size * 1.23, 2))
    return Look(
        body=body,
        small=Style(size - 1.5, round((size - 1.5) * 1.27, 2)),
        cell=Style(cell, round(cell * 1.25, 2), tabular=True),
        headings=(Style(17.0, 21.0, True), Style(size + 2, (size + 2) * 1.27, True), Style(size, size * 1.27, True)),
        after=6.0 if size > 10 else 4.5,
    )


PUPIL = _look(11.0, 10.5)
TEACHER = _look(10.0, 9.5)
