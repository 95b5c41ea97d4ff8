"""Where things land on the pages: what stays together, what is repeated, what happens to content that is too big."""

from __future__ import annotations

import io
import random
import re
from decimal import Decimal
from itertools import pairwise
from typing import Any, NamedTuple

import pypdf
import pytest
from reportlab.pdfbase.ttfonts import TTFont

from molewright.chem.quantity import Quantity
from molewright.chem.units import parse_unit
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
    Line,
    Maths,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render.pdf import render
from shared.for_each import for_each, for_every

MM = 72 / 25.4
PAGE = (210 * MM, 297 * MM)


def words(text: str, **how: bool) -> Line:
    return (Text(text, **how),)


def cell(text: str) -> Cell:
    return Cell((words(text),))


def amount(number: str, unit: str, scientific: bool = False) -> Amount:
    return Amount(Quantity(Decimal(number), parse_unit(unit), scientific))


def sheet(*blocks: Any, **named: Any) -> Sheet:
    return Sheet(
        title="Title", subject="Subject", kind=named.pop("kind", "questions"), code="CODE1", blocks=blocks, **named
    )


def read(made: Sheet) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(made)), strict=True)


def texts(made: Sheet) -> list[str]:
    return [page.extract_text() for page in read(made).pages]


class Piece(NamedTuple):
    text: str
    x: float
    y: float
    right: float


@pytest.fixture(scope="module")
def ruler() -> Any:
    """FiraGO as reportlab measures it: an independent measure of where a run of text ends."""
    from pymupdf_fonts import FiraGO_Bold, FiraGO_Italic, FiraGO_Regular

    named = {"Regular": FiraGO_Regular, "Bold": FiraGO_Bold, "Italic": FiraGO_Italic}
    return {name: TTFont(f"ruler-{name}", io.BytesIO(face.fontbuffer)) for name, face in named.items()}


def pieces(page: pypdf.PageObject, ruler: Any) -> list[Piece]:
    """Runs of text with their place on the page, as pypdf finds them."""
    found: list[Piece] = []

    def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        if text.strip():
            name = str(font["/BaseFont"]).rpartition("-")[2] if font else "Regular"
            x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
            stripped = text.strip("\n").rstrip()
            found.append(Piece(stripped, x, y, x + ruler[name].stringWidth(stripped, size)))

    page.extract_text(visitor_text=visit)
    return found


def on_page(pages: list[str], marker: str) -> int:
    """The page that holds a marker, which must stand on one page only."""
    found = [number for number, text in enumerate(pages) if re.search(rf"\b{marker}\b", text)]
    assert len(found) == 1, (marker, found)
    return found[0]


def drawn_question(number: int, rng: random.Random) -> QuestionBlock:
    """A question of a random size; every piece carries a marker of its own."""
    parts = []
    for index in range(rng.randint(1, 5)):
        tag = f"{number}x{index}"
        demand = f"demand{tag} " + "word " * rng.randint(0, 40) + f"enddemand{tag}"
        inner: list[Any] = [Paragraph(words(f"inner{tag}"))] if rng.random() < 0.3 else []
        inner.append(Working(height_mm=rng.randint(5, 90), unit=f"unit{tag}", ruled=rng.random() < 0.3))
        parts.append(Part(f"({'abcde'[index]})", words(demand), tuple(inner), rng.randint(1, 5)))
    stem: list[Any] = [Paragraph(words(f"stem{number} " + "word " * rng.randint(5, 120)))]
    if rng.random() < 0.5:
        rows = tuple((cell(f"row{number}x{row}"), cell("24.75")) for row in range(rng.randint(1, 5)))
        stem.append(Table(widths=(2, 1), heading=(cell("quantity"), cell("reading")), rows=rows))
    return QuestionBlock(
        number=number, stem=tuple(stem), parts=tuple(parts), marks=7, reminder=words(f"reminder{number}")
    )


