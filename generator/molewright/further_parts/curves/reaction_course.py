"""A concentration found in one quenched sample comes in; those of the other samples go out, along a course of a given order.

The course passes through what was found; the other values scatter a little, as titres do. What an honest reader may read off the
points is told with its ends: a half-life, the one after it, the rate at the start. Nothing is worded and nothing is marked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import log

from molewright.bank.definitions import Course
from molewright.chem.quantity import half_up, to_figures
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream

SAMPLES = 7  # the one at the start among them
FIGURES = 3
SCATTER = Fraction(4, 1000)  # of a value, to either side: a fraction of a tenth of a cubic centimetre
READ = Fraction(5, 100)  # of a half-life or a straight line's gradient, to either side
TANGENT = Fraction(20, 100)  # of a gradient at a point of a curve, to either side
_SHARES = {  # how far a course gets in the time of all samples: half-lives, or the share that is used up
    0: (Fraction(72, 100), Fraction(90, 100)),
    1: (Fraction(24, 10), Fraction(32, 10)),
    2: (Fraction(32, 10), Fraction(42, 10)),
}
LN_2 = Decimal("0.693")

Point = tuple[Decimal, Decimal]  # min, mol dm⁻³
Span = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """A reaction followed by quenched samples: all points, the pupil's own among them, and what is read off them."""

    order: int
    points: tuple[Point, ...]
    own: int  # which of the points is the pupil's
    half_life: Fraction  # the first, in min
    half_life_span: Span
    rate: Fraction  # at the start, in mol dm⁻³ min⁻¹; at any time for order 0
    rate_span: Span
    whole: Decimal | None = None  # mol dm⁻³ of what has formed when all has reacted, where that is what is titrated

    def at(self, minutes: float) -> float:
        """The true concentration at a time, in mol dm⁻³."""
        start, life = float(self.points[0][1]), float(self.half_life)
        return _left(self.order, start, minutes / life)

    @property
    def curve(self) -> tuple[tuple[float, float], ...]:
        """The curve through the points, to draw."""
        last = float(self.points[-1][0])
        return tuple((round(last * at / 48, 3), round(self.at(last * at / 48), 6)) for at in range(49))


def follow(course: Course, found: Decimal, stream: Stream) -> Followed:
    """The other samples of a reaction, of which one was found to hold `found` mol dm⁻³ of what is left, or of what has formed.

    Raises Refusal where what was found leaves no such course.
    """
    every = stream.pick(course.minutes)
    low, high = _SHARES[course.order]
    steps = stream.whole(0, 8)
    gone = low + (high - low) * steps / 8
    own = stream.whole(1, 3)
    whole: Decimal | None = None
    life = (SAMPLES - 1) * every / gone if course.order else Fraction(SAMPLES - 1) * every / (2 * gone)
    share = Fraction(repr(round(_left(course.order, 1.0, float(own * every / life)), 6)))
    if course.rises:
        whole = to_figures(Fraction(found) / (1 - share), FIGURES)
        left = whole - found
    else:
        left = found
    start = Fraction(left) / share
    if left <= 0:
        raise Refusal("course", "nothing would be left to follow")
    points: list[Point] = []
    for at in range(SAMPLES):
        true = Fraction(repr(_left(course.order, float(start), float(at * every / life))))
        scattered = true * (1 + SCATTER * stream.whole(-10, 10) / 10)
        value = left if at == own else to_figures(scattered, FIGURES)
        if whole is not None and not at:
            value = whole
        points.append((Decimal(at * every), value))
    rate = Fraction(points[0][1]) * (Fraction(LN_2) if course.order == 1 else Fraction(1)) / life
    if course.order == 0:
        rate = _gradient(points)
        life = Fraction(points[0][1]) / (2 * rate)
    return _judged(course.order, points, (own, life, rate), whole)


def _judged(
    order: int, points: Sequence[Point], found: tuple[int, Fraction, Fraction], whole: Decimal | None
) -> Followed:
    own, life, rate = found
    first = time_of(points, Fraction(points[0][1]) / 2)
    if abs(first - life) > life * READ:
        raise Refusal("course", "the scatter would mislead the reader of a half-life")
    if any(later[1] >= earlier[1] for earlier, later in pairwise(points)):
        raise Refusal("course", "the values do not fall from sample to sample")
    read = READ if order == 0 else TANGENT
    lives = (min(first, life), max(first, life))
    return Followed(
        order=order,
        points=tuple(points),
        own=own,
        half_life=life,
        half_life_span=(lives[0] * (1 - READ), lives[1] * (1 + READ)),
        rate=rate,
        rate_span=(rate * (1 - read), rate * (1 + read)),
        whole=whole,
    )


def _left(order: int, start: float, lives: float) -> float:
    """What is left after so many first half-lives."""
    if order == 0:
        return start * (1 - lives / 2)
    return start * 2**-lives if order == 1 else start / (1 + lives)


def time_of(points: Sequence[Point], height: Fraction) -> Fraction:
    """When a concentration is reached, in min, along a curve through the points (between two of them as if of first order).

    Raises Refusal where the points do not come down to it.
    """
    for (start, above), (end, below) in pairwise(points):
        if above >= height >= below and above > below > 0:
            share = log(float(above) / float(height)) / log(float(above) / float(below))
            return Fraction(start) + Fraction(end - start) * Fraction(repr(share))
    raise Refusal("course", "the points do not come down so far")


def _gradient(points: Sequence[Point]) -> Fraction:
    """How fast a straight line of least squares through the points falls."""
    xs, ys = [Fraction(x) for x, _ in points], [Fraction(y) for _, y in points]
    middle, level = sum(xs, Fraction(0)) / len(xs), sum(ys, Fraction(0)) / len(ys)
    up = sum(((x - middle) * (y - level) for x, y in zip(xs, ys, strict=True)), Fraction(0))
    return -up / sum(((x - middle) ** 2 for x in xs), Fraction(0))


def rounded(value: Fraction, figures: int = FIGURES) -> Decimal:
    """A value as it is printed."""
    return to_figures(value, figures)


def outwards(span: Span, places: int) -> tuple[Decimal, Decimal]:
    """The ends of what is accepted, to so many places, not nearer than they are."""
    step = Decimal(1).scaleb(-places)
    low, high = half_up(span[0], places), half_up(span[1], places)
    return (low - step if Fraction(low) > span[0] else low, high + step if Fraction(high) < span[1] else high)
