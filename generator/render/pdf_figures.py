"""What went where (flow) and total = reacted + left over (bar) come in; a slab with words for it goes out, in black."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from generator.render.pdf_lines import Chunk, natural_width, widest_word
from generator.render.pdf_look import HAIRLINE, Style
from generator.render.pdf_setting import Place, Setting, artifact
from generator.render.pdf_slabs import Mark, Slab
from generator.render.pdf_spoken import said
from generator.render.pdf_tags import Element
from generator.sheet.nodes import BarFigure, BarPiece, FlowBox, FlowFigure, Line, Paragraph, Text

_STROKE = 0.75
_PAD = 5.0
_ROW_MOST = 4
_ARROW_LEAST, _ARROW_MOST = 30.0, 92.0
_BOX_MOST = 135.0
_BAR_TALL, _HATCH = 22.0, 5.0


@dataclass(frozen=True, slots=True)
class _Words:
    """Lines set one below the other and centred in a width."""

    chunks: tuple[Chunk, ...]
    height: float

    def marks(self, element: Element, x: float, y: float) -> list[Mark]:
        made = []
        for chunk in self.chunks:
            made.append(Mark(element, x, y, chunk.segments))
            y += chunk.height
        return made


def _words(lines: Sequence[tuple[Line, bool]], setting: Setting, style: Style, width: float) -> _Words:
    chunks = tuple(
        chunk
        for line, bold in lines
        for chunk in setting.lines(line, style.heavier() if bold else style, width, "centre")
    )
    return _Words(chunks, sum(chunk.height for chunk in chunks))


def flow_figure(block: FlowFigure, setting: Setting, place: Place) -> list[Slab]:
    """Boxes from left to right, in two rows where there are more than four; fewer in a row if words need the width."""
    if not block.boxes:
        return []
    style = _figure_style(setting)
    element = place.owner.child("Figure", alt=block.alt or _flow_alt(block))
    count = len(block.boxes)
    in_a_row = min(_ROW_MOST, ceil(count / 2)) if count > _ROW_MOST else count
    while in_a_row > 1 and not _Flow(block, setting, style, place, in_a_row).fits:
        in_a_row -= 1
    slab = _Flow(block, setting, style, place, in_a_row).slab(element)
    if slab.height > place.room:  # far too many words for a figure: told in order instead
        return setting.lay(_flow_in_words(block), setting, place)
    slab.box = (element, place.x, place.width)
    return [slab]


def _figure_style(setting: Setting) -> Style:
    return setting.look.small


def _flow_alt(block: FlowFigure) -> str:
    told: list[str] = []
    for index, box in enumerate(block.boxes):
        told.append(": ".join(filter(None, (said(box.title), "; ".join(said(line) for line in box.lines)))))
        if index < len(block.boxes) - 1:
            words = said(block.arrows[index]) if index < len(block.arrows) else ""
            told.append(f"then {words}" if words else "then")
    return ", ".join(told)


def _flow_in_words(block: FlowFigure) -> list[Paragraph]:
    told: list[Paragraph] = []
    for index, box in enumerate(block.boxes):
        told.append(Paragraph(box.title, "lead"))
        told += [Paragraph(line) for line in box.lines]
        if index < min(len(block.boxes) - 1, len(block.arrows)):
            told.append(Paragraph((Text("→ "), *block.arrows[index])))
    return told


class _Flow:
    """One attempt at setting the flow with so many boxes in a row."""

    def __init__(self, block: FlowFigure, setting: Setting, style: Style, place: Place, in_a_row: int) -> None:
        self.block, self.setting, self.style, self.place = block, setting, style, place
        count = len(block.boxes)
        rows = ceil(count / in_a_row)
        each = ceil(count / rows)
        self.rows = [range(start, min(start + each, count)) for start in range(0, count, each)]
        self.gaps = [self._gap(index) for index in range(count - 1)]
        arrows = max((sum(self.gaps[index] for index in row[:-1]) for row in self.rows), default=0.0)
        self.box_width = min(_BOX_MOST, (place.width - arrows) / each)
        words = max((widest_word(line, style.heavier()) for box in block.boxes for line in _lines(box)), default=0.0)
        self.fits = self.box_width >= words + 2 * _PAD

    def _arrow_words(self, index: int) -> Line:
        return self.block.arrows[index] if index < len(self.block.arrows) else ()

    def _gap(self, index: int) -> float:
        words = self._arrow_words(index)
        wanted = max(natural_width(words, self.style) / 2, widest_word(words, self.style)) + 16.0
        return min(_ARROW_MOST, max(_ARROW_LEAST, wanted))

    def slab(self, element: Element) -> Slab:
        marks: list[Mark] = []
        drawn: list[str] = []
        y = 0.0
        left = self.place.x
        wide = self.box_width
        for number, row in enumerate(self.rows):
            boxes = [self._box(self.block.boxes[index]) for index in row]
            tall = max(words.height for words in boxes) + 2 * _PAD - 1.0
            arrows = {index: self._words_of(index, self.gaps[index] - 10.0) for index in row[:-1]}
            y += max([0.0, *(words.height + 3.0 - tall / 2 for words in arrows.values())])
            x = left
            for index, words in zip(row, boxes, strict=True):
                drawn.append(f"{_STROKE} w {x - left:.2f} {-y - tall:.2f} {wide:.2f} {tall:.2f} re S")
                marks += words.marks(element, x + _PAD, y + (tall - words.height) / 2)
                x += wide
                if index in arrows:
                    gap, above = self.gaps[index], arrows[index]
                    middle = y + tall / 2
                    drawn.append(_arrow(x - left + 3.0, -middle, x - left + gap - 3.0, -middle))
                    marks += above.marks(element, x + 5.0, middle - 3.0 - above.height)
                    x += gap
            y += tall
            if number < len(self.rows) - 1:
                turn = self._words_of(row[-1], max(60.0, x - left - wide - 12.0))
                start, end = x - left - wide / 2, wide / 2
                if turn.height and len(row) > 1:
                    marks += turn.marks(element, left + end + 6.0, y + 6.0)
                    level = y + 6.0 + turn.height + 3.0
                else:
                    marks += turn.marks(element, left + end + 6.0, y + 4.0)
                    level = y + max(11.0, turn.height / 2)
                foot = max(level + 16.0, y + turn.height + 8.0)
                drawn.append(
                    f"{_STROKE} w {start:.2f} {-y - 2:.2f} m {start:.2f} {-level:.2f} l {end:.2f} {-level:.2f} l S"
                )
                drawn.append(_arrow(end, -level, end, -foot + 2.0))
                y = foot
        marks.append(artifact(left, 0.0, "\n".join(drawn)))
        return Slab(y + 1.0, marks, above=6.0, below=10.0)

    def _box(self, box: FlowBox) -> _Words:
        lines = [(box.title, True), *((line, False) for line in box.lines)]
        return _words(lines, self.setting, self.style, self.box_width - 2 * _PAD)

    def _words_of(self, index: int, width: float) -> _Words:
        return _words([(self._arrow_words(index), False)], self.setting, self.style, width)


def _lines(box: FlowBox) -> tuple[Line, ...]:
    return (box.title, *box.lines)


def _arrow(x: float, y: float, to_x: float, to_y: float) -> str:
    """A line with a filled head, level or straight down."""
    long, half = 5.5, 2.3
    if y == to_y:
        head = (
            f"{to_x - long:.2f} {to_y - half:.2f} m {to_x:.2f} {to_y:.2f} l {to_x - long:.2f} {to_y + half:.2f} l h f"
        )
        return f"{_STROKE} w {x:.2f} {y:.2f} m {to_x - long:.2f} {to_y:.2f} l S {head}"
    head = f"{to_x - half:.2f} {to_y + long:.2f} m {to_x:.2f} {to_y:.2f} l {to_x + half:.2f} {to_y + long:.2f} l h f"
    return f"{_STROKE} w {x:.2f} {y:.2f} m {to_x:.2f} {to_y + long:.2f} l S {head}"


def bar_figure(block: BarFigure, setting: Setting, place: Place) -> list[Slab]:
    """The total in a bracket above, the pieces of the bar with their words below."""
    if not block.pieces:
        return []
    style = _figure_style(setting)
    element = place.owner.child("Figure", alt=block.alt or _bar_alt(block))
    wide = min(place.width, 400.0)
    total = _words([(block.total, False)], setting, style, wide)
    marks = total.marks(element, place.x, 0.0)
    y = total.height + 3.0
    drawn = [
        f"{_STROKE} w 0.4 {-y - 6:.2f} m 0.4 {-y:.2f} l {wide - 0.4:.2f} {-y:.2f} l {wide - 0.4:.2f} {-y - 6:.2f} l S"
    ]
    y += 9.0
    spans = _spans(block.pieces, wide)
    for piece, (start, end) in zip(block.pieces, spans, strict=True):
        drawn.append(_piece(start, end, y, piece.hatched))
    drawn.append(f"{_STROKE} w 0.4 {-y - _BAR_TALL:.2f} {wide - 0.8:.2f} {_BAR_TALL:.2f} re S")
    y += _BAR_TALL
    labels = _labels(block.pieces, spans, wide, setting, style)
    foot = y
    for (start, end), (x, width, words) in zip(spans, labels, strict=True):
        drawn.append(f"{HAIRLINE} w {(start + end) / 2:.2f} {-y - 1.5:.2f} m {x + width / 2:.2f} {-y - 8:.2f} l S")
        marks += words.marks(element, place.x + x, y + 9.0)
        foot = max(foot, y + 9.0 + words.height)
    marks.append(artifact(place.x, 0.0, "\n".join(drawn)))
    slab = Slab(foot, marks, above=6.0, below=10.0)
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
    whole = sum(shares) or 1.0
    spans: list[tuple[float, float]] = []
    x = 0.0
    for share in shares:
        spans.append((x, x + share / whole * wide))
        x = spans[-1][1]
    return spans


def _piece(start: float, end: float, y: float, hatched: bool) -> str:
    frame = f"{start:.2f} {-y - _BAR_TALL:.2f} {end - start:.2f} {_BAR_TALL:.2f} re"
    border = f"{_STROKE} w {start:.2f} {-y - _BAR_TALL:.2f} m {start:.2f} {-y:.2f} l S" if start else ""
    if not hatched:
        return border
    strokes: list[str] = []
    x = start - _BAR_TALL
    while x < end:
        strokes.append(f"{x:.2f} {-y - _BAR_TALL:.2f} m {x + _BAR_TALL:.2f} {-y:.2f} l")
        x += _HATCH
    return f"q {frame} W n {HAIRLINE} w {' '.join(strokes)} S Q {border}"


def _labels(
    pieces: Sequence[BarPiece], spans: Sequence[tuple[float, float]], wide: float, setting: Setting, style: Style
) -> list[tuple[float, float, _Words]]:
    """Left edge, width and words below each piece; neighbours are pushed apart where pieces are narrow."""
    between = 8.0
    natural = [natural_width(piece.label, style) + 1.0 for piece in pieces]
    least = [widest_word(piece.label, style) + 1.0 for piece in pieces]
    widths = [
        min(want, max(end - start - between, small, 84.0))
        for want, small, (start, end) in zip(natural, least, spans, strict=True)
    ]
    room = wide - between * (len(pieces) - 1)
    if sum(widths) > room:
        widths = [width * room / sum(widths) for width in widths]
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
        (x, width, _words([(piece.label, False)], setting, style, width))
        for x, width, piece in zip(places, widths, pieces, strict=True)
    ]
