"""The measures of the page and of the type, in points. Constants and three styles come out; nothing is drawn here.

Common practice for printed school papers: A4 portrait, inner margin wide enough to punch, nothing in the outer 12 mm,
11 pt sans at about 1.25 spacing, schemes at 10 pt, rules of at least half a point so that they survive a photocopier.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from molewright.nodes.blocks import LookName

MM = 72 / 25.4
PAGE_WIDTH, PAGE_HEIGHT = 210 * MM, 297 * MM
LEFT, RIGHT, TOP, BOTTOM = 23 * MM, 18 * MM, 19.2 * MM, 20.9 * MM
COLUMN = PAGE_WIDTH - LEFT - RIGHT
ROOM = PAGE_HEIGHT - TOP - BOTTOM  # what one page can hold
HEADER_DOWN = 15.5 * MM  # from the top of the page to the baseline of its header
FOOTER_BASELINE = 13.5 * MM
WIDE_COLUMN = PAGE_HEIGHT - LEFT - RIGHT  # of a page that lies on its side
WIDE_ROOM = PAGE_WIDTH - TOP - BOTTOM

GUTTER = 9 * MM  # question numbers and part labels stand here, aligned at the left
MARKS_COLUMN = 11 * MM  # kept free at the right of a demand for its marks in brackets
HAIRLINE, RULE, HEAVY = 0.5, 0.6, 0.9
CELL_SIDE, CELL_TOP = 4.5, 2.6

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
    wide_set: bool = False  # letters further apart, and none of them sloped

    @property
    def baseline(self) -> float:
        """From the top of an ordinary line to its baseline."""
        return BASELINE * self.size + (self.leading - 1.25 * self.size) / 2

    def heavier(self) -> Style:
        """The same in bold."""
        return _style(self.size, self.leading, True, self.tabular, self.wide_set)

    def at_size(self, size: float) -> Style:
        """The same at another size, on the same leading."""
        return _style(size, self.leading, self.bold, self.tabular, self.wide_set)

    def scaled(self, scale: float) -> Style:
        """The same so much larger, its leading too."""
        if scale == 1.0:
            return self
        return _style(
            round(self.size * scale, 2), round(self.leading * scale, 2), self.bold, self.tabular, self.wide_set
        )


@lru_cache(maxsize=256)
def _style(size: float, leading: float, bold: bool, tabular: bool, wide_set: bool) -> Style:
    return Style(size, leading, bold, tabular, wide_set)


_COMPACT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The styles of one kind of sheet. `scale` is that of all that is there to be read or written in, against the usual sheet."""

    body: Style
    small: Style
    cell: Style
    headings: tuple[Style, Style, Style]
    figure: Style  # of the words in a figure before it is drawn `figure_scale` times as large
    after: float = 6.0  # below a paragraph
    gaps: float = 1.0  # between parts and between questions, against the usual sheet
    scale: float = 1.0
    figure_scale: float = 1.0

    def compact(self) -> Look:
        """The same set more closely: as large, with less between paragraphs, parts and questions."""
        return replace(self, after=self.after * _COMPACT, gaps=_COMPACT)

    @property
    def gutter(self) -> float:
        """Where question numbers and part labels stand, aligned at the left."""
        return GUTTER * self.scale

    @property
    def marks_column(self) -> float:
        """Kept free at the right of a demand for its marks in brackets."""
        return MARKS_COLUMN * self.scale


def _look(size: float, cell: float) -> Look:
    body = Style(size, round(size * 1.2, 2))
    small = Style(size - 1.5, round((size - 1.5) * 1.27, 2))
    return Look(
        body=body,
        small=small,
        cell=Style(cell, round(cell * 1.25, 2), tabular=True),
        headings=(Style(17.0, 21.0, True), Style(size + 2, (size + 2) * 1.27, True), Style(size, size * 1.27, True)),
        figure=small,
        after=6.0 if size > 10 else 4.5,
    )


def _all_of_one_size(size: float, leading: float, wide_set: bool = False) -> Look:
    """A look in which nothing is smaller than its text: notes, tables and figures are as large, headings larger."""
    body = Style(size, round(size * leading, 2), wide_set=wide_set)
    scale = size / PUPIL.body.size

    def heading(larger: float) -> Style:
        return Style(round(size * larger, 1), round(size * larger * leading, 2), True, wide_set=wide_set)

    return Look(
        body=body,
        small=body,
        cell=Style(size, body.leading, tabular=True, wide_set=wide_set),
        headings=(heading(1.3), heading(1.15), heading(1.0)),
        figure=Style(PUPIL.small.size, PUPIL.small.leading, wide_set=wide_set),
        after=round(6.0 * scale, 1),
        scale=scale,
        figure_scale=size / PUPIL.small.size,
    )


PUPIL = _look(11.0, 10.5)
TEACHER = _look(10.0, 9.5)
PUPIL_LOOKS: dict[LookName, Look] = {
    "usual": PUPIL,
    "large": _all_of_one_size(18.0, 1.25),  # large print is 16 pt and more (guidance for clear print)
    "extra-large": _all_of_one_size(24.0, 1.2),
    "wide-set": _all_of_one_size(
        13.0, 1.5, wide_set=True
    ),  # 12 to 14 pt, lines one and a half apart (guidance for dyslexic readers)
}
