"""Papers that are filled in on screen: fields found again by name, told to a screen reader, and sound once they are filled in."""

from __future__ import annotations

import csv
import io
import logging
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.nodes.blocks import FrontBlock, Paragraph, Part, QuestionBlock, Table, Working
from molewright.nodes.inline import Gap, Maths, Over, Sign, Symbol, Text
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import require_fillable, write_papers
from molewright.render.pdf import render
from molewright.render.pdf.content import dots, dotted
from shared.conforming import faults
from shared.every_node import TITRES, cell, everything, sheet, words

RULE = Working(height_mm=20, unit="mol dm⁻³")
GAPS = Maths((Symbol("n"), Sign("="), Over((Gap(20), Sign("×"), Gap(20)), (Text("1000"),)), Sign("="), Gap(20, "mol")))
FRONT = FrontBlock(title="T", subtitle="", fields=("Name", "Candidate number"), filled=(("Class", "11Y"),))
FIRST = QuestionBlock(
    number=3,
    stem=(Paragraph(words("Some acid.")), TITRES),
    parts=(
        Part("(a)", words("Find it."), (RULE,), 2),
        Part("(b)", words("Fill in."), (Paragraph((GAPS,)),), 1),
        Part("(c)", words("Explain."), (Working(height_mm=24, rule_mm=0, ruled=True),), 2),
        Part("(d)", words("Both."), (Part("(i)", words("x"), (RULE,)), Part("(ii)", words("y"), (RULE, RULE)))),
    ),
    marks=5,
)
ALONE = QuestionBlock(number=4, stem=(Paragraph((Text("In "), Gap(20, "g"), Text(" of it."))),), parts=(), marks=0)
SHEET = sheet(FRONT, FIRST, ALONE, fillable=True)
TOLD = {
    "name": "Name",
    "candidate number": "Candidate number",
    "3 gap 1": "Question 3, titre / cm³, 1",
    "3 gap 2": "Question 3, titre / cm³, 2",
    "3(a) working": "Question 3, part (a), working",
    "3(a)": "Question 3, part (a), answer in mol dm⁻³",
    "3(b) gap 1": "Question 3, part (b), gap 1",
    "3(b) gap 2": "Question 3, part (b), gap 2",
    "3(b)": "Question 3, part (b), answer",
    "3(c)": "Question 3, part (c), answer",
    "3(d)(i) working": "Question 3, part (d)(i), working",
    "3(d)(i)": "Question 3, part (d)(i), answer in mol dm⁻³",
    "3(d)(ii) working": "Question 3, part (d)(ii), working",
    "3(d)(ii)": "Question 3, part (d)(ii), answer in mol dm⁻³",
    "3(d)(ii) working 2": "Question 3, part (d)(ii), working",
    "3(d)(ii) 2": "Question 3, part (d)(ii), answer in mol dm⁻³",
    "4": "Question 4, answer",
}


@pytest.fixture(scope="module")
def reader() -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(SHEET)), strict=True)


def widgets(reader: pypdf.PdfReader) -> list[Any]:
    return [each.get_object() for page in reader.pages for each in page.get("/Annots", [])]


def form_elements(element: Any) -> list[Any]:
    """The Form elements below one, in tree order."""
    found = []
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object()
        if isinstance(kid, dict) and "/S" in kid:
            found += [kid] if kid["/S"] == "/Form" else form_elements(kid)
    return found


def test_names_say_whose_answer_a_field_holds(reader: pypdf.PdfReader) -> None:
    told = {each["/T"]: each["/TU"] for each in widgets(reader)}
    assert told == TOLD
    assert list(told) == list(TOLD), "fields stand in the order of the page"
    assert len(widgets(reader)) == len(told)


def test_a_sheet_that_is_printed_has_no_fields() -> None:
    made = pypdf.PdfReader(io.BytesIO(render(replace(SHEET, fillable=False))), strict=True)
    assert "/AcroForm" not in made.trailer["/Root"]
    assert not widgets(made)


def test_every_field_stands_in_the_structure_tree_in_the_order_of_the_page(reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    elements = form_elements(root)
    held = [element["/K"]["/Obj"]["/T"] for element in elements]
    assert held == [each["/T"] for each in widgets(reader)]
    numbers = root["/ParentTree"]["/Nums"]
    owners = dict(zip(numbers[::2], (one.get_object() for one in numbers[1::2]), strict=True))
    assert list(owners) == sorted(owners)
    for element, each in zip(elements, widgets(reader), strict=True):
        assert owners[each["/StructParent"]] == element
    assert all(page["/Tabs"] == "/S" for page in reader.pages)


def test_ruled_lines_are_one_field_of_several_lines_and_fields_lie_on_the_page(reader: pypdf.PdfReader) -> None:
    lines = {each["/T"] for each in widgets(reader) if each.get("/Ff", 0) & 1 << 12}
    assert lines == {name for name in TOLD if "working" in name} | {"3(c)"}
    for each in widgets(reader):
        left, bottom, right, top = map(float, each["/Rect"])
        assert 30 < left < right < 560
        assert 30 < bottom < top < 810
        assert top - bottom > (40 if each["/T"] in lines else 10)


def test_the_typeface_that_is_typed_in_is_embedded_and_nothing_is_run_or_drawn_anew(reader: pypdf.PdfReader) -> None:
    form = reader.trailer["/Root"]["/AcroForm"]
    (name,) = form["/DR"]["/Font"]
    font = form["/DR"]["/Font"][name]
    assert font["/Encoding"] == "/WinAnsiEncoding"
    assert font["/FontDescriptor"]["/FontFile2"].get_data()[:4] == b"\x00\x01\x00\x00"
    assert "/NeedAppearances" not in form
    for each in widgets(reader):
        assert each["/DA"].startswith(f"{name} ")
        assert {"/A", "/AA", "/V"}.isdisjoint(each)
        assert "/N" in each["/AP"]
        assert each["/F"] == 4


@pytest.mark.parametrize(
    "typed", ["Zoë: 25.0 cm³ × 2", "n = cV\n   = 0.100 × 24.60", "2.60 × 10⁻³ → CO₂", "“left” – 5 µg €"]
)
def test_a_paper_filled_in_by_another_program_still_conforms(typed: str, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL)  # of the tables that an embedded face does without
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(render(SHEET)))
    for page in writer.pages:
        writer.update_page_form_field_values(page, dict.fromkeys(TOLD, typed), auto_regenerate=False)
    out = io.BytesIO()
    writer.write(out)
    assert faults(out.getvalue()) == []
    back = pypdf.PdfReader(out, strict=True).get_form_text_fields(full_qualified_name=True)
    assert back == dict.fromkeys(TOLD, typed)


