"""Total = reacted + left over (bar) comes in; a slab with words for it goes out, in black. And what all figures share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from molewright.nodes.blocks import Paragraph
from molewright.nodes.figures import BarFigure, BarPiece
from molewright.nodes.inline import Line
from molewright.render.pdf.lines import Chunk, natural_width, widest_word
from molewright.render.pdf.look import HAIRLINE, Style
from molewright.render.pdf.slabs import Mark, Slab
from molewright.render.pdf.spoken import said
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact

STROKE = 0.75
_BAR_TALL, _HATCH = 22.0, 5.0


@dataclass(frozen=True, slots=True)
class SetWords:
    """Lines set one below the other and centred in a width."""

    chunks: tuple[Chunk, ...]
    height: float

    def marks(self, element: Element, x: float, y: float) -> list[Mark]:
        """The lines as marks, the first at y from the slab's top."""
        made = []
        for chunk in self.chunks:
            made.append(Mark(element, x, y, chunk.segments))
            y += chunk.height
        return made


def centred_words(lines: Sequence[tuple[Line, bool]], setting: Typesetting, style: Style, width: float) -> SetWords:
    """Lines, each with whether it is bold, centred in a width."""
    chunks = tuple(
        chunk
        for line, bold in lines
        for chunk in setting.lines(line, style.heavier() if bold else style, width, "centre")
    )
    return SetWords(chunks, fsum(chunk.height for chunk in chunks))


def bar_figure(block: BarFigure, setting: Typesetting, place: Place) -> list[Slab]:
    """The total in a bracket above, the pieces of the bar with their words below."""
    if not block.pieces:
        return []
    style = setting.look.small
    element = place.owner.child("Figure", alt=block.alt or _bar_alt(block))
    wide = place.width
    total = centred_words([(block.total, False)], setting, style, wide)
    marks = total.marks(element, place.x, 0.0)
    y = total.height + 3.0
    drawn = [
        f"{STROKE} w 0.4 {-y - 6:.2f} m 0.4 {-y:.2f} l {wide - 0.4:.2f} {-y:.2f} l {wide - 0.4:.2f} {-y - 6:.2f} l S"
    ]
    y += 9.0
    spans = _spans(block.pieces, wide)
    for piece, (start, end) in zip(block.pieces, spans, strict=True):
        drawn.append(_piece(start, end, y, piece.hatched))
    drawn.append(f"{STROKE} w 0.4 {-y - _BAR_TALL:.2f} {wide - 0.8:.2f} {_BAR_TALL:.2f} re S")
    y += _BAR_TALL
    labels = _labels(block.pieces, spans, wide, setting, style)
    foot = y
    for (start, end), (x, width, words) in zip(spans, labels, strict=True):
        drawn.append(f"{HAIRLINE} w {(start + end) / 2:.2f} {-y - 1.5:.2f} m {x + width / 2:.2f} {-y - 8:.2f} l S")
        marks += words.marks(element, place.x + x, y + 9.0)
        foot = max(foot, y + 9.0 + words.height)
    marks.append(artifact(place.x, 0.0, "\n".join(drawn)))
    slab = Slab(height=foot, marks=marks, above=6.0, below=10.0)
    if slab.height > place.room:
        told = [Paragraph(block.total, "lead"), *(Paragraph(piece.label) for piece in block.pieces)]
        return setting.lay(told, setting, place)
    slab.box = (element, place.x, wide)
    return [slab]


def _bar_alt(block: BarFigure) -> str:
    return f"{said(block.total)} is made of {' and '.join(said(piece.label) for piece in block.pieces)}"


def _spans(pieces: Sequence[BarPiece], wide: float) -> list[tuple[float, float]]:
    """Where each piece begins and ends; shares are taken as parts of their sum."""
    shares = [max(0.0, piece.share) for piece in pieces]
    whole = fsum(shares) or 1.0
    spans: list[tuple[float, float]] = []
    x = 0.0
    for share in shares:
        spans.append((x, x + share / whole * wide))
        x = spans[-1][1]
    return spans


def _piece(start: float, end: float, y: float, hatched: bool) -> str:
    frame = f"{start:.2f} {-y - _BAR_TALL:.2f} {end - start:.2f} {_BAR_TALL:.2f} re"
    border = f"{STROKE} w {start:.2f} {-y - _BAR_TALL:.2f} m {start:.2f} {-y:.2f} l S" if start else ""
    if not hatched:
        return border
    strokes: list[str] = []
    x = start - _BAR_TALL
    while x < end:
        strokes.append(f"{x:.2f} {-y - _BAR_TALL:.2f} m {x + _BAR_TALL:.2f} {-y:.2f} l")
        x += _HATCH
    return f"q {frame} W n {HAIRLINE} w {' '.join(strokes)} S Q {border}"


def _labels(
    pieces: Sequence[BarPiece], spans: Sequence[tuple[float, float]], wide: float, setting: Typesetting, style: Style
) -> list[tuple[float, float, SetWords]]:
    """Left edge, width and words below each piece; neighbours are pushed apart where pieces are narrow."""
    between = 8.0
    natural = [natural_width(piece.label, style) + 1.0 for piece in pieces]
    least = [widest_word(piece.label, style) + 1.0 for piece in pieces]
    widths = [
        min(want, max(end - start - between, small, 84.0))
        for want, small, (start, end) in zip(natural, least, spans, strict=True)
    ]
    room = wide - between * (len(pieces) - 1)
    if fsum(widths) > room:
        widths = [width * room / fsum(widths) for width in widths]
    places: list[float] = []
    edge = 0.0
    for width, (start, end) in zip(widths, spans, strict=True):
        places.append(max(edge, (start + end - width) / 2))
        edge = places[-1] + width + between
    limit = wide
    for index in reversed(range(len(places))):
        places[index] = min(places[index], limit - widths[index])
        limit = places[index] - between
    return [
        (x, width, centred_words([(piece.label, False)], setting, style, width))
        for x, width, piece in zip(places, widths, pieces, strict=True)
    ]
