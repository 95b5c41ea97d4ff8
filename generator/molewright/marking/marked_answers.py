"""A table of marked answers, as `mark` has written it, comes in; its rows go out. A spreadsheet may have saved it again since."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from molewright.errors import Mistake, Where, shortened
from molewright.machine.bounded_reading import read_at_most
from molewright.machine.spreadsheets import unsafe
from molewright.marking.table import BETWEEN, HEADING, SURE

PREFIX = "marked-answers-"
MOST_BYTES = 50_000_000
_SEPARATORS = ",;\t"


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedRow:
    """One marked answer: paper, pupil, place, answer, marks, how it was judged, what is misunderstood, and what could be seen there.

    `all_marks` are those of the paper, `all_pending` those of the pupil's paper.
    """

    code: str
    title: str
    level: str
    pupil: str
    question: int
    part: str
    answer: str
    marks: int
    pending: int
    out_of: int
    judged: str
    things: tuple[str, ...]
    sure: bool
    could_show: tuple[str, ...]
    all_marks: int
    all_pending: int


def read_marked(path: Path) -> tuple[MarkedRow, ...]:
    """The rows of a file. Raises Mistake with file:line for what is no table of marked answers."""
    where = Where(str(path))
    try:
        raw = read_at_most(path, MOST_BYTES)
    except OSError as broken:
        raise Mistake(f"the marked answers cannot be read ({broken.strerror or broken})", where=where) from None
    if raw is None:
        raise Mistake("the marked answers are too large", expected=f"at most {MOST_BYTES // 1_000_000} MB", where=where)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")  # as older spreadsheets save it: only names can differ
    first = text.partition("\n")[0]
    separator = max(_SEPARATORS, key=first.count)
    try:
        return tuple(_rows(csv.reader(io.StringIO(text, newline=""), delimiter=separator), where))
    except csv.Error as broken:
        raise Mistake(f"the table cannot be read ({broken})", where=where) from None


def _rows(cells: Iterator[list[str]], where: Where) -> Iterator[MarkedRow]:
    heading = [name.strip().casefold() for name in next(cells, [])]
    missing = [name for name in HEADING if name not in heading]
    if missing:
        raise Mistake(
            f"this is no table of marked answers: it has no column '{missing[0]}'",
            expected=f"a file {PREFIX}….csv as 'molewright mark' writes it",
            where=where,
            do="Mark the answers again with this version.",
        )
    at = {name: heading.index(name) for name in HEADING}
    for line, row in enumerate(cells, 2):
        if any(cell.strip() for cell in row):
            yield _row([*row, *[""] * (len(heading) - len(row))], at, Where(where.file, line))


def _row(row: Sequence[str], at: dict[str, int], where: Where) -> MarkedRow:
    def cell(name: str) -> str:
        return unsafe(row[at[name]]).strip()

    def number(name: str) -> int:
        text = cell(name)
        if not (text.isascii() and text.isdecimal() and len(text) <= 6):
            raise Mistake(f"{shortened(text)} in the column '{name}'", expected="a whole number", where=where)
        return int(text)

    def things(name: str) -> tuple[str, ...]:
        return tuple(filter(None, cell(name).split(BETWEEN)))

    return MarkedRow(
        code=cell("paper code"),
        title=cell("title"),
        level=cell("level"),
        pupil=cell("pupil"),
        question=number("question"),
        part=cell("part"),
        answer=cell("answer"),
        marks=number("marks"),
        pending=number("pending"),
        out_of=number("out of"),
        judged=cell("judged"),
        things=things("misunderstood"),
        sure=cell("how sure") == SURE,
        could_show=things("could show"),
        all_marks=number("all marks"),
        all_pending=number("all pending"),
    )