@pytest.mark.thorough
@for_each("seed", range(40))
def test_parts_stay_whole_and_stem_and_total_stay_with_their_part(seed: int) -> None:
    rng = random.Random(seed)
    questions = [drawn_question(number, rng) for number in range(1, rng.randint(3, 7))]
    pages = texts(sheet(Heading(2, words("Section")), *questions))
    assert on_page(pages, "Section") == on_page(pages, "stem1")
    for question in questions:
        number = question.number
        stem = on_page(pages, f"stem{number}")
        where = []
        for index in range(len(question.parts)):
            markers = [f"{name}{number}x{index}" for name in ("demand", "enddemand", "unit")]
            found = {on_page(pages, marker) for marker in markers}
            assert len(found) == 1, markers
            where.append(found.pop())
        assert where == sorted(where)
        assert where[0] - 1 <= stem <= where[0]  # parted only where half a page would stay empty: test_filling
        assert f"Question {number}: 7 marks in all" in pages[where[-1]]
        again = [index for index, text in enumerate(pages) if f"Question {number} continued: reminder{number}" in text]
        assert again == sorted(set(where) - {stem})


@for_each("lines", range(10, 40, 2))
def test_a_table_to_fill_in_stays_with_the_part_after_it(lines: int) -> None:
    filler = [Paragraph(words("line")) for _ in range(lines)]
    rows = tuple((cell(f"row{n}"), cell("")) for n in range(4))
    lead = Part("", words("Fillin"), (Table(widths=(1, 1), heading=(cell("substance"), cell("amount")), rows=rows),))
    parts = tuple(Part(f"({x})", words(f"demand{x}"), (Working(height_mm=14),), 1) for x in "abcdefgh")
    pages = texts(
        sheet(*filler, QuestionBlock(number=1, stem=(Paragraph(words("stem1")),), parts=(lead, *parts), marks=8))
    )
    assert len({on_page(pages, said) for said in ("stem1", "Fillin", "row0", "row3", "demanda")}) == 1


def test_small_question_moves_whole_rather_than_leave_its_last_part_behind() -> None:
    filler = [Paragraph(words("line")) for _ in range(27)]
    small = QuestionBlock(
        number=1,
        stem=(Paragraph(words("stem1")),),
        parts=tuple(Part(f"({x})", words(f"demand{x}"), (Working(height_mm=20),)) for x in "abc"),
        marks=3,
    )
    pages = texts(sheet(*filler, small))
    assert len(pages) == 2
    assert {on_page(pages, f"demand{x}") for x in "abc"} == {1}


def test_running_matter_counts_pages_and_turns_over_on_odd_pages_only_while_more_follows() -> None:
    blocks = [Paragraph(words("one")), NewPage(), Paragraph(words("two")), NewPage(), Paragraph(words("three"))]
    pages = texts(sheet(*blocks, header="Set 7", version="Version B", turn_over=True))
    assert len(pages) == 3
    for number, text in enumerate(pages, 1):
        assert f"page {number} of 3" in text
        assert "CODE1" in text
        assert "Set 7" in text
        assert "Version B" in text
    assert ["Turn over" in text for text in pages] == [True, False, False]


def test_two_page_breaks_in_a_row_leave_no_empty_page() -> None:
    pages = texts(sheet(NewPage(), Paragraph(words("one")), NewPage(), NewPage(), Paragraph(words("two")), NewPage()))
    assert len(pages) == 2


def test_heading_never_stands_alone_at_the_foot_of_a_page() -> None:
    for lines in range(25, 45):
        filler = [Paragraph(words("line")) for _ in range(lines)]
        pages = texts(sheet(*filler, Heading(2, words("Aheading")), Paragraph(words("follower"))))
        assert on_page(pages, "Aheading") == on_page(pages, "follower")


def test_heading_row_is_repeated_and_no_row_is_split() -> None:
    rows = tuple((cell(f"first{n}"), Cell((words(f"second{n}"), words(f"third{n}")))) for n in range(60))
    pages = texts(sheet(Table(widths=(1, 1), heading=(cell("Headleft"), cell("Headright")), rows=rows, whole=False)))
    assert len(pages) > 2
    for text in pages:
        assert text.count("Headleft") == 1
        assert text.count("Headright") == 1
    for n in range(60):
        assert len({on_page(pages, f"{name}{n}") for name in ("first", "second", "third")}) == 1


