"""A table with a row a pupil and a column a part comes in; rows of pupil, question, part and answer go out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from molewright.errors import Mistake, Where
from molewright.machine.spreadsheets import unsafe
from molewright.marking.returned_rows import (
    COLUMNS,
    MARKS,
    MOST_ANSWER,
    MOST_LETTERS,
    QUESTION,
    TOLD_APART,
    Absent,
    Row,
    is_absent,
    part_of,
)
from molewright.order.class_list import clean_name

_LET_BE = ("level",)  # columns of the table that are not read
_OF_A_PUPIL = ("no", "no.", "number")  # beside a column for each part, these number the pupils


@dataclass(slots=True, kw_only=True)
class Heading:
    """Where the columns of a block stand: paper code, pupil, what tells namesakes apart, and for each part its answer and marks."""

    width: int
    code: int | None = None
    pupil: int | None = None
    beside: list[int] = field(default_factory=list)
    places: dict[int, tuple[int, str]] = field(default_factory=dict)
    marks: dict[int, tuple[int, str]] = field(default_factory=dict)
    left_aside: list[str] = field(default_factory=list)


def heading_of(cells: list[str]) -> Heading | None:
    """The heading of a block, if a row is one: it names the pupils and at least one part, and neither questions nor answers."""
    found = Heading(width=len(cells))
    for at, cell in enumerate(cells):
        name = " ".join(cell.replace("_", " ").replace("’", "'").split()).strip(":").casefold()
        if name not in _OF_A_PUPIL and (name in COLUMNS["question"] or name in COLUMNS["answer"]):
            return None
        place = QUESTION.fullmatch(name)
        marks = MARKS.fullmatch(name)
        given = QUESTION.fullmatch(marks["place"]) if marks else None
        if name in COLUMNS["pupil"] and found.pupil is None:
            found.pupil = at
        elif name in COLUMNS["paper code"] and found.code is None:
            found.code = at
        elif name in TOLD_APART or name in _OF_A_PUPIL:
            found.beside.append(at)
        elif place is not None:
            found.places[at] = int(place[1]), part_of(place[2] or "")
        elif given is not None:
            found.marks[at] = int(given[1]), part_of(given[2] or "")
        elif name and name not in _LET_BE:
            found.left_aside.append(" ".join(cell.split()))
    return found if found.pupil is not None and (found.places or found.marks) else None


def rows_of(
    heading: Heading, records: Iterable[tuple[int, list[str]]], where: Callable[[int], Where]
) -> Iterator[Row | Absent | Mistake]:
    """The answers row by row, the empty cells left out, and who has a row and wrote nothing; a Mistake where a row is none."""
    for line, cells in records:
        block = heading_of(cells)
        if block is not None:
            heading = block
            continue
        try:
            yield from list(_row(heading, cells, line, where(line)))
        except Mistake as mistake:
            yield mistake


def _row(heading: Heading, cells: list[str], line: int, where: Where) -> Iterator[Row | Absent]:
    if len(cells) > heading.width and any(cell.strip() for cell in cells[heading.width :]):
        raise Mistake(
            f"{len(cells)} cells below a heading of {heading.width}",
            expected="an answer such as 94,9 in quotation marks where the comma separates",
            where=where,
        )

    def cell(at: int | None, what: str, most: int) -> str:
        text = cells[at].strip() if at is not None and at < len(cells) else ""
        if len(text) > most:
            raise Mistake(f"the {what} has {len(text)} letters", expected=f"at most {most}", where=where.under(what))
        return text

    answers = {place: cell(at, "answer", MOST_ANSWER) for at, place in heading.places.items()}
    marks = {place: cell(at, "mark", MOST_LETTERS) for at, place in heading.marks.items()}
    pupil = clean_name(unsafe(cell(heading.pupil, "pupil", MOST_LETTERS)), where.under("pupil"))
    written = any(answers.values()) or any(marks.values())
    if not pupil and not written:
        return
    if not pupil:
        raise Mistake("no pupil is named", expected="a name or a number in the column 'pupil'", where=where)
    code = cell(heading.code, "paper code", MOST_LETTERS)
    beside = " ".join(filter(None, (unsafe(cell(at, "pupil", MOST_LETTERS)) for at in heading.beside)))
    rows = [
        Row(
            line=line,
            code=code,
            pupil=pupil,
            question=question,
            part=part,
            answer="" if is_absent(answers.get((question, part), "")) else answers.get((question, part), ""),
            given=_mark(marks.get((question, part), "")),
            beside=beside,
        )
        for question, part in dict.fromkeys((*answers, *marks))
    ]
    told = [row for row in rows if row.answer or row.given]
    if all(row.says_nothing for row in told):
        yield Absent(line=line, code=code, pupil=pupil, beside=beside)
    else:
        yield from told


def _mark(cell: str) -> str:
    """A mark as typed; a pupil who was not there has none."""
    return "" if is_absent(cell) or cell in ("-", "–", "—") else cell
