"""A table of returned answers comes in as CSV; rows of pupil, question, part and answer go out. Marks nothing.

UTF-8, with or without its mark, and UTF-16 with its mark are read; anything else is refused with its line, never guessed.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from molewright.errors import Mistake, Where, nearest, raise_all, shortened
from molewright.machine.bounded_reading import read_at_most
from molewright.marking.answer_table import heading_of, rows_of
from molewright.marking.returned_rows import COLUMNS, MOST_LETTERS, PART, QUESTION, Row, part_of
from molewright.order.class_list import MOST_PUPILS, clean_name

MOST_BYTES = 5_000_000
MOST_COLUMNS = 200
MOST_MISTAKES = 12  # told at once
SEPARATORS = (",", ";", "\t")

_NEEDED = ("pupil", "question", "answer")


@dataclass(frozen=True, slots=True)
class Returned:
    """All answers of a file, and what the reader shall know of how it was read."""

    path: Path
    rows: tuple[Row, ...]
    notes: tuple[str, ...]

    def where(self, line: int | None = None) -> Where:
        """A place in the file."""
        return Where(str(self.path), line)


def read_returned(path: Path, tried: Callable[[str], object] = str) -> Returned:
    """The answers of a CSV file. Raises Mistake with file:line for what cannot be one, and for a pupil whose name `tried` refuses."""
    text, notes = _text(path)
    separator, text, skipped = _separator(text, path)
    records = _records(text, separator, path, skipped)
    first = next(records, None)
    if first is None:
        raise Mistake(
            "the file of answers is empty", expected="a heading and one row an answer", where=Where(str(path))
        )
    rows: list[Row] = []
    pupils: set[str] = set()
    wrong: list[Mistake] = []
    for one in _each(first, records, path, notes):
        try:
            if isinstance(one, Mistake):
                raise one
            rows.append(one)
            if one.pupil not in pupils:
                tried(one.pupil)
                pupils.add(one.pupil)
        except Mistake as mistake:
            line = one.line if isinstance(one, Row) else None
            wrong.append(mistake.at(Where(str(path), line, "pupil")))
            if len(wrong) >= MOST_MISTAKES:
                break
    raise_all(wrong)
    if len(pupils) > MOST_PUPILS:
        raise Mistake(
            f"answers of more than {MOST_PUPILS} pupils", expected="the answers of a school", where=Where(str(path))
        )
    if not rows:
        raise Mistake(
            "the file holds a heading and no answer", expected="one row for each answer", where=Where(str(path))
        )
    return Returned(path, tuple(rows), tuple(notes))


def _each(
    first: tuple[int, list[str]], records: Iterator[tuple[int, list[str]]], path: Path, notes: list[str]
) -> Iterator[Row | Mistake]:
    """The answers one by one, in a table with a row for each or with a row for each pupil; a Mistake where a row is none."""
    line, heading = first
    by_pupil = heading_of(heading) if len(heading) <= MOST_COLUMNS else None
    columns: dict[str, int] = {}
    if by_pupil is not None:
        ignored = by_pupil.left_aside
    else:
        columns, ignored = _columns(heading, Where(str(path), line))
    if ignored:
        notes.append(f"columns left aside: {', '.join(shortened(name, 30) for name in ignored[:12])}")
    if by_pupil is not None:
        yield from rows_of(by_pupil, records, lambda at: Where(str(path), at))
        return
    for at, cells in records:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            yield _row(cells, columns, len(heading), Where(str(path), at))
        except Mistake as mistake:
            yield mistake


def _text(path: Path) -> tuple[str, list[str]]:
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
    notes: list[str] = []
    coding = "utf-8-sig"
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        coding = "utf-16"
        notes.append("read as UTF-16, as its first two bytes say")
    try:
        text = raw.decode(coding)
    except UnicodeDecodeError as broken:
        line = raw[: broken.start].count(b"\n") + 1
        raise Mistake(
            f"byte {raw[min(broken.start, len(raw) - 1)]:#04x} is not {'UTF-16' if coding == 'utf-16' else 'UTF-8'}",
            expected="a table saved as CSV in UTF-8",
            where=Where(str(path), line),
            do="Save it again as 'CSV UTF-8'.",
        ) from None
    at = text.find("\0")
    if at >= 0:
        raise Mistake(
            "a NUL character", expected="plain text", where=Where(str(path), text.count("\n", 0, at) + 1),
            do="Save the table again as 'CSV UTF-8'.",
        )  # fmt: skip
    return text, notes


def _separator(text: str, path: Path) -> tuple[str, str, int]:
    """The separator of the heading line, the text from there on, and the lines before it."""
    begin = text.rfind("\n", 0, len(text) - len(text.lstrip())) + 1  # of the first line that holds anything
    skipped, text = text.count("\n", 0, begin), text[begin:]
    named = re.match(r"sep=([,;\t])[^\S\n]*(?:\n|$)", text)  # spreadsheets write such a line
    if named:
        return named[1], text[named.end() :], skipped + 1
    heading = re.sub(r'"[^"\n]*"', "", text.partition("\n")[0])
    counts = {separator: heading.count(separator) for separator in SEPARATORS}
    most = max(counts.values())
    if not most and heading.strip():
        raise Mistake(
            f"the heading {shortened(heading.strip())} is one column",
            expected="columns pupil, question, answer, separated by comma, semicolon or tab",
            where=Where(str(path), skipped + 1),
        )
    return next(separator for separator in SEPARATORS if counts[separator] == most), text, skipped


def _records(text: str, separator: str, path: Path, skipped: int) -> Iterator[tuple[int, list[str]]]:
    """The rows with the line that each begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1 + skipped
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as broken:
            too_long = "field limit" in str(broken)
            raise Mistake(
                "a cell without end" if too_long else f"the row cannot be read ({broken})",
                expected="a quotation mark that is opened to be closed"
                if too_long
                else "cells with a separator or a quotation mark inside in quotation marks",
                where=Where(str(path), line),
            ) from None
        yield line, cells


