"""The record of a paper comes in; the places that an answer is written in go out, and tables of them: to be filled in, or to mark by.

The table to be filled in has one row a pupil and one column a part; `marking/returned` reads it back.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from molewright.errors import shortened
from molewright.machine.spreadsheets import safe
from molewright.papers.record.form import TEACHERS

EMPTY_ROWS = 32  # of each version where no pupils are named: a class
MOST_WORDS = 60  # letters of a teacher's own answer in the key of a class
PUPIL, CODE, LEVEL = "pupil", "paper code", "level"


@dataclass(frozen=True, slots=True)
class PlaceOf:
    """Where one answer is written: the question, the part ("" where there is one only), and what is right there."""

    question: int
    part: str
    right: str

    @property
    def heading(self) -> str:
        """How the place is told: 3, 3(b)."""
        return f"{self.question}({self.part})" if self.part else str(self.question)


def places(document: Mapping[str, Any]) -> tuple[PlaceOf, ...]:
    """Every place of a paper in its order; the right answer is that of the part's last line, or what its words tell."""
    return tuple(place for question in document["questions"] for place in _of_question(question))


def _of_question(question: Mapping[str, Any]) -> Iterator[PlaceOf]:
    right: dict[str, str] = {}
    points = question["points"]
    for point in (*points, *question["further parts"]):
        part = str(point["part"]).strip("() ")
        numbers = [str(one["answer"]) for one in point["answers"] if one["type"] != "words"]
        if point.get("kind") == TEACHERS:
            numbers = [shortened(str(point["answers"][-1]["answer"]), MOST_WORDS)[1:-1]]
        if numbers or part not in right:
            right[part] = numbers[-1] if numbers else "words"
        if points and point is points[-1]:
            right[part] = str(question["answer"])  # with the figures that are asked for
    for part, told in sorted(right.items()):  # labels run in the order of the page; what is read first is no step
        yield PlaceOf(int(question["question"]), part, told)


class AnswerTable:
    """The table that a teacher fills in: a block of rows for each set of parts, each with a heading of its own."""

    def __init__(self) -> None:
        self._out = io.StringIO()
        self._writer = csv.writer(self._out, lineterminator="\r\n")
        self._heading: tuple[str, ...] = ()

    def add(self, level: str, code: str, names: Iterable[str], columns: Sequence[PlaceOf]) -> None:
        """A row for each name ("" for somebody who is named later) with one paper."""
        heading = (LEVEL, CODE, PUPIL, *(place.heading for place in columns))
        if heading != self._heading:
            if self._heading:
                self._writer.writerow([])
            self._writer.writerow(heading)
            self._heading = heading
        for name in names:
            self._writer.writerow([level, code, safe(name), *("" for _ in columns)])

    def content(self) -> bytes:
        """The file, with the mark that spreadsheets know UTF-8 by."""
        return self._out.getvalue().encode("utf-8-sig")
