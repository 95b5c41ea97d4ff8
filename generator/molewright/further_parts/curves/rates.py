"""A calculation of a concentration in one quenched sample comes in; parts on the course of the reaction go out: graph, rate, order.

The pupil's own value is left open in the table and on the graph. What is accepted is what an honest reader may read off, and what
follows from it. Which course it is, is told by the archetype.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, in_standard_form
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.graph import Scale
from molewright.further_parts.curves.reaction_course import LN_2, Followed, Point, follow, outwards, rounded
from molewright.further_parts.pieces import (
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Letter,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Said,
    Space,
    Strong,
    one_either_side,
    said,
    writing_lines,
)
from molewright.further_parts.wrong_numbers import Wrong, wrong_numbers

_STEPS = tuple(Decimal(step).scaleb(power) for power in (-4, -3, -2, -1) for step in (1, 2, 5))
_MOST_STEPS = 10
_DIVIDED = 5
_MINUTES = tuple(Decimal(step) for step in (1, 2, 5, 10, 20, 50))


@dataclass(frozen=True, slots=True, kw_only=True)
class CoursePicture:
    """The facts of a concentration against time: what is followed, its points, how far both axes go, and the curve."""

    formula: str
    points: tuple[Point, ...]
    across: Scale  # min
    up: Scale  # mol dm⁻³
    curve: tuple[tuple[float, float], ...] = ()
    kind: str = "course"


def ask_course(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The graph with the pupil's own value on it, and what is read off it: rate and order, and half-lives where it is a curve."""
    draw = calculation.draw
    course, answer = draw.archetype.course, calculation.worked.answer
    if course is None or answer.unit is not Unit.MOL_PER_DM3 or answer.scientific:
        raise Refusal("course", "no concentration was found that a course could pass through")
    formula = course.left or draw.variant.roles["analyte"]
    found = follow(course, answer.number, calculation.stream)
    parts = _Parts(calculation.bank, found, formula, course.equal)
    before = (parts.left(answer),) if found.whole is not None else ()
    if found.order == 0:
        return (*before, parts.graph(), parts.rate(), parts.straight(), parts.used_up())
    ends = (parts.constant(),) if found.order == 1 else ()
    return (*before, parts.graph(), parts.half_life(), parts.next_half_life(), *ends, parts.initial_rate())