def _columns(heading: list[str], where: Where) -> tuple[dict[str, int], list[str]]:
    """Where each column stands, and the columns that are left aside."""
    if len(heading) > MOST_COLUMNS:
        raise Mistake(f"the heading has {len(heading)} columns", expected=f"at most {MOST_COLUMNS}", where=where)
    spellings = {spelling: column for column, several in COLUMNS.items() for spelling in several}
    found: dict[str, int] = {}
    ignored: list[str] = []
    for at, cell in enumerate(heading):
        name = " ".join(cell.replace("_", " ").split()).strip(":").casefold()
        column = spellings.get(name)
        if column is None or (column in found and name != column):
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
    return found, ignored


def _instead(missing: str, ignored: list[str]) -> str:
    """What to do about a missing column: call that one so which is spelt most alike, or add it."""
    for one in ignored:
        if nearest(one, COLUMNS[missing], 1):
            return f"Change the heading {shortened(one)} to '{missing}'."
    told = f" Not read: {', '.join(map(shortened, ignored[:5]))}." if ignored else ""
    return f"Call one of the columns '{missing}'.{told}"


def _row(cells: list[str], columns: dict[str, int], width: int, where: Where) -> Row:
    if len(cells) > width and any(cell.strip() for cell in cells[width:]):
        raise Mistake(
            f"{len(cells)} cells below a heading of {width}",
            expected="an answer such as 94,9 in quotation marks where the comma separates",
            where=where,
        )

    def cell(column: str, most: int = MOST_LETTERS) -> str:
        at = columns.get(column)
        text = cells[at] if at is not None and at < len(cells) else ""
        if len(text) > most:
            raise Mistake(
                f"the {column} has {len(text)} letters", expected=f"at most {most}", where=where.under(column)
            )
        return text.strip()

    pupil = clean_name(cell("pupil"), where.under("pupil"))
    if not pupil:
        raise Mistake("no pupil is named", expected="a name or a number in the column 'pupil'", where=where)
    question, part = _place(cell("question"), cell("part"), where)
    assert where.line is not None
    return Row(
        line=where.line,
        code=cell("paper code"),
        pupil=pupil,
        question=question,
        part=part,
        answer=cell("answer", MOST_BYTES),
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
