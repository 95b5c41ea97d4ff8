"""The PDF as a file: read back by pypdf, an independent reader, and compared with what ISO 32000-1 asks of it."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from decimal import Decimal
from typing import Any

import pypdf
import pytest

from molewright.chem.quantity import Quantity
from molewright.chem.units import parse_unit
from molewright.errors import Mistake
from molewright.nodes.blocks import (
    Cell,
    ClosingLine,
    FrontBlock,
    Heading,
    Items,
    NewPage,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    Together,
    Working,
)
from molewright.nodes.figures import BarFigure, BarPiece, FlowBox, FlowFigure
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Line,
    Maths,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render import FORMS, renderer
from molewright.render.pdf import SUFFIX, render


def words(text: str) -> Line:
    return (Text(text),)


def cell(text: str) -> Cell:
    return Cell((words(text),))


def amount(number: str, unit: str = "", scientific: bool = False) -> Amount:
    return Amount(Quantity(Decimal(number), parse_unit(unit), scientific))


EQUATION = Equation(
    (Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")), (Term("1", "CaCl2", "aq"), Term("1", "CO2", "g"))
)
WORKING = Maths(
    (
        Symbol("n", "NaOH"),
        Sign("="),
        Over((amount("0.105", "mol dm⁻³"), Sign("×"), amount("24.75", "cm³")), (Text("1000"),)),
        Sign("="),
        amount("0.00260", "mol", True),
    )
)
TABLE = Table(
    widths=(2, 1),
    heading=(cell("quantity"), cell("reading")),
    rows=((Cell((words("titre"),), head=True), cell("24.75")), (cell("mean"), Cell(()))),
    summary="Burette readings",
)
BLANK = Maths((Sign("("), Symbol("M", "", "hydrate", "r"), Sign("−"), Gap(20, "g"), Sign(")")))
EVERY_BLOCK = (
    FrontBlock(
        title="Fronttitle",
        subtitle="topicline",
        fields=("Name", "Class"),
        filled=(("Name", "Ilsa Quern"),),
        marks="20 marks",
        time="30 minutes",
        points=(words("point"),),
    ),
    Heading(1, words("Firstheading")),
    Paragraph(
        (Text("plain "), amount("25.0", "cm³"), Text(" of "), Chem("Na2CO3.10H2O"), Text(": "), EQUATION, Gap(20, "g"))
    ),
    *(Paragraph(words(f"tone{tone}"), tone) for tone in ("note", "caution", "lead", "centred")),
    Items((words("bullet one"), (Symbol("M", "CaCO3"),))),
    Heading(2, words("Secondheading")),
    Heading(3, words("Thirdheading")),
    Together((Paragraph((WORKING,)), TABLE)),
    FlowFigure(
        (FlowBox(words("flask"), (words("250.0 cm³"),)), FlowBox(words("portion"), ())),
        (words("pipette"),),
        "What went where",
    ),
    BarFigure(words("total"), (BarPiece(0.4, words("reacted")), BarPiece(0.6, words("left"), True)), "Two pieces"),
    QuestionBlock(
        number=1,
        stem=(Paragraph(words("stemwords")),),
        parts=(
            Part(
                "(a)",
                words("demandwords"),
                (Working(height_mm=20, unit="mol"), Working(height_mm=20, rule_mm=0, ruled=True)),
                3,
            ),
            Part("(b)", (BLANK,)),
        ),
        marks=3,
        reminder=words("reminder"),
    ),
    Part("", words("lonely part"), (Working(height_mm=10, rule_mm=40, unit="%", label=words("x =")),), 1),
    NewPage(),
    ClosingLine("Endline"),
)
SHEET = Sheet(
    title="Limestone 25.0\u00a0cm³",
    subject="Titration",
    kind="questions",
    code="K7-MPQ4X",
    blocks=EVERY_BLOCK,
    header="Set 7",
    version="Version A",
)


def read(sheet: Sheet) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(sheet)), strict=True)


def simple(*blocks: Any, **named: Any) -> Sheet:
    return Sheet(
        title="Title", subject="Subject", kind=named.pop("kind", "questions"), code="CODE1", blocks=blocks, **named
    )


@pytest.fixture(scope="module")
def reader() -> pypdf.PdfReader:
    return read(SHEET)


@pytest.fixture(scope="module")
def catalog(reader: pypdf.PdfReader) -> Any:
    return reader.trailer["/Root"]


def tree(element: Any) -> list[Any]:
    """The structure elements below one, in tree order."""
    found = []
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object()
        if isinstance(kid, dict) and "/S" in kid:
            found += [kid, *tree(kid)]
    return found


def test_form_pdf_is_this_renderer_and_its_suffix_is_pdf() -> None:
    assert FORMS["pdf"] == "molewright.render.pdf"
    assert renderer("pdf").SUFFIX == SUFFIX == ".pdf"


def test_unknown_form_is_a_mistake_that_names_the_nearest() -> None:
    with pytest.raises(Mistake) as caught:
        renderer("pfd")
    assert "pdf" in caught.value.near


def test_every_kind_of_block_comes_out_in_reading_order(reader: pypdf.PdfReader) -> None:
    text = "\n".join(page.extract_text() for page in reader.pages)
    order = [
        "Fronttitle",
        "topicline",
        "Quern",
        "Class",
        "point",
        "Firstheading",
        "plain",
        "tonenote",
        "tonecaution",
        "tonelead",
        "tonecentred",
        "bullet",
        "Secondheading",
        "Thirdheading",
        "NaOH",
        "quantity",
        "24.75",
        "flask",
        "portion",
        "total",
        "reacted",
        "left",
        "stemwords",
        "demandwords",
        "mol",
        "lonely",
        "Endline",
    ]
    places, start = [], 0
    for word in order:
        assert word in text[start:], f"{word} is missing after {text[max(0, start - 60) : start]!r}"
        start = text.index(word, start) + len(word)
        places.append(start)
    assert places == sorted(places)


def test_equal_sheets_give_equal_bytes_whatever_was_drawn_between() -> None:
    first = render(SHEET)
    render(simple(Paragraph(words("Ωж other characters")), kind="scheme"))
    assert render(SHEET) == first


@pytest.mark.thorough
def test_bytes_do_not_hang_on_the_seed_of_hashes() -> None:
    code = (
        "import hashlib, sys; from molewright.render.pdf import render; from molewright.nodes.blocks import *;"
        "from molewright.nodes.inline import *;"
        "line = (Text('a Ω b', bold=True), Text('c', italic=True));"
        "s = Sheet(title='t', subject='s', kind='key', code='c', blocks=(Paragraph(line),));"
        "print(hashlib.sha256(render(s)).hexdigest())"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1


def test_different_sheets_have_different_identities() -> None:
    one, other = read(simple(Paragraph(words("one")))), read(simple(Paragraph(words("other"))))
    assert one.trailer["/ID"] != other.trailer["/ID"]


def test_file_says_language_title_and_that_it_is_tagged(reader: pypdf.PdfReader, catalog: Any) -> None:
    assert catalog["/Lang"] == "en-GB"
    assert catalog["/MarkInfo"]["/Marked"] == True  # noqa: E712  (a PDF boolean)
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert reader.metadata is not None
    assert reader.metadata.title == "Limestone 25.0 cm³"
    packet = catalog["/Metadata"].get_data().decode("utf-8")
    assert "Limestone 25.0 cm³" in packet
    assert "/Filter" not in catalog["/Metadata"], "archives look for the packet without unpacking anything"


def test_title_is_escaped_in_the_metadata() -> None:
    from xml.etree import ElementTree

    packet = (
        read(Sheet(title="a < b & c </rdf:li>", subject="", kind="answers", code="c", blocks=()))
        .trailer["/Root"]["/Metadata"]
        .get_data()
    )
    titles = [node.text for node in ElementTree.fromstring(packet.decode().strip()).iter() if node.text]
    assert "a < b & c </rdf:li>" in titles


def test_all_fonts_are_embedded_subsets(reader: pypdf.PdfReader) -> None:
    names = set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            names.add(font["/BaseFont"])
            assert re.fullmatch(r"/[A-Z]{6}\+FiraGO-\w+", font["/BaseFont"])
            assert font["/FontDescriptor"]["/FontFile2"].get_data()[:4] == b"\x00\x01\x00\x00"
            assert "/ToUnicode" in font
    assert len(names) >= 3


def test_structure_has_the_expected_roles(catalog: Any) -> None:
    roles = [element["/S"] for element in tree(catalog["/StructTreeRoot"])]
    wanted = "Document H1 H2 H3 P L LI Lbl LBody Table TR TH TD Formula Figure Sect"
    assert {f"/{role}" for role in wanted.split()} <= set(roles)
    assert roles[0] == "/Document"


def test_formulae_and_figures_are_told_in_words(catalog: Any) -> None:
    elements = tree(catalog["/StructTreeRoot"])
    formulae = [element["/Alt"] for element in elements if element["/S"] == "/Formula"]
    assert (
        "n of N a O H equals fraction 0.105 moles per cubic decimetre times 24.75 cubic centimetres over 1000 "
        "end of fraction equals 2.60 times 10 to the minus 3 moles"
    ) in formulae
    assert any("gives" in words and "solid" in words for words in formulae)
    figures = [element for element in elements if element["/S"] == "/Figure"]
    assert [figure["/Alt"] for figure in figures] == ["What went where", "Two pieces"]
    for figure in figures:
        left, bottom, right, top = (float(edge) for edge in figure["/A"]["/BBox"])
        assert 30 < left < right < 560
        assert 30 < bottom < top < 810


def test_heading_cells_say_what_they_head_and_empty_cells_stay_in_the_row(catalog: Any) -> None:
    elements = tree(catalog["/StructTreeRoot"])
    table = next(element for element in elements if element["/S"] == "/Table")
    assert table["/A"]["/Summary"] == "Burette readings"
    rows = [[kid.get_object() for kid in row.get_object()["/K"]] for row in table["/K"]]
    assert [[each["/S"] for each in row] for row in rows] == [["/TH", "/TH"], ["/TH", "/TD"], ["/TD", "/TD"]]
    assert [each["/A"]["/Scope"] for each in (*rows[0], rows[1][0])] == ["/Column", "/Column", "/Row"]


def test_tree_order_is_the_order_of_the_marks_on_each_page(reader: pypdf.PdfReader, catalog: Any) -> None:
    pages = {page.indirect_reference.idnum: [] for page in reader.pages if page.indirect_reference}

    def collect(element: Any) -> None:
        kids = element.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            kid = kid.get_object()
            if isinstance(kid, int):
                pages[element.raw_get("/Pg").idnum].append(int(kid))
            elif "/MCID" in kid:
                pages[kid.raw_get("/Pg").idnum].append(int(kid["/MCID"]))
            else:
                collect(kid)

    collect(catalog["/StructTreeRoot"])
    assert all(pages.values())
    for number, page in enumerate(reader.pages):
        assert page.indirect_reference is not None
        marks = pages[page.indirect_reference.idnum]
        assert marks == list(range(len(marks)))
        owners = catalog["/StructTreeRoot"]["/ParentTree"]["/Nums"]
        assert owners[2 * number] == page["/StructParents"] == number
        assert len(owners[2 * number + 1].get_object()) == len(marks)


def test_all_content_is_either_marked_or_an_artifact(reader: pypdf.PdfReader) -> None:
    painting = re.compile(r"(TJ|re f|\bS|\bl S)$")
    for page in reader.pages:
        depth = 0
        content = page.get_contents()
        assert content is not None
        for line in content.get_data().decode("ascii").splitlines():
            bare = re.sub(r"\((?:\\.|[^\\()])*\)|<[0-9A-F]+>", "", line)
            depth += len(re.findall(r"\b(?:BDC|BMC)\b", bare))
            if painting.search(bare):
                assert depth > 0, line
            depth -= len(re.findall(r"\bEMC\b", bare))
        assert depth == 0


def test_bookmarks_nest_sections_and_questions(reader: pypdf.PdfReader) -> None:
    def titles(outline: Any) -> list[Any]:
        return [titles(entry) if isinstance(entry, list) else entry.title for entry in outline]

    assert titles(reader.outline) == ["Firstheading", ["Secondheading", ["Question 1"]]]


def test_bookmark_text_of_a_question_is_the_given_one() -> None:
    question = QuestionBlock(number=4, stem=(Paragraph(words("x")),), parts=(), marks=0, bookmark="Question 4: lime")
    assert [entry.title for entry in read(simple(question)).outline] == ["Question 4: lime"]


def test_sheet_without_blocks_is_one_page_with_its_code() -> None:
    reader = read(simple())
    assert len(reader.pages) == 1
    assert "CODE1" in reader.pages[0].extract_text()


@pytest.mark.parametrize("place", ["title", "alt", "summary", "bookmark"])
def test_control_characters_are_refused_outside_the_text_as_well(place: str) -> None:
    bad = "x\u202ey\x00"
    blocks: dict[str, Any] = {
        "title": (),
        "alt": (BarFigure(words("t"), (BarPiece(1, words("p")),), bad),),
        "summary": (Table(widths=(1,), heading=(cell("a"),), rows=(), summary=bad),),
        "bookmark": (QuestionBlock(number=1, stem=(), parts=(), marks=0, bookmark=bad),),
    }
    with pytest.raises(Mistake):
        render(
            Sheet(title=bad if place == "title" else "t", subject="s", kind="answers", code="c", blocks=blocks[place])
        )
