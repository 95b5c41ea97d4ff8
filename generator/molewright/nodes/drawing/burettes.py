"""Burettes seen close come in; tubes with scale, numbers and meniscus go out, one picture a row."""

from __future__ import annotations

from decimal import Decimal

from molewright.nodes.drawing.scales import Division, Window, told_burette, window
from molewright.nodes.drawing.strokes import (
    FIRM,
    MM,
    THIN,
    Dots,
    Lettering,
    Lines,
    Picture,
    Point,
    Shape,
    Stroke,
    Words,
    one_line,
)
from molewright.nodes.figures import BuretteFigure, BuretteView
from molewright.nodes.inline import Line, Text

_ROW_MOST = 4
_TENTH = 2.5 * MM  # a division: half of it can still be told with the eye
_TUBE, _CELL = 15 * MM, 44 * MM
_OVER = 2.5 * MM  # glass beyond the first and the last line
_LINES = {"short": 0.36, "middle": 0.5, "long": 0.64}  # of the tube's width, from the right wall
_RISE, _THICK = 1.8 * MM, 0.75 * MM  # of the meniscus at the glass, and of its dark edge in the middle
_DOTS_EVERY = 2.1 * MM
_APART = 9.0  # between the words above a burette and its end


def burette_pictures(node: BuretteFigure, lettering: Lettering, width: float) -> tuple[Picture, ...]:
    """The burettes of a figure, up to four in a row, each with its words above."""
    alt = node.alt or told_burette(node, [lettering.said(view.label) for view in node.views])
    across = max(1, min(_ROW_MOST, len(node.views), int(width / _CELL)))
    starts = range(0, len(node.views), across)
    return tuple(_row(node.views[start : start + across], node.unit, lettering, width, alt) for start in starts)


def _row(views: tuple[BuretteView, ...], unit: str, lettering: Lettering, width: float, alt: str) -> Picture:
    cell = min(_CELL * 1.1, width / len(views))
    left = (width - cell * len(views)) / 2
    top = max(lettering.height(_label(view.label, 0.0, 0.0, cell)) for view in views) + _APART
    strokes: list[Stroke] = []
    words: list[Words] = []
    for index, view in enumerate(views):
        x = left + index * cell
        words.append(_label(view.label, x, top - _APART, cell))
        drawn, numbers = _burette(view, unit, x + (cell - _TUBE) / 2, top)
        strokes += drawn
        words += numbers
    return Picture(width=width, height=top + _tube_height(), items=(*strokes, *words), alt=alt)


def _label(line: Line, x: float, foot: float, cell: float) -> Words:
    return Words(lines=((line, True),), x=x + 4, y=foot, width=cell - 8, across="centre", hung="foot")


def _tube_height() -> float:
    piece = window(Decimal(1))
    return float(piece.bottom - piece.top) * 10 * _TENTH + 2 * _OVER


def _burette(view: BuretteView, unit: str, x: float, y: float) -> tuple[list[Stroke], list[Words]]:
    """One tube with its left wall at x and its end at y, and the numbers beside it."""
    piece = window(view.reading)
    right, foot = x + _TUBE, y + _tube_height()
    level = y + _OVER + _depth(view.reading, piece)
    strokes: list[Stroke] = [_liquid(x, level, foot)]
    numbers: list[Words] = []
    for division in piece.divisions():
        at = y + _OVER + _depth(division.value, piece)
        strokes.append(_division(division, right, at))
        if division.number:
            written = (((Text(division.number),), False),)
            numbers.append(Words(lines=written, x=right + 4, y=at, width=30, hung="astride"))
    strokes.append(_meniscus(x, right, level))
    strokes.append(Lines(pieces=(((x, y), (x, foot)), ((right, y), (right, foot))), weight=FIRM))
    numbers.append(Words(lines=(((Text(unit),), False),), x=right + 4, y=y, width=40, hung="middle"))
    return strokes, numbers


def _depth(value: Decimal, piece: Window) -> float:
    return float(value - piece.top) * 10 * _TENTH


def _division(division: Division, right: float, y: float) -> Lines:
    weight = THIN if division.length == "short" else FIRM
    return one_line(((right, y), (right - _LINES[division.length] * _TUBE, y)), weight)


def _meniscus(left: float, right: float, level: float) -> Shape:
    """A dark crescent whose lower edge touches the reading in the middle of the tube."""
    rise = level - _RISE
    low, high = (level - 0.25 * rise) / 0.75, (level - _THICK - 0.25 * rise) / 0.75
    near, far = left + 0.22 * _TUBE, right - 0.22 * _TUBE
    there = ((near, low), (far, low), (right, rise))
    back = ((far, high), (near, high), (left, rise))
    return Shape((left, rise), (there, back))


def _liquid(left: float, level: float, foot: float) -> Dots:
    """Sparse dots in the half of the tube that holds no lines."""
    places: list[Point] = []
    y, row = level + 0.6 * _DOTS_EVERY, 0
    while y < foot - 1:
        x = left + _DOTS_EVERY * (0.5 + 0.5 * (row % 2))
        while x < left + 0.34 * _TUBE:
            places.append((x, y))
            x += _DOTS_EVERY
        y, row = y + 0.55 * _DOTS_EVERY, row + 1
    return Dots(tuple(places), FIRM)
