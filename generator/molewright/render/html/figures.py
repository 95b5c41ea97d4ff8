"""Figures come in; inline SVG goes out, drawn in the colour of the text round it. Never loads a picture from anywhere."""

from __future__ import annotations

from typing import assert_never

from molewright.nodes.drawing.pictures import pictures
from molewright.nodes.drawing.strokes import MM, Box, Dots, Frame, Lines, Picture, Point, Shape, Stroke, Words
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, Figure, FlowFigure
from molewright.render.html.escape import escape
from molewright.render.html.figure_type import (
    BASELINE,
    CAPITALS,
    LEADING,
    SIZE,
    SMALLER,
    FigureType,
    Word,
    row_width,
    rows,
)
from molewright.render.html.maths import TO_SCROLL

_WIDE, _NARROW = 150 * MM, 108 * MM  # squared paper takes the column; what holds words is to be read on a narrow screen
_TALL = 200 * MM  # the most that a page has for a picture
_LEAST_SHARE = 0.74  # of its width, below which a figure is not made smaller but scrolled
_PHONE = 228.0  # points across that the narrowest screen shows of a figure in an opened step
_ROUND_WORDS = 1.5  # paper beside words that are cleared
_SHIFTS = {1: 0.36, 0: 0.0, -1: -0.18}  # of raised and lowered figures, in ems
_ANCHORS = {"left": ("start", 0.0), "centre": ("middle", 0.5), "right": ("end", 1.0)}


def figure(node: Figure, scale: float = 1.0) -> str:
    """A figure with its words for screen readers, so many times as large as usual; "" where there is nothing to show."""
    made = pictures(node, FigureType(), _width(node) / scale, _TALL / scale)
    if not made:
        return ""
    drawn = "".join(_picture(one, scale, told=place == 0) for place, one in enumerate(made))
    least = made[0].width * scale * _LEAST_SHARE
    scrolled = f" {TO_SCROLL.format('Figure')}" if least > _PHONE else ""
    return f"<figure{scrolled}>{drawn}</figure>"


def _width(node: Figure) -> float:
    match node:
        case CurveFigure():
            return _WIDE
        case FlowFigure() | BarFigure() | CountChart() | BuretteFigure():
            return _NARROW
        case _:
            assert_never(node)


def _picture(picture: Picture, scale: float, told: bool) -> str:
    """One row of a figure. The words for it are told once."""
    said = f'role="img"><title>{escape(picture.alt)}</title>' if told else 'aria-hidden="true">'
    size = f"{_short(picture.width)} {_short(picture.height)}"
    wide = picture.width * scale
    style = f"width:{_short(wide)}pt;min-width:{_short(wide * _LEAST_SHARE)}pt"
    drawn = "".join(_words(item) if isinstance(item, Words) else _inked(item) for item in picture.items)
    return (
        f'<svg viewBox="0 0 {size}" style="{style}" font-size="{SIZE:g}" '
        f'fill="none" stroke="currentColor" {said}{drawn}</svg>'
    )


# ---------------------------------------------------------------- words


def _words(words: Words) -> str:
    lines = rows(words)
    if not lines:
        return ""
    tall = len(lines) * LEADING
    anchor, share = _ANCHORS[words.across]
    x = words.x + share * words.width
    first = words.top(tall, CAPITALS * SIZE, BASELINE) + BASELINE
    pieces: list[str] = []
    if words.cleared:
        wide = max(map(row_width, lines)) + 2 * _ROUND_WORDS
        left = x - share * wide
        pieces.append(
            f'<rect class="cleared" x="{_short(left)}" y="{_short(first - BASELINE)}" width="{_short(wide)}" '
            f'height="{_short(tall)}" stroke="none"/>'
        )
    for place, row in enumerate(lines):
        y = first + place * LEADING
        pieces.append(f'<text x="{_short(x)}" y="{_short(y)}" text-anchor="{anchor}">{_row(row)}</text>')
    return f'<g fill="currentColor" stroke="none">{"".join(pieces)}</g>'


def _row(row: tuple[Word, ...]) -> str:
    """Words side by side; what follows raised or lowered figures comes back to the line."""
    pieces: list[str] = []
    at = 0.0
    for place, word in enumerate(row):
        pieces.append(" " if place else "")
        for run in word:
            wanted = -_SHIFTS[run.raised] * SIZE
            look = f' dy="{_short(wanted - at)}"' if wanted != at else ""
            look += f' font-size="{_short(SMALLER * SIZE)}"' if run.raised else ""
            look += ' font-weight="bold"' if run.bold else ""
            look += ' font-style="italic"' if run.italic else ""
            written = escape(run.text)
            pieces.append(f"<tspan{look}>{written}</tspan>" if look else written)
            at = wanted
    return "".join(pieces)


# ---------------------------------------------------------------- strokes


def _inked(stroke: Stroke) -> str:
    match stroke:
        case Lines():
            return _lines(stroke)
        case Frame(box=box):
            return f'<rect {_box(box)} stroke-width="{stroke.weight:g}"/>'
        case Dots():
            dots = "".join(f"M{_at(one)}h0" for one in stroke.places)
            return f'<path stroke-width="{stroke.size:g}" stroke-linecap="round" d="{dots}"/>' if dots else ""
        case Shape():
            sides = "".join(f"{'L' if len(side) == 1 else 'C'}{' '.join(map(_at, side))}" for side in stroke.sides)
            return f'<path fill="currentColor" stroke="none" d="M{_at(stroke.start)}{sides}Z"/>'
        case _:
            assert_never(stroke)


def _lines(stroke: Lines) -> str:
    if not stroke.pieces:
        return ""
    look = f'stroke-width="{stroke.weight:g}"'
    if stroke.dashes:
        look += f' stroke-dasharray="{stroke.dashes[0]:g} {stroke.dashes[1]:g}"'
    look += ' stroke-linecap="round" stroke-linejoin="round"' if stroke.rounded else ""
    drawn = f'<path {look} d="{"".join(map(_path, stroke.pieces))}"/>'
    if stroke.within is None:
        return drawn
    box = stroke.within  # a drawing within the drawing shows nothing outside its own box
    view = f"{_short(box.x)} {_short(box.y)} {_short(box.wide)} {_short(box.tall)}"
    return f'<svg {_box(box)} viewBox="{view}">{drawn}</svg>'


def _path(piece: tuple[Point, ...]) -> str:
    return f"M{'L'.join(map(_at, piece))}"


def _at(point: Point) -> str:
    return f"{_short(point[0])} {_short(point[1])}"


def _box(box: Box) -> str:
    return f'x="{_short(box.x)}" y="{_short(box.y)}" width="{_short(box.wide)}" height="{_short(box.tall)}"'


def _short(length: float) -> str:
    """A length to a hundredth of a point, without idle zeros."""
    written = f"{length:.2f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written
