"""A reaction followed by quenched samples: the course passes through what was found, and is read as it was drawn."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest

from molewright.bank.definitions import Course
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.curves.reaction_course import LN_2, Followed, follow, outwards, time_of

COURSES = [Course(order=order, minutes=(4, 5)) for order in (0, 1, 2)]


def followed(course: Course, found: str = "0.0450") -> list[Followed]:
    made = []
    for seed in range(12):
        try:
            made.append(follow(course, Decimal(found), Stream(f"course {seed}")))
        except Refusal:
            continue
    assert len(made) > 8
    return made


@pytest.mark.parametrize("course", COURSES, ids=lambda one: f"order {one.order}")
def test_course_passes_through_what_was_found_and_falls_from_sample_to_sample(course: Course) -> None:
    for one in followed(course):
        assert one.points[one.own][1] == Decimal("0.0450")
        assert all(earlier[1] > later[1] > 0 for earlier, later in pairwise(one.points))
        assert all(
            abs(one.at(float(time)) - float(value)) < 0.02 * float(one.points[0][1]) for time, value in one.points
        )


@pytest.mark.parametrize(("order", "times"), [(1, 1), (2, 2)])
def test_second_half_life_tells_the_order(order: int, times: int) -> None:
    for one in followed(COURSES[order]):
        start = Fraction(one.points[0][1])
        first, second = time_of(one.points, start / 2), time_of(one.points, start / 4)
        assert one.half_life_span[0] <= first <= one.half_life_span[1]
        assert float((second - first) / first) == pytest.approx(times, rel=0.12)


def test_rate_of_order_zero_is_the_gradient_of_any_two_samples() -> None:
    for one in followed(COURSES[0]):
        for (start, above), (end, below) in ((one.points[0], one.points[-1]), (one.points[1], one.points[5])):
            assert one.rate_span[0] <= Fraction(above - below) / Fraction(end - start) <= one.rate_span[1]


def test_of_what_forms_what_is_left_is_followed() -> None:
    for one in followed(Course(order=1, minutes=(10,), left="CH3COOC2H5"), "0.120"):
        assert one.whole is not None
        assert one.points[0][1] == one.whole
        assert one.points[one.own][1] == one.whole - Decimal("0.120")


def test_half_life_of_published_titres_gives_the_published_rate_constant() -> None:
    # cm³ of manganate(VII) for equal samples of hydrogen peroxide, and the mean of k, 0.04355 min⁻¹: FOSSEE companion to Senapati,
    # ch. 5 problem 3 (with 2.303 lg for ln, which is 0.02 % more)
    titres = ((0, "37.0"), (5, "29.8"), (15, "19.6"), (25, "12.3"), (45, "5.0"))
    points = [(Decimal(time), Decimal(titre)) for time, titre in titres]
    half_life = time_of(points, Fraction(points[0][1]) / 2)
    assert float(LN_2) / float(half_life) == pytest.approx(0.04355, rel=0.03)


def test_what_is_accepted_is_never_narrower_than_what_may_be_read() -> None:
    assert outwards((Fraction("9.76"), Fraction("10.83")), 1) == (Decimal("9.7"), Decimal("10.9"))
    with pytest.raises(Refusal, match="come down"):
        time_of([(Decimal(0), Decimal(8)), (Decimal(5), Decimal(6))], Fraction(4))