def test_a_further_page_says_whose_rows_it_holds_for_the_eye_only() -> None:
    rows = tuple((cell(f"row{n}"),) for n in range(90))
    made = Table(widths=(1,), heading=(cell("Head"),), rows=rows, whole=False, continued=words("Whose"))
    first, *others = texts(sheet(made, kind="scheme"))
    assert len(others) > 1
    assert "Whose" not in first
    assert all(page.index("Whose") < page.index("Head") < page.index("row") for page in others)


def test_the_rows_of_a_table_stay_joined_where_a_page_is_filled(ruler: Any) -> None:
    lead = [Paragraph(words("line")) for _ in range(6)]
    made = Table(widths=(1,), heading=(), rows=tuple((cell(f"row{n}"),) for n in range(34)), whole=False)
    fresh = Together(tuple(Paragraph(words("kept")) for _ in range(20)))
    for page in read(sheet(*lead, made, fresh, kind="scheme")).pages:
        ys = sorted(piece.y for piece in pieces(page, ruler) if piece.text.startswith("row"))
        assert len({round(upper - lower, 1) for lower, upper in pairwise(ys)}) <= 1


@pytest.mark.parametrize(("name", "size"), [("Volume of acid", 24.0), ("Tetrabromophenolphthaleinindicator", 14.4)])
def test_a_narrow_column_takes_width_from_its_neighbour_before_large_type_is_made_smaller(
    name: str, size: float
) -> None:
    row = (Cell((words(name),), head=True), Cell(((amount("0.0445", "mol dm⁻³"),),)))
    made = sheet(Table(widths=(5, 1), heading=(), rows=(row,)), look="extra-large")
    content = read(made).pages[0].get_contents().get_data()
    sizes = [float(found) for found in re.findall(rb"/F[01] ([\d.]+) Tf", content.partition(b"/Artifact <<")[0])]
    assert min(sizes) >= size
    assert (min(sizes) == 24.0) == (size == 24.0)


def test_row_in_keep_rows_stays_with_the_row_above() -> None:
    for before in range(28, 40):
        rows = tuple((cell(f"row{n}"),) for n in range(before + 8))
        keep = frozenset(range(before - 3, before + 5))
        pages = texts(
            sheet(Table(widths=(1,), heading=(cell("Head"),), rows=rows, whole=False, keep_rows=keep), kind="scheme")
        )
        assert len({on_page(pages, f"row{n}") for n in range(before - 4, before + 5)}) == 1


def test_whole_table_moves_to_the_next_page_rather_than_split() -> None:
    filler = [Paragraph(words("line")) for _ in range(30)]
    rows = tuple((cell(f"row{n}"),) for n in range(10))
    pages = texts(sheet(*filler, Table(widths=(1,), heading=(cell("Head"),), rows=rows)))
    assert {on_page(pages, f"row{n}") for n in range(10)} == {1}


def test_blocks_held_together_share_a_page() -> None:
    for lines in range(20, 40):
        filler = [Paragraph(words("line")) for _ in range(lines)]
        pages = texts(sheet(*filler, Together(tuple(Paragraph(words(f"held{n}")) for n in range(8)))))
        assert len({on_page(pages, f"held{n}") for n in range(8)}) == 1


