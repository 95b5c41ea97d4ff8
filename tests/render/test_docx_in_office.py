"""Word documents as LibreOffice reads and prints them: numbers of the record, equations, figures, pages."""

from __future__ import annotations

import io
import re
import tempfile
from collections import Counter
from functools import cache
from math import fsum
from pathlib import Path

import pypdf
import pytest

from molewright.derivation.plans import Plans
from molewright.marking.files import slips_of
from molewright.marking.marked import mark_returned
from molewright.marking.report import class_report
from molewright.marking.returned import read_returned
from molewright.nodes.blocks import Sheet, Table
from molewright.nodes.figures import Figure
from molewright.nodes.inline import Amount, Maths
from molewright.order.order import Order, Wanted
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.record.writer import record
from molewright.render import renderer
from molewright.render.docx.look import PageLook
from molewright.render.docx.maths import broken, stretches
from molewright.render.pdf.look import CELL_SIDE
from molewright.render.text.lines import plain_line
from molewright.sheet.data_sheet import data_sheet
from shared import office
from shared.banks import built_in
from shared.every_node import everything, inside
from shared.records import record_of

pytestmark = [
    pytest.mark.office,
    pytest.mark.skipif(office.missing, reason="LibreOffice is not on this machine"),
]

SEEDS = {"mixed": 3, "scaffolded": 9}
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_GAPS = re.compile(r"\.{3,}|…|[\s()]")


@cache
def paper(level: str) -> Paper:
    order = Order(seed=SEEDS[level], count=6, level=level)
    return PaperMaker(built_in(), order, Plans("none", None)).paper(Wanted(), "A")


def report() -> Sheet:
    held = record_of(built_in(), record(paper("mixed")))
    with tempfile.TemporaryDirectory() as folder:
        answers = Path(folder) / "answers.csv"
        answers.write_text("pupil,question,part,answer\nTove Marl,2,(b),0.002\nŁukasz Żak,2,(b),1.513e-3\n", "utf-8")
        return class_report([mark_returned(read_returned(answers), held, slips_of(held, built_in()))])


@cache
def sheets() -> dict[str, Sheet]:
    mixed, scaffolded = paper("mixed").composer, paper("scaffolded").composer
    return {
        "questions": mixed.question_paper(),
        "scaffolded": scaffolded.question_paper(),
        "scheme": mixed.mark_scheme(),
        "worked": mixed.worked_solutions(),
        "answers": mixed.answers(),
        "marking": mixed.marking_sheet(),
        "report": report(),
        "data": data_sheet((mixed,), "A-TEST"),
        "everything": everything(),
    }


@cache
def documents() -> dict[str, bytes]:
    return {name: renderer("docx").render(sheet) for name, sheet in sheets().items()}


@cache
def read() -> dict[str, office.ReadDocument]:
    return {name: office.read(flat) for name, flat in office.converted(documents(), "fodt").items()}


@cache
def printed() -> dict[str, pypdf.PdfReader]:
    chosen = {name: documents()[name] for name in ("questions", "scheme", "worked", "data")}
    return {name: pypdf.PdfReader(io.BytesIO(pdf)) for name, pdf in office.converted(chosen, "pdf").items()}


def plain(words: str) -> str:
    return " ".join(words.split())


def test_numbers_of_the_record_stand_in_the_documents() -> None:
    held = record(paper("mixed"))
    questions, worked, key, scheme = (read()[name].whole for name in ("questions", "worked", "answers", "scheme"))
    answers = 0
    for question in held["questions"]:
        for name, text in question["given"].items():
            found_by_pupils = question["runs"] and name == question["titre"]
            assert plain(text) in (worked if found_by_pupils else questions), name
        for point in question["points"][:-1]:  # the last is the answer, to the figures asked for
            for one in point["answers"]:
                assert plain(one["answer"]).replace(" × ", "×") in worked.replace(" × ", "×"), one
        if question.get("answer"):
            answers += 1
            assert plain(question["answer"]) in key
            assert plain(question["answer"]) in worked
            for end in question["accepted"]:
                assert _NUMBER.findall(end)[0] in scheme
    assert answers >= 4


