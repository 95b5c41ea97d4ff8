"""The record of a paper comes in; the places that an answer is written in go out, and tables of them: to be filled in, or to mark by.

The table to be filled in has one row a pupil and one column a part; beside a part stands a column for the marks that a teacher gives.
`marking/returned` reads it back.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from molewright.errors import shortened
from molewright.machine.spreadsheets import safe
from molewright.machine.workbooks import Column, Page, workbook
from molewright.papers.record.documents import further_of
from molewright.papers.record.form import TEACHERS

EMPTY_ROWS = 32  # of each version where no pupils are named: a class
MOST_WORDS = 60  # letters of a teacher's own answer in the key of a class
PUPIL, CODE, LEVEL = "pupil", "paper code", "level"
BESIDE = "told apart by"
MARKS = "marks"
_WIDTHS = {LEVEL: 11.0, CODE: 17.0, PUPIL: 24.0, BESIDE: 13.0}
_ANSWER_WIDTH, _MARKS_WIDTH = 16.0, 8.0


def place_named(question: int, part: str) -> str:
    """How a place in a paper is told: 3, 3(b), 3 point 2."""
    if part.startswith("point"):
        return f"{question} {part}"
    return f"{question}({part})" if part else str(question)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceOf:
    """Where one answer is written: the question, the part ("" where there is one only), what is right there, and its marks.

    `teachers` of the marks only the teacher can give.
    """

    question: int
    part: str
    right: str
    marks: int
    teachers: int

    @property
    def heading(self) -> str:
        """How the place is told: 3, 3(b)."""
        return place_named(self.question, self.part)

    @property
    def marks_heading(self) -> str:
        """The heading of the column for the marks that a teacher gives: marks 3(b) of 2."""
        return f"{MARKS} {self.heading} of {self.marks}"


def places(document: Mapping[str, Any]) -> tuple[PlaceOf, ...]:
    """Every place of a paper in its order; the right answer is that of the part's last line, or what its words tell."""
    return tuple(place for question in document["questions"] for place in _of_question(question))


def _of_question(question: Mapping[str, Any]) -> Iterator[PlaceOf]:
    right: dict[str, str] = {}
    marks: Counter[str] = Counter()
    teachers: Counter[str] = Counter()
    points = question["points"]
    for point in (*points, *question["further parts"]):
        part = str(point["part"]).strip("() ")
        numbers = [str(one["answer"]) for one in point["answers"] if one["type"] != "words"]
        further = further_of(point) if "kind" in point else None
        marks[part] += further.in_all if further else 1
        teachers[part] += further.teachers if further else 0
        if point.get("kind") == TEACHERS:
            numbers = [shortened(str(point["answers"][-1]["answer"]), MOST_WORDS)[1:-1]]
        if numbers or part not in right:
            right[part] = numbers[-1] if numbers else "words"
        if points and point is points[-1]:
            right[part] = str(question["answer"])  # with the figures that are asked for
    for part, told in sorted(right.items()):  # labels run in the order of the page; what is read first is no step
        yield PlaceOf(
            question=int(question["question"]), part=part, right=told, marks=marks[part], teachers=teachers[part]
        )


@dataclass(slots=True)
class _Block:
    """Rows below one heading: level, code, name and what tells two of one name apart, of each."""

    level: str
    columns: tuple[PlaceOf, ...]
    rows: list[tuple[str, str, str, str]] = field(default_factory=list)


class AnswerTable:
    """The table that a teacher fills in: a block of rows for each set of parts, each with a heading of its own.

    Of a workbook, a sheet for each level; a level whose papers have not all the same parts has several.
    """

    def __init__(self) -> None:
        self._blocks: list[_Block] = []
        self._told_apart = False

    def add(self, level: str, code: str, names: Iterable[tuple[str, str]], columns: Sequence[PlaceOf]) -> None:
        """A row for each name ("" for somebody who is named later), and what tells it from another, with one paper."""
        last = self._blocks[-1] if self._blocks else None
        if last is None or last.columns != tuple(columns):
            last = _Block(level, tuple(columns))
            self._blocks.append(last)
        for name, beside in names:
            self._told_apart |= bool(beside)
            last.rows.append((level, code, name, beside))

    def _heading(self) -> tuple[str, ...]:
        return (LEVEL, CODE, PUPIL, *((BESIDE,) if self._told_apart else ()))

    def _row(self, row: tuple[str, str, str, str]) -> tuple[str, ...]:
        return row if self._told_apart else row[:3]

    def content(self) -> bytes:
        """The table as CSV, with the mark that spreadsheets know UTF-8 by; columns for marks where only the teacher can give them."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        heading: tuple[str, ...] = ()
        for block in self._blocks:
            cells = [(one.heading, *((one.marks_heading,) if one.teachers else ())) for one in block.columns]
            asked = (*self._heading(), *(cell for pair in cells for cell in pair))
            if asked != heading:
                if heading:
                    writer.writerow([])
                writer.writerow(asked)
                heading = asked
            blank = [""] * (len(asked) - len(self._heading()))
            writer.writerows([*map(safe, self._row(row)), *blank] for row in block.rows)
        return out.getvalue().encode("utf-8-sig")

    def workbook(self) -> bytes:
        """The table as a workbook (XLSX), the same bytes each time; each part has a column for marks, folded where a number tells."""
        pages: dict[tuple[str, tuple[tuple[str, int, int], ...]], list[_Block]] = {}
        for block in self._blocks:
            shape = tuple((one.heading, one.marks, one.teachers) for one in block.columns)
            pages.setdefault((block.level, shape), []).append(block)
        return workbook([self._page(blocks) for blocks in pages.values()])

    def _page(self, blocks: Sequence[_Block]) -> Page:
        first = blocks[0]
        still = self._heading()
        columns = [Column(width=_WIDTHS[name]) for name in still]
        heading = list(still)
        for one in first.columns:
            heading += [one.heading, one.marks_heading]
            columns += [
                Column(width=_ANSWER_WIDTH),
                Column(width=_MARKS_WIDTH, most=one.marks, folded=not one.teachers),
            ]
        rows = [self._row(row) for block in blocks for row in block.rows]
        return Page(name=first.level or "answers", heading=heading, rows=rows, columns=columns, still=len(still))