class _Parts:
    """The parts on one course."""

    def __init__(self, bank: Bank, found: Followed, formula: str, equal: str = "") -> None:
        self.bank = bank
        self.found = found
        self.formula = formula
        self.equal = (
            equal  # what is there in the same concentration all along, so that the graph tells both orders together
        )
        self.start = found.points[0][1]
        self.minutes, self.value = found.points[found.own]
        self.own = Quantity(self.value, Unit.MOL_PER_DM3)
        self.life = Quantity(rounded(found.half_life), Unit.MIN)

    def left(self, answer: Quantity) -> FurtherPart:
        """What has not reacted yet, from what has formed and what forms in all."""
        assert self.found.whole is not None
        whole = Quantity(self.found.whole, Unit.MOL_PER_DM3)
        accepted = one_either_side(self.own)
        wrong = (("what had formed given for what was left", answer.exact, 0),)
        return FurtherPart(
            kind="course left",
            demand=said("course left", whole=whole, formula=Chemical(self.formula)),
            points=(FurtherPoint((Reckoning((whole, "−", answer, "=", Strong(self.own))),), self.own),),
            space=(Space(height_mm=14.0, rule_mm=45.0, unit=Unit.MOL_PER_DM3),),
            accepted=accepted,
            unit=Unit.MOL_PER_DM3,
            hint=said("hint course left"),
            wrong=wrong_numbers(self.bank, accepted, Unit.MOL_PER_DM3, wrong),
        )

    def graph(self) -> FurtherPart:
        """The pupil's own point and the line through all of them."""
        straight = self.found.order == 0
        heads: tuple[Piece, ...] = (said("course time"), *(f"{time}" for time, _ in self.found.points))
        values = tuple("" if at == self.found.own else Quantity(value, Unit.NONE).number_text
                       for at, (_, value) in enumerate(self.found.points))  # fmt: skip
        width = 1 / (len(self.found.points) + 2)
        table = Rows(
            heading=heads,
            rows=((said("course concentration", formula=Chemical(self.formula)), *values),),
            widths=(2 * width, *(width,) * len(self.found.points)),
            summary=said("course summary"),
            width=1.0,
        )
        others = tuple(point for at, point in enumerate(self.found.points) if at != self.found.own)
        blank = self._picture(others)
        drawn = self._picture(self.found.points, self.found.curve)
        line = "course line straight" if straight else "course line curved"
        return FurtherPart(
            kind="course",
            demand=said("course graph", time=Quantity(self.minutes, Unit.MIN), line=said(line)),
            points=(
                FurtherPoint(
                    (said("course point", time=Quantity(self.minutes, Unit.MIN), value=Strong(self.own)),),
                    "point in its place",
                    (said("guide course point"),),
                ),
                FurtherPoint((said(f"{line} drawn"),), "straight line" if straight else "smooth curve"),
            ),
            shown=(table, blank),
            answered=(drawn,),
        )

    @property
    def falls(self) -> tuple[Decimal, Decimal, Quantity]:
        """How long a straight line is followed, how low it is then, and how fast it falls by these two."""
        last = Decimal(self.found.points[-1][0])
        height = rounded(Fraction(self.start) - self.found.rate * Fraction(last))
        return last, height, self._rate(Fraction(self.start - height) / Fraction(last))

    def rate(self) -> FurtherPart:
        """The gradient of a straight line, as the two heights tell it that are printed."""
        last, height, found = self.falls
        first, second, gap = (Quantity(one, Unit.MOL_PER_DM3) for one in (self.start, height, self.start - height))
        time = Quantity(last, Unit.MIN)
        return self._number(
            "course rate",
            (
                said("course falls", first=first, second=second, time=time),
                Reckoning((first, "−", second, "=", gap)),
                Reckoning((Quotient((gap,), (time,)), "=", Strong(found))),
            ),
            found,
            self._ends(self.found.rate_span, found),
            (
                ("the height divided and not the fall", Fraction(self.start) / Fraction(last), 0),
                ("divided the wrong way round", 1 / self.found.rate, 0),
            ),
        )

    def straight(self) -> FurtherPart:
        """Order zero, with the reason."""
        return FurtherPart(
            kind="course order",
            demand=said("course order straight", of=self._of),
            points=(
                FurtherPoint((said("course order zero", of=self._of),), "order zero"),
                FurtherPoint((said("course constant gradient"),), "the gradient is constant"),
            ),
            space=(writing_lines(2),),
            hint=said("hint course order straight"),
        )

    def used_up(self) -> FurtherPart:
        """When a straight line meets the axis."""
        falling = self.falls[2]
        exact = Fraction(self.start) / Fraction(falling.number)
        found = Quantity(rounded(exact), Unit.MIN)
        low, high = self.found.rate_span
        span = (Fraction(self.start) / high, Fraction(self.start) / low)
        return self._number(
            "course used up",
            (Reckoning((Quotient((Quantity(self.start, Unit.MOL_PER_DM3),), (falling,)), "=", Strong(found))),),
            found,
            self._ends(span, found),
            (("divided the wrong way round", 1 / exact, 0),),
        )  # fmt: skip

    def half_life(self) -> FurtherPart:
        """The time in which half of what was there at the start is gone."""
        half = Quantity(rounded(Fraction(self.start) / 2), Unit.MOL_PER_DM3)
        return self._number(
            "course half-life",
            (said("course half reached", half=half, time=Strong(self.life)),),
            self.life,
            self._ends(self.found.half_life_span, self.life),
            (
                ("two half-lives taken for one", self.found.half_life * (1 + self._next), 0),
                ("a concentration given for a time", Fraction(self.start) / 2, 0),
            ),
        )

    @property
    def _next(self) -> int:
        """How many times as long as the first half-life the next one is."""
        return 1 if self.found.order == 1 else 2

    def next_half_life(self) -> FurtherPart:
        """The half-life after the first, and the order that both tell."""
        order = self.found.order
        after = Quantity(rounded(self.found.half_life * self._next), Unit.MIN)
        quarter = Quantity(rounded(Fraction(self.start) / 4), Unit.MOL_PER_DM3)
        reason = "course order first" if order == 1 else "course order second"
        return FurtherPart(
            kind="course order",
            demand=said("course order", of=self._of),
            points=(
                FurtherPoint((said("course next half", quarter=quarter, time=Strong(after)),), "second half-life"),
                FurtherPoint((said(reason, of=self._of),), "first order" if order == 1 else "second order", self._guide),
            ),
            space=(writing_lines(2),),
            hint=said("hint course order"),
        )  # fmt: skip

    def constant(self) -> FurtherPart:
        """The rate constant of a first order, from the half-life."""
        exact = Fraction(LN_2) / Fraction(self.life.number)
        found = Quantity(rounded(exact), Unit.PER_MIN, in_standard_form(exact, Unit.PER_MIN))
        low, high = self.found.half_life_span
        span = (Fraction(LN_2) / high, Fraction(LN_2) / low)
        line = Reckoning((Letter("k"), "=", Quotient((f"{LN_2}",), (self.life,)), "=", Strong(found)))
        wrong = (
            ("divided the wrong way round", 1 / exact, 0),
            ("rate constant without ln 2", 1 / self.found.half_life, 0),
        )
        part = self._number("course rate constant", (line,), found, self._ends(span, found), wrong)
        return replace(
            part, space=(Space(height_mm=14.0, rule_mm=45.0),)
        )  # a unit there would tell the order that was asked for

    def initial_rate(self) -> FurtherPart:
        """The gradient of the tangent at the start."""
        last, level = self.found.points[-1]
        meets = Quantity(rounded(Fraction(self.start) / self.found.rate), Unit.MIN)
        found = self._rate(Fraction(self.start) / Fraction(meets.number))
        start = Quantity(self.start, Unit.MOL_PER_DM3)
        line = Reckoning((Quotient((start,), (meets,)), "=", Strong(found)))
        return self._number(
            "course initial rate",
            (said("course tangent", time=meets), line),
            found,
            self._ends(self.found.rate_span, found),
            (
                ("chord in the place of the tangent", Fraction(self.start - level) / Fraction(last), 0),
                ("divided the wrong way round", 1 / self.found.rate, 0),
            ),
        )

    # ------------------------------------------------------------ pieces

    @property
    def _of(self) -> Piece:
        """What the order is one of: of what is followed, or of both that are there in equal concentration, together."""
        return (
            said("course order of both") if self.equal else said("course order of one", formula=Chemical(self.formula))
        )

    @property
    def _guide(self) -> tuple[Said, ...]:
        if not self.equal:
            return ()
        return (said("guide course order of both", formula=Chemical(self.formula), equal=self.equal),)

    def _rate(self, exact: Fraction) -> Quantity:
        return Quantity(rounded(exact), Unit.MOL_PER_DM3_MIN, in_standard_form(exact, Unit.MOL_PER_DM3_MIN))

    def _ends(self, span: tuple[Fraction, Fraction], found: Quantity) -> tuple[Decimal, Decimal]:
        return outwards(span, found.places)

    def _number(
        self,
        kind: str,
        lines: tuple[Piece, ...],
        found: Quantity,
        accepted: tuple[Decimal, Decimal],
        wrong: tuple[Wrong, ...],
    ) -> FurtherPart:
        """A part of one mark with a number, and what its common mistakes lead to."""
        return FurtherPart(
            kind=kind,
            demand=said(kind, formula=Chemical(self.formula)),
            points=(FurtherPoint(lines, found),),
            space=(Space(height_mm=14.0, rule_mm=45.0, unit=found.unit),),
            hint=said(f"hint {kind}"),
            accepted=accepted,
            unit=found.unit,
            wrong=wrong_numbers(self.bank, accepted, found.unit, wrong),
        )

    def _picture(self, points: tuple[Point, ...], curve: tuple[tuple[float, float], ...] = ()) -> CoursePicture:
        return CoursePicture(
            formula=self.formula,
            points=points,
            across=_scale(self.found.points[-1][0], _MINUTES),
            up=_scale(max(value for _, value in self.found.points), _STEPS),
            curve=curve,
        )


def _scale(top: Decimal, steps: tuple[Decimal, ...]) -> Scale:
    """An axis from nothing to beyond the top, numbered at tidy steps."""
    step = next((one for one in steps if top / one <= _MOST_STEPS), steps[-1])
    return Scale(Decimal(0), (top / step).to_integral_value(ROUND_CEILING) * step, step, _DIVIDED)
