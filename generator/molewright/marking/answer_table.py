"""A table with a row a pupil and a column a part comes in; rows of pupil, question, part and answer go out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from molewright.errors import Mistake, Where
from molewright.machine.spreadsheets import unsafe
from molewright.marking.returned_rows import COLUMNS, MOST_ANSWER, MOST_LETTERS, QUESTION, Row, part_of
from molewright.order.class_list import clean_name

_LET_BE = ("level",)  # columns of the table that are not read


@dataclass(slots=True, kw_only=True)
class Heading:
    """Where the columns of a block stand: paper code, pupil, and for each part its question and letter."""

    width: int
    code: int | None = None
    pupil: int | None = None
    places: dict[int, tuple[int, str]] = field(default_factory=dict)
    left_aside: list[str] = field(default_factory=list)


def heading_of(cells: list[str]) -> Heading | None:
    """The heading of a block, if a row is one: it names the pupils and at least one part, and neither questions nor answers."""
    found = Heading(width=len(cells))
    for at, cell in enumerate(cells):
        name = " ".join(cell.replace("_", " ").split()).strip(":").casefold()
        place = QUESTION.fullmatch(name)
        if name in COLUMNS["question"] or name in COLUMNS["answer"]:
            return None
        if name in COLUMNS["pupil"] and found.pupil is None:
            found.pupil = at
        elif name in COLUMNS["paper code"] and found.code is None:
            found.code = at
        elif place is not None:
            found.places[at] = int(place[1]), part_of(place[2] or "")
        elif name and name not in _LET_BE:
            found.left_aside.append(" ".join(cell.split()))
    return found if found.pupil is not None and found.places else None


def rows_of(
    heading: Heading, records: Iterable[tuple[int, list[str]]], where: Callable[[int], Where]
) -> Iterator[Row | Mistake]:
    """The answers row by row, the empty cells left out; a Mistake where a row is none."""
    for line, cells in records:
        block = heading_of(cells)
        if block is not None:
            heading = block
            continue
        try:
            yield from list(_row(heading, cells, line, where(line)))
        except Mistake as mistake:
            yield mistake


def _row(heading: Heading, cells: list[str], line: int, where: Where) -> Iterator[Row]:
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
    if not any(answers.values()):
        return
    pupil = clean_name(unsafe(cell(heading.pupil, "pupil", MOST_LETTERS)), where.under("pupil"))
    if not pupil:
        raise Mistake("no pupil is named", expected="a name or a number in the column 'pupil'", where=where)
    code = cell(heading.code, "paper code", MOST_LETTERS)
    for (question, part), answer in answers.items():
        if answer:
            yield Row(line=line, code=code, pupil=pupil, question=question, part=part, answer=answer)
