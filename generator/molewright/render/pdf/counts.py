"""A chart of counts comes in; hatched bars with their words and numbers go out as one slab, in black and white only."""

from __future__ import annotations

from math import fsum

from molewright.nodes.blocks import Paragraph
from molewright.nodes.figures import CountChart, CountRow
from molewright.nodes.inline import Text
from molewright.render.pdf.look import HAIRLINE, RULE
from molewright.render.pdf.slabs import Mark, Slab
from molewright.render.pdf.spoken import said
from molewright.render.pdf.typesetting import Place, Typesetting, artifact

_WORDS = 0.44  # share of the width that the words beside the bars take
_NUMBER = 24.0  # kept free at the end of the longest bar for its number
_TALL, _HATCH, _BETWEEN, _GAP = 9.0, 3.2, 4.0, 6.0


def count_chart(block: CountChart, setting: Typesetting, place: Place) -> list[Slab]:
    """The title, then one bar a row; a chart too tall for a page is told in words."""
    if not block.rows:
        return []
    style = setting.look.small
    element = place.owner.child("Figure", alt=block.alt or _alt(block))
    words = place.width * _WORDS
    longest = place.width - words - _GAP - _NUMBER
    most = max(1, *(row.count for row in block.rows))
    marks: list[Mark] = []
    drawn: list[str] = []
    y = 0.0
    for chunk in setting.lines(block.title, style.heavier(), place.width):
        marks.append(Mark(element, place.x, y, chunk.segments))
        y += chunk.height
    y += _BETWEEN if block.title else 0.0
    start, left = y, words + _GAP
    for row in block.rows:
        chunks = setting.lines(row.label, style, words, "right")
        tall = max(fsum(chunk.height for chunk in chunks), _TALL)
        top = y + (tall - fsum(chunk.height for chunk in chunks)) / 2
        for chunk in chunks:
            marks.append(Mark(element, place.x, top, chunk.segments))
            top += chunk.height
        width = longest * max(0, row.count) / most
        drawn.append(_bar(left, y + (tall - _TALL) / 2, width))
        for chunk in setting.lines((Text(str(row.count), bold=True),), style, _NUMBER):
            marks.append(Mark(element, place.x + left + width + 4.0, y + (tall - chunk.height) / 2, chunk.segments))
        y += tall + _BETWEEN
    drawn.append(f"{RULE} w {left:.2f} {-start + 2:.2f} m {left:.2f} {-y + 2:.2f} l S")
    if y > place.room:
        told = [Paragraph(block.title, "lead"), *(Paragraph(_told(row)) for row in block.rows)]
        return setting.lay(told, setting, place)
    marks.append(artifact(place.x, 0.0, "\n".join(drawn)))
    return [Slab(height=y, marks=marks, above=6.0, below=10.0, box=(element, place.x, place.width))]


def _told(row: CountRow) -> tuple[Text, ...]:
    return (Text(f"{said(row.label)}: {row.count}"),)


def _alt(block: CountChart) -> str:
    return "; ".join(filter(None, (said(block.title), *(f"{said(row.label)}: {row.count}" for row in block.rows))))


def _bar(x: float, y: float, width: float) -> str:
    """A frame with slanting lines in it; nothing for a count of none."""
    if width <= 0:
        return ""
    frame = f"{x:.2f} {-y - _TALL:.2f} {width:.2f} {_TALL:.2f} re"
    strokes: list[str] = []
    at = x - _TALL
    while at < x + width:
        strokes.append(f"{at:.2f} {-y - _TALL:.2f} m {at + _TALL:.2f} {-y:.2f} l")
        at += _HATCH
    return f"q {frame} W n {HAIRLINE} w {' '.join(strokes)} S Q {RULE} w {frame} S"
