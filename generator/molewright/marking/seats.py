"""The records of a set of papers and a class list come in; who has which paper, and where each answer is written, goes out.

Answers that were typed there become a table that `marking/returned` reads like any other.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from molewright.errors import Mistake
from molewright.machine.spreadsheets import safe
from molewright.marking.returned_rows import Absent, Row
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.answers import BESIDE, CODE, PUPIL, PlaceOf, places
from molewright.papers.record.reader import Record

HEADING = (CODE, PUPIL, BESIDE, "question", "part", "answer", "teacher's marks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Somebody with a paper: figures that stand for them, the pupil, the code of the paper, its level, where answers are written."""

    key: str
    pupil: Pupil
    code: str
    level: str
    places: tuple[PlaceOf, ...]


def seats(records: Sequence[Record], pupils: Sequence[Pupil], unnamed: int) -> tuple[Seat, ...]:
    """A seat for each pupil of a class; without a class so many for each version, numbered.

    Raises Mistake for a pupil whose paper is none of the records'.
    """
    documents: dict[tuple[str, str], tuple[PlaceOf, ...]] = {}

    def seat(key: str, pupil: Pupil, record: Record, version: str) -> Seat:
        found = documents.get((record.level, version))
        if found is None:
            found = documents[record.level, version] = places(record.versions[version].read())
        return Seat(key=key, pupil=pupil, code=record.versions[version].code, level=record.level, places=found)

    if not pupils:
        every = [(record, version) for record in records for version in record.versions]
        return tuple(
            seat(f"{record.level}/{version}/{number}", Pupil(name=f"Pupil {at * unnamed + number}"), record, version)
            for at, (record, version) in enumerate(every)
            for number in range(1, unnamed + 1)
        )
    return tuple(
        seat(code, pupil, *_paper_of(pupil, code, at, records))
        for at, (pupil, code) in enumerate(zip(pupils, pupil_codes(pupils), strict=True))
    )


def _paper_of(pupil: Pupil, code: str, at: int, records: Sequence[Record]) -> tuple[Record, str]:
    """The record and the version of a pupil's paper, as papers are given out (`papers/copies`)."""
    for record in records:
        if code in record.versions:
            return record, code
    fits = [record for record in records if record.level == pupil.level] or (list(records) if len(records) == 1 else [])
    if not fits:
        raise Mistake(
            f"no paper was made at the level of {pupil.name}",
            expected=f"one of: {', '.join(one.level for one in records)}",
        )
    versions = list(fits[0].versions)
    if pupil.version and pupil.version not in versions:
        raise Mistake(f"no version {pupil.version} was made, which {pupil.name} has", expected=", ".join(versions))
    return fits[0], pupil.version or versions[at % len(versions)]


def typed_rows(taken: Iterable[Seat], typed: Mapping[tuple[str, int, str], tuple[str, str]]) -> Iterator[Row]:
    """The rows of what was typed: by the key of a seat, question and part, the answer and the mark that the teacher gave."""
    line = 1
    for seat in taken:
        for place in seat.places:
            answer, given = typed.get((seat.key, place.question, place.part), ("", ""))
            if answer.strip() or given.strip():
                line += 1
                yield Row(
                    line=line,
                    code=seat.code,
                    pupil=seat.pupil.name,
                    beside=seat.pupil.beside,
                    question=place.question,
                    part=place.part,
                    answer=answer.strip(),
                    given=given.strip(),
                )


def as_table(rows: Iterable[Row], absent: Iterable[Absent] = ()) -> bytes:
    """The rows as a table in CSV, with those who were not there."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADING)
    for row in rows:
        told = (row.code, row.pupil, row.beside, str(row.question), row.part, row.answer, row.given)
        writer.writerow(map(safe, told))
    for one in absent:
        writer.writerow(map(safe, (one.code, one.pupil, one.beside, "", "", "abs", "")))
    return out.getvalue().encode("utf-8-sig")
