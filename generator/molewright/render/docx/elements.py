"""The periodic table comes in; the grid and the rows of a Word table go out, ruled only round its squares."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.nodes.blocks import ElementSquare, ElementTable
from molewright.render.docx.lettering import text_width
from molewright.render.docx.lines import written
from molewright.render.docx.look import style_id
from molewright.render.docx.markup import twips
from molewright.render.docx.tables import grid

_PERIODS, _COLUMNS = 7, 18
_HEADS = 16.0  # width of the column of row numbers, in points
_INSIDE = 1.5  # beside what stands in a square
_WIDER = 1.12  # figures of running text, against those that are measured
_MASS, _LETTERS = 10.0, 7  # size of a mass in points; letters of a long mass on one line
_TALL, _LONG_TALL = 31.0, 38.0  # a square
_SIDES = ("top", "left", "bottom", "right")
_NO_SIDES = "".join(f'<w:{side} w:val="nil"/>' for side in _SIDES)
_ALL_SIDES = "".join(f'<w:{side} w:val="single" w:sz="5" w:space="0" w:color="auto"/>' for side in _SIDES)
_MARGINS = "".join(f'<w:{side} w:w="{twips(_INSIDE)}" w:type="dxa"/>' for side in _SIDES)


def element_rows(node: ElementTable, width: float) -> str:
    """Its grid, the numbers of its columns, and its rows; the two series stand apart."""
    side = (width - _HEADS) / _COLUMNS
    widths = [_HEADS, *[side] * _COLUMNS]
    at = {(square.row, square.column): square for square in node.squares}
    long = any(_WIDER * _MASS * text_width(square.mass) > side - 2 * _INSIDE for square in node.squares)
    columns = range(1, _COLUMNS + 1)
    heads = [_cell("", _HEADS), *(_cell(_words(str(column), "Element mass"), side) for column in columns)]
    rows = [_row(heads, 0.0, "<w:tblHeader/>")]
    before = 0
    for row in sorted({square.row for square in node.squares}):
        if row > _PERIODS >= before > 0:
            rows.append(_row([_cell("", wide) for wide in widths], 8.0, "", exact=True))
        number = str(row if row <= _PERIODS else row - 2)
        squares = (at.get((row, column)) for column in columns)
        cells = [_cell(_words(number, "Element mass"), _HEADS), *(_square(one, side, long) for one in squares)]
        rows.append(_row(cells, _LONG_TALL if long else _TALL, ""))
        before = row
    return grid(widths) + "".join(rows)


def _row(cells: Sequence[str], tall: float, told: str, *, exact: bool = False) -> str:
    rule = "exact" if exact else "atLeast"
    height = f'<w:trHeight w:val="{twips(tall)}" w:hRule="{rule}"/>' if tall else ""
    return f"<w:tr><w:trPr><w:cantSplit/>{height}{told}</w:trPr>{''.join(cells)}</w:tr>"


def _square(square: ElementSquare | None, width: float, long: bool) -> str:
    if square is None:
        return _cell("", width)
    at_once = _LETTERS if long else max(1, len(square.mass))
    masses = [square.mass[start : start + at_once] for start in range(0, len(square.mass), at_once)]
    style = "Long element mass" if long else "Element mass"
    inside = _words(square.symbol, "Element") + "".join(_words(mass, style) for mass in masses)
    return _cell(inside, width, _ALL_SIDES)


def _words(text: str, style: str) -> str:
    return f'<w:p><w:pPr><w:pStyle w:val="{style_id(style)}"/><w:keepNext/></w:pPr>{written(text)}</w:p>'


def _cell(inside: str, width: float, sides: str = _NO_SIDES) -> str:
    empty = f'<w:p><w:pPr><w:pStyle w:val="{style_id("After table")}"/><w:keepNext/></w:pPr></w:p>'
    return (
        f'<w:tc><w:tcPr><w:tcW w:w="{twips(width)}" w:type="dxa"/><w:tcBorders>{sides}</w:tcBorders>'
        f'<w:tcMar>{_MARGINS}</w:tcMar><w:vAlign w:val="center"/></w:tcPr>{inside or empty}</w:tc>'
    )
