"""A picture of strokes and words comes in; a PNG goes out, black on white, at 300 dots an inch. Equal pictures give equal bytes."""

from __future__ import annotations

import io
from functools import lru_cache
from itertools import pairwise
from math import fsum, hypot
from typing import TYPE_CHECKING, assert_never

from molewright.nodes.drawing.strokes import Box, Dots, Frame, Lines, Picture, Point, Shape, Stroke, Words
from molewright.render.docx.lettering import LOWERED, SmallType, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

DOTS_AN_INCH = 300
_SCALE = DOTS_AN_INCH / 72
_BEND_STEPS = 12
_ROUND_WORDS = 1.5  # white beside words that are cleared, in points
_BLACK, _WHITE = 0, 15  # sixteen shades are enough: two dots go into a byte
_GREYS = [shade * 17 for shade in range(16) for _ in "rgb"]


def png(picture: Picture, lettering: SmallType) -> bytes:
    """The picture as it is put into the document."""
    from PIL import Image, ImageDraw

    image = Image.new("L", (_across(picture.width) + 1, _across(picture.height) + 1), _WHITE)
    draw = ImageDraw.Draw(image)
    for item in picture.items:
        if isinstance(item, Words):
            _words(image, draw, item, lettering)
        else:
            _stroke(draw, item)
    image.putpalette(
        _GREYS
    )  # a palette spares the tries of filters on every row, which pack lines on white paper no better
    made = io.BytesIO()
    image.save(made, "PNG", bits=4, dpi=(DOTS_AN_INCH, DOTS_AN_INCH), compress_level=4)
    return made.getvalue()


def _across(points: float) -> int:
    return round(points * _SCALE)


def _at(point: Point) -> tuple[float, float]:
    return point[0] * _SCALE, point[1] * _SCALE


def _words(image: Image.Image, draw: ImageDraw.ImageDraw, words: Words, lettering: SmallType) -> None:
    placed, top, tall = lettering.placed(words)
    if words.cleared and placed:
        left, right = (words.x - _ROUND_WORDS) * _SCALE, (words.x + words.width + _ROUND_WORDS) * _SCALE
        draw.rectangle((left, top * _SCALE, right, (top + tall - 0.5) * _SCALE), fill=_WHITE)
    for one in placed:
        size = lettering.size * (LOWERED if one.letters.lowered else 1.0) * _SCALE
        inked, left, above = _inked(one.letters.text, one.letters.face, round(size, 2))
        if inked is not None:
            image.paste(_BLACK, (_across(one.x) + left, _across(one.baseline) + above), inked)


@lru_cache(maxsize=1024)
def _inked(text: str, face: int, size: float) -> tuple[Image.Image | None, int, int]:
    """Where letters have ink, and the corner of that from the left end of their baseline: once for all places they stand at."""
    from PIL import Image, ImageDraw

    held = font(face, size)
    left, above, right, below = map(int, held.getbbox(text, anchor="ls"))
    if left >= right or above >= below:
        return None, 0, 0
    image = Image.new("L", (right - left, below - above))
    ImageDraw.Draw(image).text((-left, -above), text, font=held, fill=255, anchor="ls")
    return image, left, above


# ---------------------------------------------------------------- strokes


def _stroke(draw: ImageDraw.ImageDraw, stroke: Stroke) -> None:
    match stroke:
        case Lines():
            _lines(draw, stroke)
        case Frame():
            box = stroke.box
            right, foot = box.x + box.wide, box.y + box.tall
            corners = ((box.x, box.y), (right, box.y), (right, foot), (box.x, foot), (box.x, box.y))
            draw.line([_at(one) for one in corners], fill=_BLACK, width=_weight(stroke.weight), joint="curve")
        case Dots():
            half = stroke.size / 2
            for x, y in stroke.places:
                draw.ellipse([*_at((x - half, y - half)), *_at((x + half, y + half))], fill=_BLACK)
        case Shape():
            draw.polygon([_at(one) for one in _outline(stroke)], fill=_BLACK)
        case _:
            assert_never(stroke)


def _weight(points: float) -> int:
    return max(1, round(points * _SCALE))


def _lines(draw: ImageDraw.ImageDraw, stroke: Lines) -> None:
    for piece in stroke.pieces:
        pieces = _dashed(piece, *stroke.dashes) if stroke.dashes else [piece]
        for one in pieces:
            for seen in [one] if stroke.within is None else _within(one, stroke.within):
                joint = "curve" if stroke.rounded or len(seen) > 2 else None
                draw.line([_at(point) for point in seen], fill=_BLACK, width=_weight(stroke.weight), joint=joint)


def _dashed(piece: tuple[Point, ...], drawn: float, left_out: float) -> list[tuple[Point, ...]]:
    """The dashes of an open line, corners and all."""
    made: list[tuple[Point, ...]] = []
    dash: list[Point] = [piece[0]]
    inked, left = True, drawn
    for start, end in pairwise(piece):
        length = hypot(end[0] - start[0], end[1] - start[1])
        gone = 0.0
        while length - gone > left:
            gone += left
            spot = _between(start, end, gone / length)
            if inked:
                made.append((*dash, spot))
            dash, inked = [spot], not inked
            left = drawn if inked else left_out
        left -= length - gone
        dash.append(end)
    if inked and len(dash) > 1:
        made.append(tuple(dash))
    return made


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _within(piece: tuple[Point, ...], box: Box) -> list[tuple[Point, ...]]:
    """What of a line lies inside a rectangle, cut as by Liang and Barsky."""
    seen: list[tuple[Point, ...]] = []
    for start, end in pairwise(piece):
        enters, leaves = 0.0, 1.0
        across, down = end[0] - start[0], end[1] - start[1]
        for step, room in (
            (-across, start[0] - box.x),
            (across, box.x + box.wide - start[0]),
            (-down, start[1] - box.y),
            (down, box.y + box.tall - start[1]),
        ):
            if step < 0:
                enters = max(enters, room / step)
            elif step > 0:
                leaves = min(leaves, room / step)
            elif room < 0:
                leaves = -1.0
        if enters < leaves:
            cut = (_between(start, end, enters), _between(start, end, leaves))
            if seen and seen[-1][-1] == cut[0]:
                seen[-1] = (*seen[-1], cut[1])
            else:
                seen.append(cut)
    return seen


def _outline(shape: Shape) -> list[Point]:
    points = [shape.start]
    for side in shape.sides:
        if len(side) == 1:
            points.append(side[0])
        else:
            first, second, end = side
            corners = (points[-1], first, second, end)
            points += [_bent(corners, step / _BEND_STEPS) for step in range(1, _BEND_STEPS + 1)]
    return points


def _bent(corners: tuple[Point, Point, Point, Point], at: float) -> Point:
    """A point of a cubic curve after Bézier."""
    left = 1 - at
    shares = (left**3, 3 * left**2 * at, 3 * left * at**2, at**3)
    x, y = (fsum(share * corner[axis] for share, corner in zip(shares, corners, strict=True)) for axis in (0, 1))
    return x, y
