"""Answers that were typed or sent come in; they are marked by the records of their papers, and stay until the program ends.

They have names in them, so they lie in a private place and nowhere in the folder of the paper.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.browser.asking import MOST_ROWS, require_rows
from molewright.browser.jobs import Jobs
from molewright.errors import Mistake
from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.marking.returned import read_returned
from molewright.marking.returned_rows import Absent, Row
from molewright.marking.seats import Seat, as_table
from molewright.order.pupils import Pupil
from molewright.papers.answers import place_named, places

MOST_KEPT = 20
ANSWERS = "answers.csv"

Mark = Callable[[Path, Path, Sequence[Pupil]], tuple[tuple[MarkedClass, ...], tuple[str, ...]]]
"""What marks the answers of a file by records, for a class."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Marks that only the teacher can give: whose, where, what was written, what is right, and of how many marks."""

    pupil: str
    question: int
    part: str
    written: str
    right: str
    pending: int
    out_of: int

    @property
    def place(self) -> str:
        """Where it stands: 3(b)."""
        return place_named(self.question, self.part)


class Sitting:
    """The answers of a class, as they were read, and the marks that the teacher gave for some."""

    def __init__(self, number: int, mark: Mark, folder: Path, records: Path, class_list: Sequence[Pupil]) -> None:
        self.number = number
        self.folder = folder
        self.records = records
        self.class_list = tuple(class_list)
        self._mark = mark
        self._rows: tuple[Row, ...] = ()
        self._absent: tuple[Absent, ...] = ()
        self.papers: tuple[MarkedClass, ...] = ()
        self.notes: tuple[str, ...] = ()
        self.seats: tuple[Seat, ...] = ()  # where they were typed; nobody's where they were sent

    @property
    def answers(self) -> Path:
        """The table of answers that is marked: the command marks it alike."""
        return self.folder / ANSWERS

    def read(self, sent: Sequence[bytes]) -> None:
        """Take answers that were sent: a table, a workbook, or filled papers. Raises Mistake for what is none."""
        path = _laid_down(sent, self.folder)
        returned = read_returned(path, str, self.class_list)
        if len(returned.rows) > MOST_ROWS * 40 or len({row.key for row in returned.rows}) > MOST_ROWS:
            raise Mistake(f"answers of more than {MOST_ROWS} pupils", expected="those of a class")
        self.take(returned.rows, returned.absent)
        self.notes = tuple(dict.fromkeys((*returned.notes, *self.notes)))

    def take(self, rows: Sequence[Row], absent: Sequence[Absent] = ()) -> None:
        """Mark these rows. Raises Mistake for answers that do not fit their paper."""
        self.answers.write_bytes(as_table(rows, absent))
        papers, notes = self._mark(self.answers, self.records, self.class_list)
        self._rows, self._absent, self.papers, self.notes = tuple(rows), tuple(absent), papers, notes

    def give(self, given: Mapping[tuple[str, int, str], str]) -> None:
        """Put the teacher's marks in their places, and mark again. Raises Mistake for a mark that cannot be, and keeps none then."""
        there = {(row.name, row.question, row.part) for row in self._rows}
        rows = [replace(row, given=given.get((row.name, row.question, row.part), row.given)) for row in self._rows]
        names = {row.name: row for row in self._rows}
        for (name, question, part), mark in given.items():
            if mark and name in names and (name, question, part) not in there:
                rows.append(
                    replace(names[name], question=question, part=part, answer="", given=mark, line=len(rows) + 2)
                )
        before = self._rows, self._absent
        try:
            self.take(rows, self._absent)
        except Mistake:
            self.take(*before)
            raise

    def waiting(self) -> list[Waiting]:
        """Every mark that is pending, pupil by pupil, with those of parts in words of which nothing was typed."""
        return [one for marked in self.papers for pupil in marked.pupils for one in _waiting(marked, pupil)]


def _waiting(marked: MarkedClass, pupil: MarkedPupil) -> list[Waiting]:
    def told(question: int, part: str, written: str, right: str, pending: int, out_of: int) -> Waiting:
        return Waiting(
            pupil=pupil.name, question=question, part=part, written=written, right=right, pending=pending, out_of=out_of
        )

    found = [  # the part is as the row names it: a mark that is given has to name it so too
        told(one.row.question, one.row.part, one.row.answer, one.right, one.pending, one.out_of)
        for one in pupil.answers
        if one.pending
    ]
    answered = {(one.row.question, one.part) for one in pupil.answers}
    for place in places(marked.record.versions[pupil.version].read()):
        here = pupil.pending.get(place.question, 0)
        if place.teachers and here and (place.question, place.part) not in answered:
            found.append(told(place.question, place.part, "", place.right, place.teachers, place.marks))
    return found


def _laid_down(sent: Sequence[bytes], folder: Path) -> Path:
    """The files that were sent, called by what they hold; what they were called elsewhere is not asked."""
    filled = [raw for raw in sent if raw.startswith(b"%PDF")]
    if filled and len(filled) < len(sent):
        raise Mistake("filled papers and something else", expected="one table, or filled papers alone")
    if filled:
        place = folder / "filled"
        place.mkdir()
        for number, raw in enumerate(filled, 1):
            (place / f"{number:03}.pdf").write_bytes(raw)
        return place
    if len(sent) != 1:
        raise Mistake(f"{len(sent)} files", expected="one table of answers, or filled papers (PDF)")
    if not sent[0].startswith(b"PK"):
        require_rows(sent[0].decode("latin-1"), MOST_ROWS)
    path = folder / ("sent.xlsx" if sent[0].startswith(b"PK") else "sent.csv")
    path.write_bytes(sent[0])
    return path


class Sittings:
    """The sittings of one start of the program."""

    def __init__(self, jobs: Jobs, mark: Mark) -> None:
        self._jobs = jobs
        self._mark = mark
        self._held: dict[int, Sitting] = {}
        self._last = 0
        self._one_at_a_time = threading.Lock()

    def begin(self, records: Path, class_list: Sequence[Pupil]) -> Sitting:
        """A place for answers; the oldest is let go where there are too many."""
        with self._one_at_a_time:
            self._last += 1
            while len(self._held) >= MOST_KEPT:
                self._held.pop(min(self._held))
            made = Sitting(self._last, self._mark, self._jobs.new_place(), records, class_list)
            self._held[self._last] = made
            return made

    def find(self, number: int) -> Sitting:
        """A sitting by its number. Raises Mistake where it is not kept any more."""
        found = self._held.get(number)
        if found is None:
            raise Mistake(
                "these answers are not kept any more", expected="answers sent since the start", do="Send them again."
            )
        return found
