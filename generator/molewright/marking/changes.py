"""The marked papers of a class and the marked answers of before come in; what has changed since goes out, told line by line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from molewright.errors import Mistake
from molewright.marking.marked import MarkedClass
from molewright.marking.marked_answers import read_marked
from molewright.marking.report_cells import and_pending, as_written, counted
from molewright.order.pupils import key_of
from molewright.papers.answers import place_named

MOST_TOLD = 40

_Place = tuple[str, int, str, int]
"""A pupil, a question, a part, and how many of that came before: two pupils may have one name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Had:
    pupil: str
    place: str
    answer: str
    marks: int
    pending: int

    @property
    def told(self) -> str:
        """The marks as they are told."""
        return and_pending(str(self.marks), self.pending)


def changes(classes: Sequence[MarkedClass], before: Path) -> tuple[str, ...]:
    """What differs from the marked answers in a file, a line for each answer and one for the totals; () where there is no such file.

    A file that cannot be read as marked answers is told of, and refused only when it is to be replaced.
    """
    if not before.is_file():
        return ()
    try:
        old = _placed(
            (row.pupil, row.question, row.part, row.answer, row.marks, row.pending) for row in read_marked(before)
        )
    except Mistake as mistake:
        return (f"what changed cannot be told: {mistake}",)
    new = _placed(
        (pupil.name, one.row.question, one.row.part, one.row.answer[:200], one.marks, one.pending)
        for marked in classes
        for pupil in marked.pupils
        for one in pupil.answers
    )
    told = [line for place in dict.fromkeys((*new, *old)) if (line := _told(old.get(place), new.get(place)))]
    if len(told) > MOST_TOLD:
        told[MOST_TOLD:] = [f"and {counted(len(told) - MOST_TOLD, 'answer')} more"]
    return (*told, *_totals(old, new)) if told else ()


def _placed(rows: Iterable[tuple[str, int, str, str, int, int]]) -> dict[_Place, _Had]:
    found: dict[_Place, _Had] = {}
    times: Counter[tuple[str, int, str]] = Counter()
    for pupil, question, part, answer, marks, pending in rows:
        at = (key_of(pupil), question, part)
        found[(*at, times[at])] = _Had(
            pupil=pupil, place=place_named(question, part), answer=answer, marks=marks, pending=pending
        )
        times[at] += 1
    return found


def _told(old: _Had | None, new: _Had | None) -> str:
    """One line for an answer that differs; "" for one that does not."""
    if new is None:
        assert old is not None
        return f"{old.pupil}, question {old.place}: no longer there ({old.told})"
    who = f"{new.pupil}, question {new.place}"
    if old is None:
        return f"{who}: new, {as_written(new.answer) or 'blank'}, {new.told}"
    if (old.answer, old.marks, old.pending) == (new.answer, new.marks, new.pending):
        return ""
    answer = (
        ""
        if old.answer == new.answer
        else f"{as_written(old.answer) or 'blank'} is now {as_written(new.answer) or 'blank'}, "
    )
    marks = f"marks {old.told} are now {new.told}" if old.told != new.told else f"marks as before, {new.told}"
    return f"{who}: {answer}{marks}"


def _totals(old: Mapping[_Place, _Had], new: Mapping[_Place, _Had]) -> list[str]:
    """How many marks were given before and are now, and how many pupils that moves."""
    was, now = _by_pupil(old), _by_pupil(new)
    moved = sum(was.get(key, 0) != now.get(key, 0) for key in was.keys() | now.keys())
    return [
        f"all marks together: {sum(was.values())} before, {sum(now.values())} now; the total of {counted(moved, 'pupil')} has changed"
    ]


def _by_pupil(had: Mapping[_Place, _Had]) -> Counter[str]:
    totals: Counter[str] = Counter()
    for place, one in had.items():
        totals[place[0]] += one.marks
    return totals
