"""Wrong answers of parts on the course of a reaction and on liquid that stays behind, held against mistakes made by hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.chem.quantity import to_figures
from molewright.chem.units import Unit
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.quantities import FLASK, PORTION
from molewright.further_parts.curves.rates import CoursePicture
from molewright.further_parts.pieces import FurtherPart
from molewright.further_parts.wrong_numbers import wrong_numbers
from molewright.question.check import Question, Questions

COURSES = ("peroxide-course", "iodine-course", "saponification-course", "ester-course")


def made(questions: Questions, key: str) -> Question:
    return questions.make(questions.bank.archetypes[key], Stream("wrong numbers"))


def wrong(part: FurtherPart) -> list[Decimal]:
    assert part.accepted is not None
    low, high = part.accepted
    for one in part.wrong:
        assert not low <= one.answer.number <= high
        assert one.marks < part.marks
    return [one.answer.number for one in part.wrong]


def in_figures(*exact: Fraction) -> list[Decimal]:
    return [to_figures(one, 3) for one in exact]


@pytest.mark.parametrize("key", COURSES)
def test_every_number_of_a_course_has_the_wrong_ones_that_pupils_write(key: str, questions: Questions) -> None:
    question = made(questions, key)
    parts = {part.kind: part for part in question.further_parts}
    (picture,) = [one for one in parts["course"].answered if isinstance(one, CoursePicture)]
    (_, start), (last, level) = picture.points[0], picture.points[-1]
    assert {part.kind for part in question.further_parts if part.accepted and not part.wrong} == set()
    if key == "ester-course":
        assert wrong(parts["course left"]) == [question.worked.answer.number]
    if key == "iodine-course":
        rate = parts["course rate"].points[-1].answer.exact  # type: ignore[union-attr]
        assert wrong(parts["course rate"])[0] == to_figures(Fraction(start) / Fraction(last), 3)
        assert float(wrong(parts["course rate"])[1]) == pytest.approx(float(1 / rate), rel=0.01)
        return
    life = parts["course half-life"].points[-1].answer.exact  # type: ignore[union-attr]
    times = 3 if key == "saponification-course" else 2  # the second half-life of order two is twice the first
    assert float(wrong(parts["course half-life"])[0]) == pytest.approx(float(times * life), rel=0.01)
    assert wrong(parts["course half-life"])[1] == to_figures(Fraction(start) / 2, 3)
    assert wrong(parts["course initial rate"])[0] == to_figures(Fraction(start - level) / Fraction(last), 3)
    if "course rate constant" in parts:
        upside_down, without = wrong(parts["course rate constant"])
        assert float(upside_down) == pytest.approx(float(life) / 0.693, rel=0.01)
        assert float(without) == pytest.approx(1 / float(life), rel=0.01)


@pytest.mark.parametrize("key", ["drawn-portions-kept", "made-up-portions-kept"])
def test_liquid_that_stays_behind_has_the_wrong_numbers_that_pupils_write(key: str, questions: Questions) -> None:
    question = made(questions, key)
    _, missing, answer = question.further_parts
    draw, exact = question.draw, {step.variable.name: step.exact for step in question.worked.steps}
    (reagent,) = draw.variant.procedure.reagents
    over, reacted = (exact[quantities.amount(reagent.solution.species, FLASK, one)] for one in ("left over", "reacted"))
    volume, taken = (draw.given[one].exact for one in (reagent.volume, quantities.volume_taken(PORTION)))
    share = dict(missing.demand.slots)["kept"].exact / volume  # type: ignore[union-attr]
    made_up = draw.given.get(quantities.volume_made_up(FLASK))
    whole = made_up.exact if made_up else volume
    expected = [(over + reacted) * share, over * share * taken / whole]
    if made_up:
        expected.append(over * share * volume / whole)
    assert wrong(missing) == in_figures(*expected)
    carbonate, right = reacted / 2, question.worked.exact
    less = right * (carbonate - over * share / 2) / carbonate
    assert answer.accepted is not None
    low, high = answer.accepted
    mistaken = zip(in_figures(less, right * (1 - share), right * (1 + share)), (0, 0, 1), strict=True)
    rows = [
        (number, kept) for number, kept in mistaken if not low <= number <= high
    ]  # the last has the direction right
    assert [(one.answer.number, one.marks) for one in answer.wrong] == rows
    assert len(wrong(answer)) > 1


def test_a_wrong_number_that_would_be_accepted_is_not_called_wrong(questions: Questions) -> None:
    kind = "divided the wrong way round"
    found = [
        (kind, Fraction(100), 0),
        (kind, Fraction("0.5"), 0),
        (kind, Fraction("0.5001"), 0),
        ("unheard of", Fraction(7), 0),
    ]
    rows = wrong_numbers(questions.bank, (Decimal(99), Decimal(101)), Unit.MIN, found)
    assert [one.answer.number for one in rows] == [Decimal("0.500")]
