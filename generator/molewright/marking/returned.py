"""A file of returned answers comes in; rows of pupil, question, part and answer, and who was absent, go out. Marks nothing.

A workbook (XLSX), or a table as text (`marking/returned_text`); with a row for each answer, or a row a pupil and a column a part. Or a
folder of papers that were filled in on screen (`marking/returned_forms`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.errors import Mistake, Where, nearest, raise_all, shortened
from molewright.machine.bounded_reading import read_at_most
from molewright.machine.spreadsheets import unsafe
from molewright.machine.workbooks import BEGINNING, MOST_COLUMNS, OLD_BEGINNING
from molewright.marking.answer_table import heading_of, rows_of
from molewright.marking.decimal_habit import by_habit
from molewright.marking.namesakes import told_apart
from molewright.marking.returned_forms import read_forms, told
from molewright.marking.returned_rows import (
    COLUMNS,
    MOST_LETTERS,
    PART,
    QUESTION,
    TOLD_APART,
    Absent,
    Row,
    is_absent,
    part_of,
)
from molewright.marking.returned_text import records_of
from molewright.marking.returned_workbook import tables_of
from molewright.order.class_list import MOST_PUPILS, clean_name
from molewright.order.pupils import Pupil

MOST_BYTES = 5_000_000
MOST_MISTAKES = 12  # told at once

_NEEDED = ("pupil", "question", "answer")
_Records = Iterator[tuple[int, list[str]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """All answers of a file, who wrote nothing, and what the reader shall know of how it was read."""

    path: Path
    rows: tuple[Row, ...]
    notes: tuple[str, ...]
    absent: tuple[Absent, ...] = ()

    def where(self, row: Row | Absent | None = None) -> Where:
        """A place in the file."""
        if row is None:
            return Where(str(self.path))
        if self.path.is_dir():
            return Where(str(self.path / row.sheet))
        return Where(str(self.path), row.line, row.sheet)


def read_returned(path: Path, tried: Callable[[str], object] = str, class_list: Sequence[Pupil] = ()) -> Returned:
    """The answers of a file, or of a folder of filled papers.

    Raises Mistake with file:line for what cannot be one, and for a pupil whose name `tried` refuses.
    """
    if path.is_dir():
        papers = read_forms(path, tried)
        return gathered(path, papers.rows, papers.blank, told(papers.unreadable), class_list)
    tables, notes = _tables(path)
    rows: list[Row] = []
    absent: list[Absent] = []
    pupils: set[str] = set()
    wrong: list[Mistake] = []
    for sheet, records in tables:
        for one in _each(records, path, sheet, notes):
            try:
                if isinstance(one, Mistake):
                    raise one
                if one.pupil not in pupils:
                    tried(one.pupil)
                    pupils.add(one.pupil)
                (rows if isinstance(one, Row) else absent).append(one)  # type: ignore[arg-type]
            except Mistake as mistake:
                line = None if isinstance(one, Mistake) else one.line
                wrong.append(mistake.at(Where(str(path), line, "pupil")))
                if len(wrong) >= MOST_MISTAKES:
                    break
    raise_all(wrong)
    if len(pupils) > MOST_PUPILS:
        raise Mistake(
            f"answers of more than {MOST_PUPILS} pupils", expected="the answers of a school", where=Where(str(path))
        )
    return gathered(path, rows, absent, notes, class_list)


def gathered(
    path: Path, rows: Sequence[Row], absent: Sequence[Absent], notes: Sequence[str], class_list: Sequence[Pupil]
) -> Returned:
    """Answers as they were read, with namesakes told apart, decimal commas read by habit, and whoever wrote nothing set aside.

    Raises Mistake where there is no answer at all.
    """
    given, nobody = told_apart(rows, absent, class_list, lambda row: Where(str(path), row.line, row.sheet))
    held, more = by_habit(given)
    wrote = {row.key for row in held if not row.says_nothing}
    silent = [
        Absent(line=row.line, code=row.code, pupil=row.pupil, beside=row.beside, sheet=row.sheet)
        for row in held
        if row.key not in wrote
    ]
    away = {one.key: one for one in (*nobody, *silent) if one.key not in wrote}
    if not wrote:
        raise Mistake(
            "the file holds a heading and no answer", expected="one row for each answer", where=Where(str(path))
        )
    return Returned(
        path=path,
        rows=tuple(row for row in held if row.key in wrote and row.question),
        notes=(*notes, *more),
        absent=tuple(away.values()),
    )


def _tables(path: Path) -> tuple[list[tuple[str, _Records]], list[str]]:
    """Every table of the file, with the sheet that it stands on ("" for the only one)."""
    where = Where(str(path))
    try:
        raw = read_at_most(path, MOST_BYTES)
    except OSError as broken:
        raise Mistake(
            f"the answers cannot be read ({broken.strerror or broken})",
            where=where,
            do="Check the file's name and its permissions.",
        ) from None
    if raw is None:
        raise Mistake("the file of answers is too large", expected=f"at most {MOST_BYTES // 1_000_000} MB", where=where)
    if raw.startswith(OLD_BEGINNING):
        raise Mistake("the workbook is of an old kind (.xls), or locked with a password", where=where,
                      expected="a workbook (.xlsx) or a table as CSV", do="Save it again as .xlsx, without a password.")  # fmt: skip
    if raw.startswith(BEGINNING):
        return tables_of(raw, where)
    records, notes = records_of(raw, path)
    return [("", records)], notes


def _each(records: _Records, path: Path, sheet: str, notes: list[str]) -> Iterator[Row | Absent | Mistake]:
    """The answers one by one, in a table with a row for each or with a row for each pupil; a Mistake where a row is none."""

    def where(line: int) -> Where:
        return Where(str(path), line, f"sheet {sheet}" if sheet else "")

    first = next(records, None)
    if first is None:
        raise Mistake(
            "the file of answers is empty", expected="a heading and one row an answer", where=Where(str(path))
        )
    line, heading = first
    by_pupil = heading_of(heading) if len(heading) <= MOST_COLUMNS else None
    columns: dict[str, int] = {}
    beside: list[int] = []
    if by_pupil is not None:
        ignored = by_pupil.left_aside
    else:
        columns, beside, ignored = _columns(heading, where(line))
    if ignored:
        notes.append(f"columns left aside: {', '.join(shortened(name, 30) for name in ignored[:12])}")
    if by_pupil is not None:
        found = rows_of(by_pupil, records, where)
    else:
        found = _long(records, columns, beside, len(heading), where)
    for one in found:
        yield replace(one, sheet=f"sheet {sheet}") if sheet and not isinstance(one, Mistake) else one


def _long(
    records: _Records, columns: dict[str, int], beside: list[int], width: int, where: Callable[[int], Where]
) -> Iterator[Row | Absent | Mistake]:
    for at, cells in records:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            yield _row(cells, columns, beside, width, where(at))
        except Mistake as mistake:
            yield mistake


def _columns(heading: list[str], where: Where) -> tuple[dict[str, int], list[int], list[str]]:
    """Where each column stands, those that tell pupils apart, and the names of those that are left aside."""
    if len(heading) > MOST_COLUMNS:
        raise Mistake(f"the heading has {len(heading)} columns", expected=f"at most {MOST_COLUMNS}", where=where)
    spellings = {spelling: column for column, several in COLUMNS.items() for spelling in several}
    found: dict[str, int] = {}
    beside: list[int] = []
    ignored: list[str] = []
    for at, cell in enumerate(heading):
        name = " ".join(cell.replace("_", " ").replace("’", "'").split()).strip(":").casefold()
        column = spellings.get(name)
        if name in TOLD_APART:
            beside.append(at)
        elif column is None or (column in found and name != column):
            if name:
                ignored.append(" ".join(cell.split()))
        elif column in found and heading[found[column]].strip().casefold() == column:
            raise Mistake(f"two columns are called '{column}'", expected="each column once", where=where)
        else:
            found[column] = at
    missing = [column for column in _NEEDED if column not in found]
    if missing:
        raise Mistake(
            f"there is no column '{missing[0]}'",
            expected=f"columns pupil, question, part, answer and paper code (also: {', '.join(COLUMNS[missing[0]][1:4])})",
            where=where,
            do=_instead(missing[0], ignored),
        )
    return found, beside, ignored


def _instead(missing: str, ignored: list[str]) -> str:
    """What to do about a missing column: call that one so which is spelt most alike, or add it."""
    for one in ignored:
        if nearest(one, COLUMNS[missing], 1):
            return f"Change the heading {shortened(one)} to '{missing}'."
    told = f" Not read: {', '.join(map(shortened, ignored[:5]))}." if ignored else ""
    return f"Call one of the columns '{missing}'.{told}"


def _row(cells: list[str], columns: dict[str, int], beside: list[int], width: int, where: Where) -> Row | Absent:
    if len(cells) > width and any(cell.strip() for cell in cells[width:]):
        raise Mistake(
            f"{len(cells)} cells below a heading of {width}",
            expected="an answer such as 94,9 in quotation marks where the comma separates",
            where=where,
        )

    def cell(column: str, most: int = MOST_LETTERS) -> str:
        at = columns.get(column)
        return cell_at(at, column, most)

    def cell_at(at: int | None, column: str, most: int) -> str:
        text = cells[at] if at is not None and at < len(cells) else ""
        if len(text) > most:
            raise Mistake(
                f"the {column} has {len(text)} letters", expected=f"at most {most}", where=where.under(column)
            )
        return text.strip()

    pupil = clean_name(unsafe(cell("pupil")), where.under("pupil"))
    if not pupil:
        raise Mistake("no pupil is named", expected="a name or a number in the column 'pupil'", where=where)
    assert where.line is not None
    answer = cell("answer", MOST_BYTES)
    told = " ".join(filter(None, (unsafe(cell_at(at, "pupil", MOST_LETTERS)) for at in beside)))
    if is_absent(answer) and not cell("question"):
        return Absent(line=where.line, code=cell("paper code"), pupil=pupil, beside=told)
    question, part = _place(cell("question"), cell("part"), where)
    return Row(
        line=where.line,
        code=cell("paper code"),
        pupil=pupil,
        question=question,
        part=part,
        answer="" if is_absent(answer) else answer,
        given=cell("teacher's marks"),
        beside=told,
    )


def _place(question: str, part: str, where: Where) -> tuple[int, str]:
    """Question and part from "3" and "b", or from "3b", "3(b)", "Q3 b"."""
    match = QUESTION.fullmatch(question)
    if match is None:
        raise Mistake(
            f"the question {shortened(question)}", expected="a number, or number and part as 3b or 3(b)", where=where
        )
    joined = part_of(match[2] or "")
    named = PART.fullmatch(part) if part else None
    if part and named is None:
        raise Mistake(
            f"the part {shortened(part)}", expected="a letter as b or (b), or a mark point as point 3", where=where
        )
    own = part_of(named[1]) if named else ""
    if joined and own and joined != own:
        raise Mistake(f"question {shortened(question)} with part {shortened(part)}", expected="one part", where=where)
    return int(match[1]), own or joined