def test_marks_stand_at_the_right_end_of_the_last_line_of_each_demand(ruler: Any) -> None:
    long = "Calculate the amount, in mol, of the acid that is left over in the volumetric flask. " * 2
    parts = (Part("(a)", words("Short."), (), 1), Part("(b)", words(f"{long}lastword"), (), 2))
    found = pieces(
        read(sheet(QuestionBlock(number=1, stem=(Paragraph(words("stem")),), parts=parts, marks=3))).pages[0], ruler
    )
    brackets = {piece.text: piece for piece in found if re.fullmatch(r"\[\d\]", piece.text)}
    assert brackets["[1]"].right == pytest.approx(brackets["[2]"].right, abs=0.5)
    assert brackets["[2]"].right == pytest.approx(PAGE[0] - 18 * MM, abs=0.5)
    last = next(piece for piece in found if "lastword" in piece.text)
    assert brackets["[2]"].y == pytest.approx(last.y, abs=0.1)
    labels = [piece.x for piece in found if re.match(r"\([ab]\)", piece.text)]
    assert labels[0] == pytest.approx(labels[1])


def test_part_label_number_and_demand_share_a_baseline(ruler: Any) -> None:
    question = QuestionBlock(number=7, stem=(), parts=(Part("", words("Find it."), (), 1),), marks=1)
    found = pieces(read(sheet(question)).pages[0], ruler)
    line = {piece.text: piece.y for piece in found if piece.text in ("7", "Find it.", "[1]")}
    assert len(line) == 3
    assert max(line.values()) - min(line.values()) < 0.1


def test_answer_rule_is_followed_by_its_unit_at_the_right_margin(ruler: Any) -> None:
    page = read(sheet(Working(height_mm=20, unit="mol dm⁻³", label=words("x =")))).pages[0]
    found = {piece.text: piece for piece in pieces(page, ruler)}
    assert found["mol dm⁻³"].right == pytest.approx(PAGE[0] - 18 * MM, abs=0.6)
    content = page.get_contents()
    assert content is not None
    rule = re.search(rb"\[0 2.8\] 0 d ([\d.]+) -?[\d.]+ m ([\d.]+)", content.get_data())
    assert rule is not None
    assert float(rule[2]) - float(rule[1]) == pytest.approx(65 * MM, abs=1.5)
    assert found["x ="].y == pytest.approx(found["mol dm⁻³"].y, abs=0.1)


def test_maths_breaks_before_an_equals_sign_and_nowhere_else(ruler: Any) -> None:
    product = (amount("0.105", "mol dm⁻³"), Sign("×"), amount("24.75", "cm³"), Sign("−"), amount("1.00", "mol"))
    line = Maths((Symbol("n", "NaOH"), Sign("="), *product, Sign("="), *product, Sign("="), *product))
    found = pieces(read(sheet(Paragraph((line,)))).pages[0], ruler)
    body = [piece for piece in found if 100 < piece.y < 780]
    starts = {}
    for piece in body:
        starts.setdefault(round(piece.y), piece)
    firsts = [piece.text.strip() for _, piece in sorted(starts.items(), reverse=True)]
    assert len(firsts) > 1
    assert firsts[0].startswith("n")
    assert all(text.startswith("=") for text in firsts[1:])


def test_number_and_unit_formula_and_power_of_ten_never_part(ruler: Any) -> None:
    for filler in range(60, 110):
        line = (Text("x" * filler + " "), amount("0.00260", "mol dm⁻³", True), Text(" "), Chem("Na2CO3.10H2O", "aq"))
        text = read(sheet(Paragraph(line))).pages[0].extract_text()
        assert re.search(r"2\.60.×.10⁻³.mol.dm⁻³", text), text
        assert "Na₂CO₃·10H₂O(aq)" in text


