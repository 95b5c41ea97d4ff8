"""The bytes of a workbook come in; its tables of answers, a sheet each, go out, and what its spreadsheet changed in them is told."""

from __future__ import annotations

from collections.abc import Iterator

from molewright.errors import Mistake, Where, shortened
from molewright.machine.workbooks import ReadPage, read_workbook
from molewright.marking.answer_table import heading_of
from molewright.marking.returned_rows import COLUMNS

_NEEDED = ("pupil", "question", "answer")


def tables_of(raw: bytes, where: Where) -> tuple[list[tuple[str, Iterator[tuple[int, list[str]]]]], list[str]]:
    """Every sheet that begins like a table of answers, by name, and notes. Raises Mistake where none does."""
    pages = read_workbook(raw, where)
    tables = [page for page in pages if page.rows and (len(pages) == 1 or _begins_as_answers(page.rows[0][1]))]
    if not tables:
        raise Mistake(
            "no sheet of the workbook begins with a heading of answers",
            expected="a heading with pupil and a column for each part, or pupil, question and answer",
            where=where,
        )
    notes = [
        f"sheets left aside: {', '.join(shortened(page.name, 30) for page in pages if page not in tables and page.rows)}"
    ]
    return [(page.name, iter(page.rows)) for page in tables], [
        *(notes if notes[0][-1] != " " else ()),
        *_changed(tables),
    ]


def _begins_as_answers(cells: list[str]) -> bool:
    words = {" ".join(cell.split()).casefold() for cell in cells}
    return heading_of(cells) is not None or all(words & set(COLUMNS[column]) for column in _NEEDED)


def _changed(tables: list[ReadPage]) -> Iterator[str]:
    numbers = sum(page.numbers for page in tables)
    dates = sum(page.dates for page in tables)
    if numbers:
        yield (
            f"{numbers} {'cell holds a number' if numbers == 1 else 'cells hold numbers'} and no text: noughts at the end of what was "
            "typed there (0.0950) are gone; format cells as text before typing"
        )
    if dates:
        yield f"{dates} {'cell is' if dates == 1 else 'cells are'} a date or a time for the spreadsheet: type it again as text"