def test_each_field_that_is_filled_in_shows_its_own_text(caplog: pytest.LogCaptureFixture) -> None:
    """Whoever fills a field writes into the stream that says how it looks: no two fields may share one."""
    caplog.set_level(logging.CRITICAL)
    typed = {name: f"typed {number}" for number, name in enumerate(TOLD)}
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(render(SHEET)))
    for page in writer.pages:
        writer.update_page_form_field_values(page, typed, auto_regenerate=False)
    out = io.BytesIO()
    writer.write(out)
    looks = [widget["/AP"]["/N"] for widget in widgets(pypdf.PdfReader(out))]
    assert len({id(look.get_object()) for look in looks}) == len(looks) == len(typed)
    assert len({look.get_object().get_data() for look in looks}) == len(typed)


def test_every_node_conforms_where_it_is_to_be_filled_in() -> None:
    assert faults(render(replace(everything(), fillable=True))) == []


def test_a_cell_that_is_empty_is_told_by_its_row_and_its_column() -> None:
    table = Table(widths=(1, 1), heading=(), rows=((cell("mass"), cell()),))
    made = pypdf.PdfReader(io.BytesIO(render(sheet(table, fillable=True))), strict=True)
    assert [(each["/T"], each["/TU"]) for each in widgets(made)] == [("gap 1", "mass")]


def test_a_rule_to_write_on_is_found_again() -> None:
    written = f"BT ET\n{dots(10.4, -3.5, 60.2)}\nq 1 J 2 w 0 0 m 1 1 l S Q\n{dots(80, 1, 5)}"
    assert [tuple(round(one, 2) for one in each) for each in dotted(written)] == [(10.4, -3.5, 60.2), (80, 1, 5)]


@pytest.mark.thorough
@pytest.mark.parametrize("level", ["scaffolded", "structured", "stretch"])
def test_every_answer_of_a_paper_has_a_field_of_its_name(level: str, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    for seed in range(1, 4):
        wanted = Wanted(sheets=("questions",), fillable=True)
        folder = tmp_path / str(seed)
        write_papers(PaperSet(bank, Order(seed=seed, level=level, count=8), wanted, plans), folder)
        heading = next(csv.reader(next(folder.glob("*.csv")).read_text("utf-8-sig").splitlines()))
        fields = pypdf.PdfReader(next(folder.glob("*.pdf"))).get_fields() or {}
        answers = [name for name in heading if re.match(r"\d", name)]
        assert len(answers) >= 8
        assert [name for name in answers if name not in fields] == []


@pytest.mark.thorough
def test_pupils_have_a_file_each_to_type_in_and_the_rest_is_joined(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    pupils = (Pupil(name="Ilsa Quern"), Pupil(name="Bram Tollo"))
    papers = PaperSet(
        bank, Order(seed=2, count=1), Wanted(pupils=pupils, fillable=True, sheets=("questions", "answers")), plans
    )
    told = write_papers(papers, tmp_path)
    assert len(list(tmp_path.glob("*-questions.pdf"))) == 2
    assert len(list(tmp_path.glob("*-answers.pdf"))) == 1
    assert any("a file for each pupil to type in" in line for line in summary(papers, told))
    for path in tmp_path.glob("*.pdf"):
        assert bool(pypdf.PdfReader(path).get_fields()) == path.name.endswith("-questions.pdf")
        assert faults(path.read_bytes()) == []


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(fillable=True, forms=("latex",)), "of forms: latex"),
        (Wanted(fillable=True, sheets=("key",)), "of sheets: key"),
        (Wanted(fillable=True, files="joined"), "joined files"),
        (Wanted(fillable=True, answer_space="none"), "no answer space"),
    ],
)
def test_fields_that_nobody_could_type_in_are_refused(wanted: Wanted, said: str) -> None:
    with pytest.raises(Mistake, match=said):
        require_fillable(wanted)


@pytest.mark.thorough
def test_nothing_is_written_where_fields_are_refused(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="joined files"):
        write_papers(
            PaperSet(bank, Order(seed=2, count=1), Wanted(fillable=True, files="joined"), plans), tmp_path / "out"
        )
    assert not (tmp_path / "out").exists()
