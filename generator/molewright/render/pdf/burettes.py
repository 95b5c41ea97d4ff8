"""Burettes seen close come in; tubes with scale, numbers and meniscus go out as slabs, in black and white only."""

from __future__ import annotations

from decimal import Decimal

from molewright.nodes.blocks import Paragraph
from molewright.nodes.figures import BuretteFigure, BuretteView
from molewright.nodes.inline import Text
from molewright.render.pdf.figures import centred_words
from molewright.render.pdf.look import HEAVY, MM, RULE, Style
from molewright.render.pdf.slabs import Mark, Slab, tied
from molewright.render.pdf.spoken import said
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact
from molewright.render.scales import Division, Window, standing, told_burette, window

_ROW_MOST = 4
_TENTH = 2.5 * MM  # a division: half of it can still be told with the eye
_TUBE, _CELL = 15 * MM, 44 * MM
_OVER = 2.5 * MM  # glass beyond the first and the last line
_LINES = {"short": 0.36, "middle": 0.5, "long": 0.64}  # of the tube's width, from the right wall
_RISE, _THICK = 1.8 * MM, 0.75 * MM  # of the meniscus at the glass, and of its dark edge in the middle
_DOTS_EVERY = 2.1 * MM
_APART = 9.0  # between the words above a burette and its end


def burette_figure(block: BuretteFigure, setting: Typesetting, place: Place) -> list[Slab]:
    """The burettes of a figure, up to four in a row, each with its words above."""
    if not block.views:
        return []
    words = [said(view.label) for view in block.views]
    element = place.owner.child("Figure", alt=block.alt or told_burette(block, words))
    across = max(1, min(_ROW_MOST, len(block.views), int(place.width / _CELL)))
    slabs = [
        _row(block.views[start : start + across], block.unit, setting, place, element)
        for start in range(0, len(block.views), across)
    ]
    if any(slab.height > place.room for slab in slabs):  # far too many words above a burette: told instead
        told = [Paragraph((*view.label, Text(f": {standing(view.reading)}"))) for view in block.views]
        return setting.lay(told, setting, place)
    slabs[0].box = (element, place.x, place.width)
    tied(slabs)
    return slabs


def _row(views: tuple[BuretteView, ...], unit: str, setting: Typesetting, place: Place, element: Element) -> Slab:
    style = setting.look.small
    cell = min(_CELL * 1.1, place.width / len(views))
    left = (place.width - cell * len(views)) / 2
    marks: list[Mark] = []
    drawn: list[str] = []
    labels = [centred_words([(view.label, True)], setting, style, cell - 8) for view in views]
    top = max(label.height for label in labels) + _APART
    for index, (view, label) in enumerate(zip(views, labels, strict=True)):
        x = left + index * cell
        marks += label.marks(element, place.x + x + 4, top - _APART - label.height)
        marks += _burette(view, unit, x + (cell - _TUBE) / 2, top, drawn, setting, place, element)
    marks.insert(0, artifact(place.x, 0.0, "\n".join(drawn)))
    tall = top + float(_height()) + 2 * _OVER
    return Slab(height=tall, marks=marks, above=6.0, below=10.0)


def _height() -> float:
    piece = window(Decimal(1))
    return float(piece.bottom - piece.top) * 10 * _TENTH


def _burette(
    view: BuretteView,
    unit: str,
    x: float,
    y: float,
    drawn: list[str],
    setting: Typesetting,
    place: Place,
    element: Element,
) -> list[Mark]:
    """One tube with its left wall at x and its end at y from the slab's top; the numbers are returned as text."""
    style: Style = setting.look.small
    piece = window(view.reading)
    right, foot = x + _TUBE, y + _height() + 2 * _OVER
    level = y + _OVER + _depth(view.reading, piece)
    drawn.append(_liquid(x, level, foot))
    for division in piece.divisions():
        drawn.append(_division(division, right, y + _OVER + _depth(division.value, piece)))
    drawn.append(_meniscus(x, right, level))
    drawn.append(
        f"{HEAVY} w {x:.2f} {-y:.2f} m {x:.2f} {-foot:.2f} l {right:.2f} {-y:.2f} m {right:.2f} {-foot:.2f} l S"
    )
    marks: list[Mark] = []
    for division in piece.divisions():
        if division.number:
            chunk = setting.lines((Text(division.number),), style, 30)[0]
            at = y + _OVER + _depth(division.value, piece) + 0.345 * style.size  # capitals stand astride the line
            marks.append(Mark(element, place.x + right + 4, at - chunk.first, chunk.segments))
    chunk = setting.lines((Text(unit),), style, 40)[0]
    marks.append(Mark(element, place.x + right + 4, y - chunk.height / 2, chunk.segments))
    return marks


def _depth(value: Decimal, piece: Window) -> float:
    return float(value - piece.top) * 10 * _TENTH


def _division(division: Division, right: float, y: float) -> str:
    weight = RULE if division.length == "short" else HEAVY
    return f"{weight} w {right:.2f} {-y:.2f} m {right - _LINES[division.length] * _TUBE:.2f} {-y:.2f} l S"


def _meniscus(left: float, right: float, level: float) -> str:
    """A dark crescent whose lower edge touches the reading in the middle of the tube."""
    rise = -level + _RISE
    low, high = (-level - 0.25 * rise) / 0.75, (-level + _THICK - 0.25 * rise) / 0.75
    near, far = left + 0.22 * _TUBE, right - 0.22 * _TUBE
    return (
        f"{left:.2f} {rise:.2f} m {near:.2f} {low:.2f} {far:.2f} {low:.2f} {right:.2f} {rise:.2f} c "
        f"{far:.2f} {high:.2f} {near:.2f} {high:.2f} {left:.2f} {rise:.2f} c f"
    )


def _liquid(left: float, level: float, foot: float) -> str:
    """Sparse dots in the half of the tube that holds no lines."""
    strokes: list[str] = []
    y, row = level + 0.6 * _DOTS_EVERY, 0
    while y < foot - 1:
        x = left + _DOTS_EVERY * (0.5 + 0.5 * (row % 2))
        while x < left + 0.34 * _TUBE:
            strokes.append(f"{x:.2f} {-y:.2f} m {x:.2f} {-y:.2f} l")
            x += _DOTS_EVERY
        y, row = y + 0.55 * _DOTS_EVERY, row + 1
    return f"q 1 J {HEAVY} w {' '.join(strokes)} S Q"
