"""A figure comes in; slabs with its pictures go out: strokes in the operators of PDF, words as marked text, in black."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum
from typing import assert_never

from molewright.nodes.drawing.pictures import in_words, pictures
from molewright.nodes.drawing.strokes import Box, Dots, Frame, Lines, Picture, Point, Shape, Stroke, Words
from molewright.nodes.figures import Figure
from molewright.nodes.inline import Line
from molewright.render.pdf.content import bar
from molewright.render.pdf.lines import Chunk, natural_width, widest_word
from molewright.render.pdf.look import Style
from molewright.render.pdf.slabs import Mark, Slab, tied
from molewright.render.pdf.spoken import said
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact

_CAPITALS = 0.345  # half their height, in ems
_ROUND_WORDS = 1.5  # white beside words that are cleared


def figure_slabs(node: Figure, setting: Typesetting, place: Place) -> list[Slab]:
    """One slab for each picture, all held together; what no page can hold is told in order instead."""
    lettering = SmallType(setting)
    scale = setting.look.figure_scale
    made = pictures(node, lettering, place.width, place.room, scale)
    if not made:
        return []
    told = in_words(node) if any(one.height > place.room for one in made) else []
    if told:
        return setting.lay(told, setting, place)
    element = place.owner.child("Figure", alt=made[0].alt)
    slabs = [
        Slab(
            height=one.height,
            marks=list(_marks(one, SmallType(setting, scale), place.x, element)),
            above=6.0,
            below=10.0,
        )
        for one in made
    ]
    slabs[0].box = (element, place.x, place.width)
    tied(slabs)
    return slabs


@dataclass(frozen=True, slots=True)
class SmallType:
    """Measures words in the small type of a sheet, and sets them, in what is drawn larger so much larger."""

    setting: Typesetting
    scale: float = 1.0

    @property
    def style(self) -> Style:
        """The small type."""
        return self.setting.look.figure

    @property
    def leading(self) -> float:
        """From line to line."""
        return self.style.leading

    def width(self, line: Line, bold: bool = False) -> float:
        """Of the line when nothing breaks it."""
        return natural_width(line, self._style(bold))

    def widest(self, line: Line, bold: bool = False) -> float:
        """Of the widest thing in the line that must not break."""
        return widest_word(line, self._style(bold))

    def height(self, words: Words) -> float:
        """Of all their lines."""
        return fsum(chunk.height for chunk in self.chunks(words))

    def said(self, line: Line) -> str:
        """The line for a screen reader."""
        return said(line)

    def chunks(self, words: Words) -> list[Chunk]:
        """The words set in their column."""
        return [
            chunk
            for line, bold in words.lines
            for chunk in self.setting.lines(line, self._style(bold), words.width, words.across)
        ]

    def _style(self, bold: bool) -> Style:
        style = self.style.scaled(self.scale)
        return style.heavier() if bold else style


def _marks(picture: Picture, lettering: SmallType, x: float, element: Element) -> Iterable[Mark]:
    """Strokes that follow each other are one mark, every line of words has its own."""
    drawn: list[str] = []
    for item in picture.items:
        if not isinstance(item, Words):
            drawn.append(_inked(item))
            continue
        chunks = lettering.chunks(item)
        tall = fsum(chunk.height for chunk in chunks)
        capitals = _CAPITALS * lettering.style.size * lettering.scale
        y = item.top(tall, capitals, chunks[0].first) if chunks else item.y
        if item.cleared:
            white = Box(item.x - _ROUND_WORDS, y, item.width + 2 * _ROUND_WORDS, tall - 0.5)
            drawn.append(f"1 g {bar(white.x, -white.y - white.tall, white.wide, white.tall)} 0 g")
        if drawn:
            yield artifact(x, 0.0, "\n".join(drawn))
            drawn = []
        for chunk in chunks:
            yield Mark(element, x + item.x, y, chunk.segments)
            y += chunk.height
    if drawn:
        yield artifact(x, 0.0, "\n".join(drawn))


# ---------------------------------------------------------------- strokes


def _inked(stroke: Stroke) -> str:
    """The operators of one stroke, y upwards from the top of the slab."""
    match stroke:
        case Lines():
            return _lines(stroke)
        case Frame():
            return f"{stroke.weight:g} w {_rectangle(stroke.box)} re S"
        case Dots():
            places = " ".join(f"{at} m {at} l" for at in map(_at, stroke.places))
            return f"q 1 J {stroke.size:g} w {places} S Q"
        case Shape():
            return _shape(stroke)
        case _:
            assert_never(stroke)


def _lines(stroke: Lines) -> str:
    state = [f"{_rectangle(stroke.within)} re W n"] if stroke.within is not None else []
    state += ["1 J 1 j"] if stroke.rounded else []
    state.append(f"{stroke.weight:g} w")
    if stroke.dashes:
        state.append(f"[{' '.join(f'{dash:g}' for dash in stroke.dashes)}] 0 d")
    path = " ".join(_line(piece) for piece in stroke.pieces)
    drawn = f"{' '.join(state)} {path} S"
    return drawn if len(state) == 1 else f"q {drawn} Q"


def _line(piece: tuple[Point, ...]) -> str:
    start, *others = piece
    return " ".join([f"{_at(start)} m", *(f"{_at(one)} l" for one in others)])


def _shape(stroke: Shape) -> str:
    sides = [f"{' '.join(map(_at, side))} {'l' if len(side) == 1 else 'c'}" for side in stroke.sides]
    closed = "" if stroke.sides[-1][-1] == stroke.start else "h "
    return f"{_at(stroke.start)} m {' '.join(sides)} {closed}f"


def _at(point: Point) -> str:
    return f"{point[0]:.2f} {-point[1]:.2f}"


def _rectangle(box: Box) -> str:
    return f"{box.x:.2f} {-box.y - box.tall:.2f} {box.wide:.2f} {box.tall:.2f}"
