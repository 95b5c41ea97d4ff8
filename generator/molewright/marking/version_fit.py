"""A pupil's answers and the record of their paper come in; the version that they fit far better than their own goes out. Marks nothing.

Somebody who types version A's code beside answers to version B would have them all marked wrong, and see no more than a weak pupil.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from molewright.answer.printed import Further, PrintedPaper, PrintedQuestion
from molewright.answer.written import Written
from molewright.errors import Mistake
from molewright.marking.answer_places import Place, place_of, read_at
from molewright.marking.returned_rows import Row
from molewright.marking.typed_answers import Asked, read_answer
from molewright.papers.record.reader import Record

LEAST_MORE = 3  # right answers that another version must have more: as many do not fit by chance
MOST_TRIED = 100  # versions that are looked through
_NEAR = Fraction(1, 100)  # of a step on the way


def better_version(rows: Sequence[Row], record: Record, own: str) -> tuple[str, int, int, int] | None:
    """Another version, with how many answers are right in it, in their own, and of how many; None where none fits far better.

    Far better: most of the answers are right in it, three more than in their own, and of those not half.
    """
    mine, tried = _right(rows, record.paper(own))
    if tried < LEAST_MORE or mine * 2 >= tried:
        return None
    others = [version for version in record.versions if version != own][:MOST_TRIED]
    found = [(_right(rows, record.paper(version))[0], version) for version in others]
    best, version = max(found, key=lambda pair: pair[0], default=(0, ""))
    if best * 2 > tried and best >= mine + LEAST_MORE:
        return version, best, mine, tried
    return None


def _right(rows: Sequence[Row], paper: PrintedPaper) -> tuple[int, int]:
    """How many answers are right by themselves on this paper, and how many were numbers."""
    right = tried = 0
    questions = {question.number: question for question in paper.questions}
    for row in rows:
        try:
            place = place_of(row, paper)
        except Mistake:
            continue
        question = questions[row.question]
        if isinstance(place, Further) and place.equation is not None:
            continue  # the same in all versions
        read = (
            read_answer(row.answer, Asked(place.unit, place.type))
            if isinstance(place, Further)
            else read_at(question, row, place)
        )
        if isinstance(read, Written):
            tried += 1
            right += _is_right(question, place, read)
    return right, tried


def _is_right(question: PrintedQuestion, place: Place, read: Written) -> bool:
    if isinstance(place, Further):
        here = read.in_unit(place.unit)
        return here is not None and place.accepted is not None and place.accepted.is_right(here)
    unit = question.unit_of(place)
    here = read.in_unit(unit)
    if here is None:
        return False
    if place is question.points[-1]:
        return question.accepted.is_right(here)
    exact = next((step.exact for step in question.chain if step.finds == place.finds), question.known.get(place.finds))
    return bool(exact) and exact is not None and abs(here.number * unit.factor / exact - 1) <= _NEAR
