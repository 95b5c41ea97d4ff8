"""A piece of apparatus and a height come in; its outline as open lines goes out, as a pupil draws it in section.

Outlines are written in parts of the height, from the upper left corner, so that they grow with the type beside them.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import NamedTuple

from molewright.nodes.drawing.strokes import HAIRLINE, RULE, Lines, Point, Stroke
from molewright.nodes.figures import Apparatus


class _Outline(NamedTuple):
    """Glass and metal in firm lines, levels and marks in thin ones, in parts of the height; so is the width."""

    width: float
    firm: tuple[tuple[Point, ...], ...]
    thin: tuple[tuple[Point, ...], ...] = ()


def _arc(middle: Point, across: float, up: float, start: float, end: float) -> tuple[Point, ...]:
    """A piece of an ellipse; angles in parts of a full turn, clockwise from the right."""
    pieces = 14
    turns = (2 * pi * (start + (end - start) * place / pieces) for place in range(pieces + 1))
    return tuple((middle[0] + across * cos(turn), middle[1] + up * sin(turn)) for turn in turns)


_OUTLINES: dict[Apparatus, _Outline] = {
    "balance": _Outline(
        1.1,
        (
            ((0.12, 0.42), (0.98, 0.42)),
            ((0.55, 0.42), (0.55, 0.56)),
            ((0.18, 0.56), (0.92, 0.56), (1.06, 0.98), (0.04, 0.98), (0.18, 0.56)),
            _arc((0.55, 0.42), 0.24, 0.26, 0.5, 1.0),
        ),
        (((0.36, 0.7), (0.74, 0.7), (0.74, 0.84), (0.36, 0.84), (0.36, 0.7)),),
    ),
    "beaker": _Outline(
        0.78,
        (((0.02, 0.12), (0.1, 0.18), (0.1, 0.92), (0.16, 0.98), (0.64, 0.98), (0.7, 0.92), (0.7, 0.12)),),
        (((0.1, 0.52), (0.7, 0.52)),),
    ),
    "burette": _Outline(
        0.34,
        (
            ((0.1, 0.0), (0.1, 0.7), (0.15, 0.76), (0.15, 0.86), (0.17, 1.0)),
            ((0.24, 0.0), (0.24, 0.7), (0.19, 0.76), (0.19, 0.86), (0.17, 1.0)),
            ((0.06, 0.81), (0.3, 0.81)),
            ((0.3, 0.76), (0.3, 0.86)),
        ),
        tuple(((0.17, 0.12 + 0.1 * mark), (0.24, 0.12 + 0.1 * mark)) for mark in range(6)),
    ),
    "conical flask": _Outline(
        0.84,
        (
            ((0.28, 0.02), (0.56, 0.02)),
            (
                (0.32, 0.02),
                (0.32, 0.28),
                (0.03, 0.9),
                (0.08, 0.98),
                (0.76, 0.98),
                (0.81, 0.9),
                (0.52, 0.28),
                (0.52, 0.02),
            ),
        ),
        (((0.15, 0.64), (0.69, 0.64)),),
    ),
    "pipette": _Outline(
        0.24,
        (
            ((0.09, 0.0), (0.09, 0.32), (0.02, 0.4), (0.02, 0.58), (0.09, 0.66), (0.09, 0.92), (0.12, 1.0)),
            ((0.15, 0.0), (0.15, 0.32), (0.22, 0.4), (0.22, 0.58), (0.15, 0.66), (0.15, 0.92), (0.12, 1.0)),
        ),
        (((0.05, 0.16), (0.19, 0.16)),),
    ),
    "volumetric flask": _Outline(
        0.68,
        (
            ((0.22, 0.02), (0.46, 0.02)),
            ((0.28, 0.02), (0.28, 0.44), *_arc((0.34, 0.7), 0.31, 0.28, 0.7, 0.32), (0.22, 0.98), (0.46, 0.98)),
            ((0.4, 0.02), (0.4, 0.44), *_arc((0.34, 0.7), 0.31, 0.28, 0.8, 1.18), (0.46, 0.98)),
        ),
        (((0.24, 0.24), (0.44, 0.24)),),
    ),
}


def apparatus_width(what: Apparatus, tall: float) -> float:
    """The width of what is drawn so tall, in the same unit."""
    return _OUTLINES[what].width * tall


def apparatus_strokes(what: Apparatus, x: float, y: float, tall: float) -> tuple[Stroke, ...]:
    """Its outline with its upper left corner at a place, all in points."""
    outline = _OUTLINES[what]

    def placed(pieces: tuple[tuple[Point, ...], ...]) -> tuple[tuple[Point, ...], ...]:
        return tuple(tuple((x + tall * across, y + tall * down) for across, down in piece) for piece in pieces)

    firm = Lines(pieces=placed(outline.firm), weight=RULE, rounded=True)
    return (firm, Lines(pieces=placed(outline.thin), weight=HAIRLINE)) if outline.thin else (firm,)
