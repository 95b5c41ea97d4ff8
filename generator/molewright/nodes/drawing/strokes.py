"""What a picture is made of: a closed set of frozen strokes, and words with their place. Draws nothing.

All lengths are points of 1/72 inch, from the upper left corner of the picture, y downwards. All is black on white.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol, assert_never

from molewright.nodes.inline import Line

Point = tuple[float, float]
Across = Literal["left", "centre", "right"]
Hung = Literal["top", "middle", "foot", "astride"]

MM = 72 / 25.4
HAIRLINE, THIN, RULE, FIRM, HEAVY = 0.5, 0.6, 0.75, 0.9, 1.5  # widths of lines; half a point survives a photocopier


class Box(NamedTuple):
    """A rectangle: its left and upper edge, its width and height."""

    x: float
    y: float
    wide: float
    tall: float

    def meets(self, other: Box) -> bool:
        """Whether two rectangles overlap."""
        return (
            self.x < other.x + other.wide
            and other.x < self.x + self.wide
            and self.y < other.y + other.tall
            and other.y < self.y + self.tall
        )

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies in it."""
        return self.x <= x <= self.x + self.wide and self.y <= y <= self.y + self.tall


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Open lines of one look, each from point to point; of what lies outside `within` nothing is seen."""

    pieces: tuple[tuple[Point, ...], ...]
    weight: float
    dashes: tuple[float, float] | None = None  # drawn, left out
    rounded: bool = False  # ends and corners
    within: Box | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """The four sides of a rectangle."""

    box: Box
    weight: float


@dataclass(frozen=True, slots=True)
class Dots:
    """Round dots of one size across."""

    places: tuple[Point, ...]
    size: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled outline that closes itself: each side is (end,) where it is straight, (handle, handle, end) where it bends."""

    start: Point
    sides: tuple[tuple[Point, ...], ...]


Stroke = Lines | Frame | Dots | Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Paragraphs below each other, each with whether it is bold, in the small type of the sheet.

    They stand in a column of a width with its left edge at x: `across` says how each line stands in it, `hung` what lies
    at y: the top, the middle or the foot of them all, or the middle of a single line's capitals. `cleared` words stand on
    white that covers what was drawn before.
    """

    lines: tuple[tuple[Line, bool], ...]
    x: float
    y: float
    width: float
    across: Across = "left"
    hung: Hung = "top"
    cleared: bool = False

    def top(self, tall: float, capitals: float, first: float) -> float:
        """Where they begin once they are set so tall, with half the height of capitals and the depth of the first baseline."""
        match self.hung:
            case "top":
                return self.y
            case "middle":
                return self.y - tall / 2
            case "foot":
                return self.y - tall
            case "astride":
                return self.y + capitals - first
            case _:
                assert_never(self.hung)


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A figure, or a row of one that may not be parted, in the order of drawing, and what a screen reader says for it."""

    width: float
    height: float
    items: tuple[Stroke | Words, ...]
    alt: str


class Lettering(Protocol):
    """What a form knows of words in its small type: their measures in points, and how they are said."""

    @property
    def leading(self) -> float:
        """From line to line."""

    def width(self, line: Line, bold: bool = False) -> float:
        """Of the line when nothing breaks it."""

    def widest(self, line: Line, bold: bool = False) -> float:
        """Of the widest thing in the line that must not break."""

    def height(self, words: Words) -> float:
        """Of all their lines, broken to their width."""

    def said(self, line: Line) -> str:
        """The line for a screen reader."""


def hatching(box: Box, apart: float) -> Lines:
    """Strokes that rise to the right, so far apart, all over a box."""
    foot = box.y + box.tall
    pieces: list[tuple[Point, ...]] = []
    x = box.x - box.tall
    while x < box.x + box.wide:
        pieces.append(((x, foot), (x + box.tall, box.y)))
        x += apart
    return Lines(pieces=tuple(pieces), weight=HAIRLINE, within=box)


def one_line(points: tuple[Point, ...], weight: float) -> Lines:
    """A single line."""
    return Lines(pieces=(points,), weight=weight)