def test_equation_that_fits_a_line_is_not_broken() -> None:
    equation = Equation(
        (Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")), (Term("1", "CaCl2", "aq"), Term("1", "CO2", "g"))
    )
    for filler in range(20, 80, 3):
        text = read(sheet(Paragraph((Text("y" * filler + " "), equation)))).pages[0].extract_text()
        assert "CaCO₃(s) + 2HCl(aq) → CaCl₂(aq) + CO₂(g)" in text.replace("\u00a0", " ")


DEEP: Any = Text("1")
for _ in range(40):
    DEEP = Over((Text("1"), Sign("+"), DEEP), (Text("2"),))
WIDE_EQUATION = Equation(
    tuple(Term("12", "Na2S2O3.5H2O", "aq") for _ in range(9)), (Term("1", "K4Fe(CN)6.3H2O", "aq"),) * 9
)
NAME = "Maximiliana-Theodora Quernstone-Featherstonehaugh-Llanfairpwll"
LONG = "m" * 200
HUGE: dict[str, tuple[Any, ...]] = {
    "word": (Paragraph(words(LONG)), Heading(1, words(LONG)), Items((words(LONG),)), ClosingLine(LONG)),
    "very long word": (Paragraph(words("W" * 20000)),),
    "names": (
        FrontBlock(
            title=NAME,
            subtitle=NAME,
            fields=("Name", "Class", NAME),
            filled=(("Name", NAME), ("Class", LONG)),
            marks=NAME,
            time=NAME,
        ),
    ),
    "a cover of names": (
        FrontBlock(
            title=LONG, subtitle=NAME, fields=(NAME, LONG, NAME), filled=((NAME, LONG),), above=LONG, cover=True
        ),
    ),
    "a cover of nothing": (FrontBlock(title="", subtitle="", fields=(), cover=True), NewPage(), Paragraph(words("x"))),
    "cells": (
        Table(
            widths=(1, 9),
            heading=(cell(LONG), cell("x")),
            rows=((cell(LONG), cell("y")), (Cell(((Chem("Na2S2O3.5H2O"),),)), cell("z"))),
        ),
    ),
    "many columns": (Table(widths=(1,) * 20, heading=(cell("head"),) * 20, rows=((cell("24.75"),) * 20,)),),
    "row taller than a page": (
        Table(widths=(1, 1), heading=(cell("head"), cell("b")), rows=((cell("word " * 3000), cell("word " * 900)),)),
    ),
    "paragraph of pages": (Paragraph(words("word " * 6000)), Paragraph(words("word " * 1500), "caution")),
    "part taller than a page": (
        QuestionBlock(
            number=1,
            stem=(Paragraph(words("w " * 300)),),
            parts=(Part("(a)", words("find"), (Working(height_mm=900, unit="g"),), 3),),
            marks=3,
        ),
    ),
    "part of text": (Part("(a)", words("find " * 4000), (Working(height_mm=50, ruled=True),), 3),),
    "together": (Together(tuple(Paragraph(words(f"held{n}")) for n in range(120))),),
    "fractions": (Paragraph((Maths((DEEP,)), Text(" after"))),),
    "equation": (Paragraph((WIDE_EQUATION,)),),
    "maths": (Paragraph((Maths((Symbol("n", "HCl"), *(Sign("+"), Text("left over " * 12)) * 9)),)),),
    "flow": (
        FlowFigure(
            tuple(FlowBox(words(LONG), (words("flask " * 30),)) for _ in range(7)), tuple(words(LONG) for _ in range(6))
        ),
        FlowFigure(tuple(FlowBox(words("flask " * 500), ()) for _ in range(9)), ()),
    ),
    "bar": (BarFigure(words("total " * 40), tuple(BarPiece(0.1, words(f"{LONG} piece")) for _ in range(10))),),
    "reminder": (
        QuestionBlock(
            number=1,
            stem=(Paragraph(words("stem")),),
            parts=tuple(Part(f"({n})", words("find"), (Working(height_mm=200),)) for n in "abc"),
            marks=3,
            reminder=words("essential " * 2000),
        ),
    ),
    "label": (
        Working(height_mm=20, rule_mm=500, unit=LONG, label=words("label " * 50)),
        Working(height_mm=-5, rule_mm=-5),
        Working(height_mm=5000, ruled=True),
    ),
    "number": (QuestionBlock(number=123456, stem=(), parts=(Part("(viii)", (), (), 1000),), marks=0),),
    "indent": (
        Paragraph(words("word " * 50), indent_mm=4000),
        Table(widths=(0, 0), heading=(), rows=((cell("a"), cell("b")),), width=0),
    ),
}


@pytest.mark.thorough
@for_every(kind=["questions", "scheme"], name=HUGE)
def test_too_big_content_comes_out_inside_the_page(name: str, kind: str, ruler: Any) -> None:
    reader = read(sheet(*HUGE[name], kind=kind, header=NAME * 3, version=LONG))
    assert 1 <= len(reader.pages) <= 60
    for page in reader.pages:
        for piece in pieces(page, ruler):
            assert piece.x > 12 * MM, piece
            assert piece.right < PAGE[0] - 12 * MM, piece
            assert 12 * MM < piece.y < PAGE[1] - 12 * MM, piece


def test_no_letter_of_a_long_word_is_lost() -> None:
    for kind in ("questions", "scheme"):
        made = sheet(
            Paragraph(words("Q" * 5000)),
            Table(widths=(1, 30), heading=(), rows=((cell("Z" * 400), cell("y")),)),
            kind=kind,
        )
        text = "".join(texts(made))
        assert text.count("Q") == 5000
        assert text.count("Z") == 400


def test_no_word_of_a_row_taller_than_a_page_is_lost() -> None:
    row = (cell("left " * 1500), cell("right " * 400))
    text = "".join(texts(sheet(Table(widths=(1, 1), heading=(cell("head"), cell("head")), rows=(row,)))))
    assert text.count("left") == 1500
    assert text.count("right") == 400


def test_part_taller_than_a_page_gives_up_blank_space_and_stays_whole() -> None:
    part = Part(
        "(a)", words("demandmark"), (Working(height_mm=180, unit="unitone"), Working(height_mm=180, unit="unittwo")), 3
    )
    pages = texts(sheet(QuestionBlock(number=1, stem=(), parts=(part,), marks=0)))
    assert {on_page(pages, marker) for marker in ("demandmark", "unitone", "unittwo")} == {0}


def question(*blanks: float) -> QuestionBlock:
    parts = tuple(
        Part(
            f"({chr(97 + n)})",
            words("find"),
            (Working(height_mm=blank, rule_mm=65.0, least_mm=0.7 * blank, most_mm=1.5 * blank),),
            1,
        )
        for n, blank in enumerate(blanks)
    )
    return QuestionBlock(number=1, stem=(Paragraph(words("stem")),), parts=parts, marks=len(blanks))


@pytest.mark.parametrize(("blanks", "pages"), [((140, 30), 1), ((150, 90), 2), ((100, 10), 1)])
def test_question_that_would_run_over_by_a_little_gives_up_blank_space_wherever_it_starts(
    blanks: tuple[float, ...], pages: int
) -> None:
    """Below 60 mm of text: 170 mm of blank space can give way so far, 240 mm would have to give way by more than it may."""
    above = Together(tuple(Paragraph(words("front")) for _ in range(12)))
    reader = read(sheet(above, question(*blanks)))
    assert len(reader.pages) == pages
    assert "Question 1: " in reader.pages[-1].extract_text()


def test_a_title_never_stands_alone() -> None:
    """A first question that fits below the title only between its parts is cut there rather than sent to a second page."""
    above = Together(tuple(Paragraph(words("front")) for _ in range(14)))
    reader = read(sheet(above, question(100, 100, 100)))
    assert "stem" in reader.pages[0].extract_text()
    assert "(a)" in reader.pages[0].extract_text()


def test_items_and_paragraphs_keep_the_left_edge_of_the_column(ruler: Any) -> None:
    found = pieces(read(sheet(Paragraph(words("plain")), Items((words("point"),)))).pages[0], ruler)
    edges = {piece.text: piece.x for piece in found}
    assert edges["plain"] == pytest.approx(23 * MM, abs=0.1)
    assert edges["point"] > edges["plain"]


@pytest.mark.parametrize(
    "fields", [("Name", "Candidate number", "Class", "Date"), ("Name", "Class", "Candidate number")]
)
def test_the_label_of_a_field_stands_on_one_line(fields: tuple[str, ...]) -> None:
    (text,) = texts(sheet(FrontBlock(title="Mock", subtitle="", fields=fields)))
    assert "Candidate number" in text.replace("\u00a0", " ")
