"""A row of returned answers and a printed paper come in; the mark point or part that it answers, and the answer as read, go out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

from molewright.answer.printed import Further, Point, PrintedPaper, PrintedQuestion
from molewright.answer.written import Reading
from molewright.errors import Mistake, nearest, shortened
from molewright.marking.named_answers import alone, split
from molewright.marking.returned_rows import Row
from molewright.marking.typed_answers import Asked, read_answer

Place: TypeAlias = Point | Further


def place_of(row: Row, paper: PrintedPaper) -> Place:
    """The mark point or further part that a row answers; a question without a part means its final answer."""
    question = next((one for one in paper.questions if one.number == row.question), None)
    if question is None:
        numbers = [one.number for one in paper.questions]
        close = min(numbers, key=lambda number: abs(number - row.question))
        raise Mistake(
            f"the paper has no question {row.question}",
            expected=f"questions {numbers[0]} to {numbers[-1]}",
            near=[str(close)],
        )
    if not row.part:
        found = _place_without_a_part(row, question)
    elif row.part.startswith("point "):
        found = _place_of_a_mark(int(row.part.removeprefix("point ")), question)
    else:
        places: tuple[Place, ...] = (*reversed(question.points), *question.further)
        found = next((place for place in places if place.part == row.part), None)
    if found is not None:
        return found
    parts = [part for part in question.parts if part]
    raise Mistake(
        f"question {row.question} has no part {shortened(row.part) if row.part else 'without a letter'}",
        expected=f"one of: {', '.join(parts)}" if parts else "no part: it has one answer",
        near=nearest(row.part, parts) or parts[-1:],
    )


def _place_without_a_part(row: Row, question: PrintedQuestion) -> Place | None:
    if question.naming is not None and alone(row.answer, question.naming.candidates):
        return question.naming
    if question.points:
        return question.points[-1]
    return question.further[0] if len(question.further) == 1 else None


def _place_of_a_mark(printed: int, question: PrintedQuestion) -> Place | None:
    """By the number that the scheme prints: marks of a reading come before those of the calculation, that of a name after them."""
    number = printed - question.before
    if 1 <= number <= len(question.points):
        return question.points[number - 1]
    if 1 <= printed <= question.before and question.further:
        return _before(printed, question)
    return question.naming if number == len(question.points) + 1 else None


def _before(printed: int, question: PrintedQuestion) -> Further:
    """The part before the calculation that holds a mark."""
    held = 0
    for part in question.further:
        held += part.in_all
        if printed <= held:
            return part
    return question.further[0]


def read_at(question: PrintedQuestion, row: Row, place: Point) -> Reading:
    """The number of an answer; a name may stand beside that of the last point."""
    last = place is question.points[-1]
    asked = Asked(question.unit_of(place), question.accepted.type if last else "number")
    if last and question.naming is not None:
        return read_answer(split(row.answer, question.naming.candidates)[0], asked)
    return read_answer(row.answer, asked)


def with_name(question: PrintedQuestion, mine: Sequence[tuple[Row, Place]]) -> Sequence[tuple[Row, Place]]:
    """The answers; a name beside the final value counts for the part that asks for it, where no row of its own does."""
    part = question.naming
    if part is None or any(place is part for _, place in mine):
        return mine
    for row, place in mine:
        if place is question.points[-1] and split(row.answer, part.candidates)[1]:
            return [*mine, (replace(row, part=part.part, given=""), part)]
    return mine