@pytest.mark.parametrize("name", ["questions", "scheme", "answers", "marking"])
def test_every_number_stands_in_the_document_as_often_as_in_the_text_form(name: str) -> None:
    sheet = sheets()[name]
    told = (one.summary for one in inside(sheet.blocks) if isinstance(one, Table))  # in Word an alternative text
    running = " ".join((sheet.header, sheet.version, sheet.code, *told))
    wanted = Counter(_NUMBER.findall(renderer("text").render(sheet).decode()))
    found = Counter(_NUMBER.findall(" ".join((read()[name].whole, running))))
    assert found == wanted


def test_every_number_of_the_tables_of_a_report_stands_in_the_document() -> None:
    """Charts are pictures in Word, their numbers in its alternative text; everything else is text."""
    tables = [one for one in inside(sheets()["report"].blocks) if isinstance(one, Table)]
    wanted = Counter(
        number
        for table in tables
        for row in table.rows
        for cell in row
        for line in cell.lines
        for number in _NUMBER.findall(plain_line(line))
    )
    found = Counter(_NUMBER.findall(read()["report"].whole))
    assert wanted
    assert not wanted - found


@pytest.mark.parametrize("name", ["scaffolded", "scheme", "worked", "everything"])
def test_every_line_of_working_is_read_as_it_was_written(name: str) -> None:
    document = read()[name]
    wanted = "".join(plain_line((one,)) for one in inside(sheets()[name].blocks) if isinstance(one, Maths))
    wanted = _GAPS.sub("", wanted)
    assert document.unread == []
    assert _GAPS.sub("", "".join(document.equations)) == wanted
    assert len(wanted) > 10


def test_every_equation_fits_the_cell_that_it_stands_in() -> None:
    column = PageLook(wide=False, pupil=False).column
    rooms: list[float] = []
    for table in (one for one in inside(sheets()["scheme"].blocks) if isinstance(one, Table)):
        for row in table.rows:
            for cell, share in zip(row, table.widths, strict=True):
                room = column * table.width * share / fsum(table.widths) - 2 * CELL_SIDE
                for line in cell.lines:
                    for maths in (one for one in line if isinstance(one, Maths)):
                        pieces = [maths.items] if len(line) == 1 else stretches(maths.items)
                        rooms += [room for piece in pieces for _ in broken(piece, room, 9.5)]
    assert len(rooms) > 60
    assert [(wide, room) for wide, room in zip(read()["scheme"].widths, rooms, strict=True) if wide > room] == []


def test_every_picture_is_told_in_words() -> None:
    figures = [one for one in inside(sheets()["worked"].blocks) if isinstance(one, Figure)]
    assert len(figures) > 4
    assert len(read()["worked"].pictures) == len(figures)
    for document in read().values():
        assert all(len(told) > 2 for told in document.pictures)


def test_pages_are_about_as_many_as_those_of_the_pdf() -> None:
    for name, document in printed().items():
        pages = len(document.pages)
        of_pdf = len(pypdf.PdfReader(io.BytesIO(renderer("pdf").render(sheets()[name]))).pages)
        assert 0.75 * of_pdf - 0.5 <= pages <= 1.25 * of_pdf + 1, name


def test_the_number_of_pages_stands_at_the_foot_of_each() -> None:
    for document in printed().values():
        for number, page in enumerate(document.pages, 1):
            assert f"page {number} of {len(document.pages)}" in plain(page.extract_text())


def test_a_data_sheet_lies_on_its_side_on_one_page() -> None:
    (page,) = printed()["data"].pages
    assert page.mediabox.width > page.mediabox.height
    assert "Og" in page.extract_text()


def test_marks_stand_at_the_right_end_of_every_demand() -> None:
    places = []

    def seen(text: str, _: object, matrix: list[float], *__: object) -> None:
        if re.fullmatch(r"\[\d+\]", text.strip()):
            places.append(matrix[4])

    for page in printed()["questions"].pages:
        page.extract_text(visitor_text=seen)
    marks = [part.marks for block in sheets()["questions"].blocks for part in getattr(block, "parts", ()) if part.marks]
    assert len(places) == len(marks)


def test_no_number_is_parted_from_its_unit() -> None:
    for name in ("questions", "scheme", "worked"):
        text = "\n".join(page.extract_text() for page in printed()[name].pages)
        for one in inside(sheets()[name].blocks):
            if isinstance(one, Amount) and one.quantity.unit.text in ("g", "mol", "mol dm⁻³"):
                assert not re.search(rf"(?<![\d.]){re.escape(str(one.quantity.number))}\s*\n\s*(?:g|mol)\b", text)
