"""The answer file that is written beside a paper: as CSV and as a workbook, filled in, saved by a spreadsheet, and read again."""

from __future__ import annotations

import codecs
import csv
import io
import re
import zipfile
from collections.abc import Callable, Mapping
from datetime import date, time, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where
from molewright.machine import workbooks
from molewright.machine.workbooks import read_workbook
from molewright.marking.files import mark_set
from molewright.marking.returned import read_returned
from molewright.marking.typed_answers import Asked, read_answer
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from shared.for_each import for_each

Write = Callable[..., Path]
PUPILS = (
    Pupil(name="Ilsa Quern", level="structured"),
    Pupil(name="=HYPERLINK(1)", level="exam"),
    Pupil(name="Ada O’Holm", level="exam", beside="3"),
    Pupil(name="Ada O’Holm", level="exam", beside="4"),
)
KINDS = ("direct-solutions-fault", "back-portions")


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def papers(bank: Bank, plans: Plans) -> PaperSet:
    wanted = Wanted(pupils=PUPILS, numbers="shared", forms=("text",), sheets=("questions",))
    return PaperSet(bank, Order(seed=11, count=2, archetypes=KINDS), wanted, plans)


@pytest.fixture(scope="module")
def folder(papers: PaperSet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A paper for four pupils at two levels."""
    folder = tmp_path_factory.mktemp("papers")
    write_papers(papers, folder)
    return folder


@pytest.fixture(scope="module")
def book(folder: Path) -> Path:
    (path,) = folder.glob("*-answers.xlsx")
    return path


def filled(book: Path, papers: PaperSet) -> Workbook:
    """The workbook with the final answer of question 2 typed in, as somebody types: a text that keeps its zeros."""
    made = load_workbook(book)
    finals = {copy.pupil.name: papers.paper(copy).questions[1].worked.answer for copy in papers.copies if copy.pupil}
    for sheet in made.worksheets:
        heading = [str(cell.value) for cell in sheet[1]]
        last = max(at for at, cell in enumerate(heading, 1) if re.match(r"2(\(|$)", cell))
        for row in range(2, sheet.max_row + 1):
            sheet.cell(row, last).value = str(finals[str(sheet.cell(row, heading.index("pupil") + 1).value)])
    return made


def bytes_of(made: Workbook) -> bytes:
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


# ------------------------------------------------------------------ as it is written


def test_a_sheet_a_level_with_texts_frozen_headings_and_marks_beside_each_part(book: Path) -> None:
    made = load_workbook(book)
    assert made.sheetnames == ["structured", "exam"]
    for sheet in made.worksheets:
        heading = [str(cell.value) for cell in sheet[1]]
        assert heading[:4] == ["level", "paper code", "pupil", "told apart by"]
        assert sheet.freeze_panes == "E2"
        for at, cell in enumerate(heading[4:], 4):
            letter = sheet.cell(1, at + 1).column_letter
            shape = sheet.column_dimensions[letter]
            if cell.startswith("marks"):
                assert re.fullmatch(rf"marks {re.escape(heading[at - 1])} of [1-9][0-9]?", cell)
                assert shape.hidden == (not cell.startswith("marks 1 "))  # question 1 is answered in words
            else:
                assert shape.number_format == "@"
                assert not shape.hidden
    exam = made["exam"]
    assert [cell.value for cell in exam["C"]][1:] == ["=HYPERLINK(1)", "Ada O’Holm", "Ada O’Holm"]
    assert exam["C2"].data_type == "s"
    with zipfile.ZipFile(book) as packed:
        assert not any("vba" in name.casefold() or "externalLink" in name for name in packed.namelist())


def test_the_workbook_has_the_same_bytes_each_time(
    papers: PaperSet, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    write_papers(papers, tmp_path)
    assert (tmp_path / book.name).read_bytes() == book.read_bytes()


def test_marks_that_only_the_teacher_can_give_have_a_column_in_the_csv_and_no_others(folder: Path) -> None:
    (path,) = folder.glob("*-answers.csv")
    rows = list(csv.reader(path.read_text("utf-8-sig").splitlines()))
    headings = [row for row in rows if row and row[0] == "level"]
    for heading in headings:
        assert [cell for cell in heading if cell.startswith("marks")] == ["marks 1 of 3"]


def test_answers_typed_into_the_workbook_earn_every_mark_that_a_number_earns(
    papers: PaperSet, folder: Path, book: Path, tmp_path: Path
) -> None:
    path = tmp_path / "filled.xlsx"
    path.write_bytes(bytes_of(filled(book, papers)))
    classes, notes = mark_set(path, papers.bank, given=folder, class_list=PUPILS)
    assert notes == ()
    names = [pupil.name for marked in classes for pupil in marked.pupils]
    assert sorted(names) == sorted(["Ilsa Quern", "=HYPERLINK(1)", "Ada O’Holm (3)", "Ada O’Holm (4)"])
    for marked in classes:
        for pupil in marked.pupils:
            questions = marked.record.paper(pupil.version).questions
            assert pupil.marks == {2: len(questions[1].points)}


# ------------------------------------------------------------------ a workbook from outside


def page(cells: Mapping[str, Any], formats: Mapping[str, str] | None = None) -> bytes:
    made = Workbook()
    sheet = made.worksheets[0]
    for at, text in (("A1", "pupil"), ("B1", "1(a)"), ("C1", "1(b)"), ("A2", "Ilsa")):
        sheet[at] = text
    for at, value in cells.items():
        sheet[at] = value
    for at, shape in (formats or {}).items():
        sheet[at].number_format = shape
    return bytes_of(made)


@for_each(
    ("value", "shape", "read"),
    [
        (0.095, "0.0000", "0.0950"), (0.095, "General", "0.095"), (0.0026, "0.00E+00", "2.60E-3"), (0.949, "0.00%", "94.90%"),
        (0.1 + 0.2, "General", "0.3"), (25, "General", "25"), (25, "0.00", "25.00"), (0.09497, "0.00", "0.09497"),
        (0.00001234, "General", "0.00001234"), (2.6e-7, "General", "2.6e-07"), (0.00012345, "0.00E+00", "1.2345E-4"),
        (time(5, 2), "h:mm", "5:02"), (timedelta(hours=25, minutes=3), "[h]:mm", "25:03"), ("0,0950", "@", "0,0950"),
        (1234.5, "#,##0.00", "1234.50"), (True, "General", "TRUE"), ("#REF!", "General", "#REF!"),
    ],
)  # fmt: skip
def test_a_cell_that_a_spreadsheet_changed_is_read_as_it_shows(value: Any, shape: str, read: str) -> None:
    (found,) = read_workbook(page({"B2": value}, {"B2": shape}), Where("x"))
    assert found.rows[1] == (2, ["Ilsa", read])


def test_a_ratio_that_became_a_time_is_read_and_a_date_is_told(answers_file: Write) -> None:
    path = answers_file(page({"B2": time(5, 2), "C2": date(2026, 2, 1), "D1": "2(a)", "D2": 0.095}), "answers.xlsx")
    found = read_returned(path)
    ratio, made_a_date, number = found.rows
    ratio_read = read_answer(ratio.answer, Asked(type="ratio"))
    assert getattr(ratio_read, "number", None) == 2.5
    assert "not" in getattr(read_answer(made_a_date.answer), "why", "") or "number" in str(
        read_answer(made_a_date.answer)
    )
    assert number.answer == "0.095"
    assert found.notes[0].startswith("1 cell holds a number and no text: noughts at the end")
    assert found.notes[1].startswith("2 cells are a date or a time")


def test_a_formula_is_never_worked_out(answers_file: Write) -> None:
    (found,) = read_workbook(page({"B2": "=1/8", "C2": '=HYPERLINK("http://x")'}), Where("x"))
    assert found.rows[1] == (2, ["Ilsa", "=1/8", '=HYPERLINK("http://x")'])
    content = page({"B2": "=1/8"})
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"].replace(b"<v></v>", b"<v>0.125</v>").replace(b"<v />", b"<v>0.125</v>")
    (kept,) = read_workbook(packed_of({**parts, "xl/worksheets/sheet1.xml": sheet}), Where("x"))
    assert kept.rows[1] == (2, ["Ilsa", "0.125"])


def packed_of(parts: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in parts.items():
            packed.writestr(name, content)
    return out.getvalue()


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


SHEET = "xl/worksheets/sheet1.xml"
FEW_ROWS = 200
ENTITY = b'<!DOCTYPE x [<!ENTITY a "b">]>'


@cache
def bombs() -> dict[str, tuple[bytes, str]]:
    parts = parts_of(page({}))
    heads = parts[SHEET].partition(b"<sheetData>")
    row = b'<row r="%d"><c r="XFD%d" t="inlineStr"><is><t>x</t></is></c><c r="A%d" t="inlineStr"><is><t>y</t></is></c></row>'
    many = b"".join(row % (line, line, line) for line in range(1, FEW_ROWS + 9))
    return {
        "a bomb": (packed_of({**parts, "xl/media/x.xml": bytes(workbooks.MOST_UNPACKED + 1)}), "too large when it is unpacked"),
        "many parts": (packed_of({**parts, **{f"x{at}": b"" for at in range(workbooks.MOST_PARTS)}}), "too large"),
        "entities": (packed_of({**parts, SHEET: ENTITY + parts[SHEET]}), "words of its own"),
        "many rows": (packed_of({**parts, SHEET: heads[0] + heads[1] + many + b"</sheetData></worksheet>"}), "more than 200 rows"),
        "another file": (packed_of({"content.xml": b"<x/>"}), "no workbook"),
        "no XML": (packed_of({**parts, SHEET: b"<<<"}), "cannot be read"),
        "cut short": (page({})[:-60], "damaged"),
        "turned": (page({})[:300] + b"\xff" * 40 + page({})[340:], "damaged|cannot be read"),
        "old": (workbooks.OLD_BEGINNING + b"x" * 100, r"old kind \(.xls\), or locked"),
        "no answers": (bytes_of_two_empty_sheets(), "no sheet of the workbook begins with a heading of answers"),
    }  # fmt: skip


def bytes_of_two_empty_sheets() -> bytes:
    made = Workbook()
    made.create_sheet("more")["A1"] = "only words"
    return bytes_of(made)


@pytest.mark.parametrize("name", ["a bomb", "many parts", "entities", "many rows", "another file", "no XML", "cut short",
                                  "turned", "old", "no answers"])  # fmt: skip
def test_a_workbook_that_is_none_or_runs_away_is_refused_in_a_sentence(
    answers_file: Write, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert workbooks.MOST_ROWS == 20_000
    monkeypatch.setattr(workbooks, "MOST_ROWS", FEW_ROWS)
    content, said = bombs()[name]
    with pytest.raises(Mistake, match=said):
        read_returned(answers_file(content, "answers.xlsx"))


def test_a_far_away_empty_row_and_sheets_of_notes_are_let_be(answers_file: Write) -> None:
    parts = parts_of(page({"B2": "0.0950"}))
    parts[SHEET] = parts[SHEET].replace(b"</sheetData>", b'<row r="1048576"><c r="A1048576"/></row></sheetData>')
    (row,) = read_returned(answers_file(packed_of(parts), "answers.xlsx")).rows
    assert (row.line, row.answer) == (2, "0.0950")


# ------------------------------------------------------------------ tables as text, as spreadsheets save them


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_table_with_a_row_a_pupil_is_read_as_spreadsheets_save_it(
    answers_file: Write, coding: str, separator: str
) -> None:
    text = separator.join(["pupil", "1(a)", "1(b)"]) + "\r\n" + separator.join(["Édda Voß", "0.0950 µmol", "2.6×10^-3"])
    content = (codecs.BOM_UTF16_LE + text.encode("utf-16-le")) if coding == "utf-16" else text.encode(coding)
    found = read_returned(answers_file(content)).rows
    assert [(row.pupil, row.part, row.answer) for row in found] == [
        ("Édda Voß", "a", "0.0950 µmol"), ("Édda Voß", "b", "2.6×10^-3"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("other", "read"),
    [("94,9", "1.234"), ("0,0950 mol", "1.234"), ("94.9", "1,234"), ("95", "1,234"), ("94,9; 1.5", "1,234")],
)
def test_a_comma_that_may_mark_thousands_is_read_as_the_rest_of_the_file(
    answers_file: Write, other: str, read: str
) -> None:
    found = read_returned(answers_file(f'pupil;1(a);1(b)\nIlsa;1,234;\nBram;"{other}";2\n'))
    assert found.rows[0].answer == read
    assert bool(found.notes) == (read == "1.234")
