"""A mark that a teacher typed beside a part comes in; what it is for goes out. It stands instead of all that the part would earn."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from molewright.answer.judge import Judged
from molewright.answer.printed import Further, Point, PrintedQuestion
from molewright.errors import Mistake, shortened
from molewright.marking.answer_places import Place
from molewright.marking.returned_rows import Row
from molewright.papers.answers import place_named

_MARK = re.compile(r"([0-9]{1,3})(?:\.0+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A teacher's mark: the row that it was typed in, the mark points and further parts that it is for, the marks and of how many."""

    row: Row
    points: frozenset[int]
    further: tuple[Further, ...]
    marks: int
    out_of: int


def given_of(row: Row, place: Place, question: PrintedQuestion) -> Given:
    """What a teacher's mark is for: its whole part, or the one mark point that the row names. Raises Mistake for one that cannot be."""
    points, further = _meant(row, place, question)
    out_of = len(points) + sum(part.in_all for part in further)
    found = _MARK.fullmatch(row.given)
    if found is None or int(found[1]) > out_of:
        where = place_named(row.question, row.part)
        raise Mistake(
            f"the teacher's mark {shortened(row.given)} for {row.name}, {where}",
            expected=f"a whole number from 0 to {out_of}",
        )
    return Given(row=row, points=points, further=further, marks=int(found[1]), out_of=out_of)


def _meant(row: Row, place: Place, question: PrintedQuestion) -> tuple[frozenset[int], tuple[Further, ...]]:
    if row.part.startswith("point ") and isinstance(place, Point):
        return frozenset({place.number}), ()
    if not row.part and len(question.parts) > 1:
        raise Mistake(
            f"the teacher's mark {shortened(row.given)} for question {row.question}, which has several parts",
            expected=f"a mark for one of its parts: {', '.join(question.parts)}",
        )
    points = frozenset(point.number for point in question.points if point.part == place.part)
    return points, tuple(part for part in question.further if part.part == place.part)


def given_in(question: PrintedQuestion, mine: Sequence[tuple[Row, Place]]) -> list[Given]:
    """All teacher's marks of a question."""
    return [given_of(row, place, question) for row, place in mine if row.given]


def left_to_judge(judged: Mapping[int, Judged], given: Sequence[Given]) -> dict[int, Judged]:
    """What was judged, without the mark points that a teacher has given marks for."""
    gone = frozenset(point for one in given for point in one.points)
    return {
        number: replace(one, earned=one.earned - gone, lost=one.lost - gone, pending=one.pending - gone)
        for number, one in judged.items()
    }
