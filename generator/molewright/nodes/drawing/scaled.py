"""A picture comes in; the same picture goes out, so many times as large: strokes, dashes and the columns of its words."""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from molewright.nodes.drawing.strokes import Box, Dots, Frame, Lines, Picture, Point, Shape, Stroke, Words

_ROUNDING = 0.1  # points that a column of words gets on top, so that rounded sizes of type break no line anew


def scaled(picture: Picture, scale: float) -> Picture:
    """The picture for words that are set so many times as large."""
    if scale == 1.0:
        return picture
    return replace(
        picture,
        width=picture.width * scale,
        height=picture.height * scale,
        items=tuple(_item(item, scale) for item in picture.items),
    )


def _item(item: Stroke | Words, scale: float) -> Stroke | Words:
    match item:
        case Lines():
            return replace(
                item,
                pieces=tuple(_points(piece, scale) for piece in item.pieces),
                weight=item.weight * scale,
                dashes=(item.dashes[0] * scale, item.dashes[1] * scale) if item.dashes else None,
                within=_box(item.within, scale) if item.within else None,
            )
        case Frame():
            return Frame(_box(item.box, scale), item.weight * scale)
        case Dots():
            return Dots(_points(item.places, scale), item.size * scale)
        case Shape():
            return Shape(_point(item.start, scale), tuple(_points(side, scale) for side in item.sides))
        case Words():
            wide = item.width * scale + _ROUNDING
            return replace(item, x=item.x * scale - _ROUNDING / 2, y=item.y * scale, width=wide)
        case _:
            assert_never(item)


def _point(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _points(points: tuple[Point, ...], scale: float) -> tuple[Point, ...]:
    return tuple(_point(point, scale) for point in points)


def _box(box: Box, scale: float) -> Box:
    return Box(*(length * scale for length in box))
