"""Answer files, filled in, go through LibreOffice and back: what was typed is what is read."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook

from molewright.marking.returned import read_returned
from molewright.papers.answers import AnswerTable, PlaceOf
from shared import office

pytestmark = [
    pytest.mark.office,
    pytest.mark.skipif(office.missing_sheets, reason="LibreOffice Calc is not on this machine"),
]

TYPED = ("0.0950", "2.6 × 10⁻³ mol", "5:2", "1/2", "94,9 %", "1E-3", "25.00", "007", "=1+1", "1,234")
NAMES = (("Ilsa Quern", ""), ("=HYPERLINK(1)", ""), ("Bo O’Tarn", "11X 4"), ("Édda Voß", ""))
CSV = "csv:Text - txt - csv (StarCalc):{separator},34,{coding},1,,0,false,true,false"
AS_TEXT = "/".join(f"{column}/2" for column in range(1, 30))


def table() -> AnswerTable:
    made = AnswerTable()
    places = [PlaceOf(question=number, part="a", right="", marks=2, teachers=number % 2) for number in range(1, 11)]
    made.add("exam", "A-2VFD-7YR3-CK", NAMES, places)
    return made


def filled_workbook() -> bytes:
    book = load_workbook(io.BytesIO(table().workbook()))
    sheet = book["exam"]
    for row in range(2, 2 + len(NAMES)):
        for at, cell in enumerate(sheet[1], 1):
            if str(cell.value).endswith("(a)"):
                place = sheet.cell(row, at)
                place.value = TYPED[int(str(cell.value)[:-3]) - 1]
                place.data_type, place.number_format = "s", "@"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def filled_csv() -> bytes:
    heading, *rows = csv.reader(table().content().decode("utf-8-sig").splitlines())
    for row in rows:
        for at, cell in enumerate(heading):
            if cell.endswith("(a)"):
                row[at] = TYPED[int(cell[:-3]) - 1]
    out = io.StringIO()
    csv.writer(out).writerows([heading, *rows])
    return out.getvalue().encode("utf-8-sig")


def held(content: bytes, write: Callable[..., Path], name: str) -> list[tuple[str, str, int, str, str]]:
    return [
        (row.code, row.pupil, row.question, row.part, row.answer) for row in read_returned(write(content, name)).rows
    ]


def test_a_workbook_goes_through_libreoffice_and_back_and_so_does_its_csv(answers_file: Callable[..., Path]) -> None:
    book = {"answers": filled_workbook()}
    typed = held(book["answers"], answers_file, "answers.xlsx")
    assert len(typed) == len(NAMES) * len(TYPED)
    assert [answer for *_, answer in typed[: len(TYPED)]] == list(TYPED)
    sheets = office.converted(book, "ods", "xlsx")
    assert held(office.converted(sheets, "xlsx", "ods")["answers"], answers_file, "back.xlsx") == typed
    for separator, coding in ((44, 76), (59, 76), (9, 65535)):  # commas, semicolons, tabs; UTF-8, "Unicode text"
        made = office.converted(book, CSV.format(separator=separator, coding=coding), "xlsx")
        assert held(made["answers"], answers_file, "made.csv") == typed, (separator, coding)


def test_a_csv_read_as_text_goes_through_libreoffice_and_back(answers_file: Callable[..., Path]) -> None:
    table_as_text = {"answers": filled_csv()}
    typed = held(table_as_text["answers"], answers_file, "answers.csv")
    assert [answer for *_, answer in typed[: len(TYPED)]] == list(TYPED)
    opened = [f"--infilter=Text - txt - csv (StarCalc):44,34,76,1,{AS_TEXT}"]
    made = office.converted(table_as_text, "xlsx", "csv", opened)
    assert held(made["answers"], answers_file, "made.xlsx") == typed
