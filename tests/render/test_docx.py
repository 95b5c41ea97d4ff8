"""The Word form: what is written, as python-docx and the order that the standard gives to properties tell it."""

from __future__ import annotations

import gc
import io
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import datetime
from functools import cache
from math import fsum
from typing import Any, get_args

import docx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.nodes.blocks import (
    Block,
    Cell,
    Heading,
    Items,
    NewPage,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    TintName,
    Together,
    Working,
)
from molewright.nodes.drawing.strokes import MM, Box, Dots, Frame, Lines, Picture, Shape, Words
from molewright.nodes.figures import FlowBox, FlowFigure
from molewright.nodes.inline import Amount, Chem, Gap, Maths, Over, Sign, Symbol, Text
from molewright.render import renderer
from molewright.render.docx.lettering import SmallType, text_width
from molewright.render.docx.markup import levelled
from molewright.render.docx.maths import broken, displayed
from molewright.render.docx.pictures import DOTS_AN_INCH, png
from molewright.render.pdf.look import COLUMN
from molewright.render.tints import TINTS
from shared.every_node import FRACTION, TITRES, amount, everything, inside, sheet, words
from shared.for_each import for_each

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
M = "{http://schemas.openxmlformats.org/officeDocument/2006/math}"
SEQUENCES = {
    "pPr": "pStyle keepNext keepLines pageBreakBefore widowControl numPr pBdr tabs spacing ind jc outlineLvl rPr",
    "rPr": "rFonts b bCs i spacing sz szCs u vertAlign lang",
    "tblPr": "tblStyle tblW tblInd tblBorders tblLayout tblCellMar tblLook tblCaption",
    "tcPr": "tcW tcBorders tcMar vAlign",
    "pBdr": "top left bottom right between",
    "tcBorders": "top left bottom right",
    "tblBorders": "top left bottom right insideH insideV",
    "sectPr": "headerReference footerReference pgSz pgMar",
    "style": "name basedOn next qFormat pPr rPr tblPr",
    "settings": "zoom displayBackgroundShape defaultTabStop characterSpacingControl compat mathPr",
}
"""The order of elements by ECMA-376, part 1, of those that are written here. Word calls a file damaged that has another."""


def made(*blocks: Block, **others: Any) -> Any:
    return docx.Document(io.BytesIO(renderer("docx").render(sheet(*blocks, **others))))


@cache
def whole() -> bytes:
    return renderer("docx").render(everything())


def unpacked(document: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(document)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def parts() -> dict[str, bytes]:
    return unpacked(whole())


def styled(document: Any, style: str) -> list[Any]:
    return [one for one in document.paragraphs if one.style.name == style]


# ---------------------------------------------------------------- the file


def test_a_file_holds_no_macro_no_link_and_no_date() -> None:
    with zipfile.ZipFile(io.BytesIO(whole())) as packed:
        assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    names = list(parts())
    assert not [name for name in names if "vba" in name.lower() or "custom" in name.lower() or "thumb" in name]
    assert not [name for name, content in parts().items() if b'TargetMode="External"' in content]
    facts = docx.Document(io.BytesIO(whole())).core_properties
    assert (facts.title, facts.subject, facts.keywords) == ("Back titration", "Chemistry", "A-7KQ2")
    assert facts.language == "en-GB"
    assert {facts.created.replace(tzinfo=None), facts.modified.replace(tzinfo=None)} == {datetime(2000, 1, 1)}  # noqa: DTZ001
    assert b"python-docx" not in b"".join(parts().values())


def test_properties_too_long_for_a_file_lose_their_end() -> None:
    assert len(made(title="T" * 400).core_properties.title) == 255


def test_elements_stand_in_the_order_of_the_standard() -> None:
    from lxml import etree

    seen = set()
    deep = Part(
        "(a)",
        (),
        (Paragraph(words("Beware."), "caution"), Items((words("x"),)), Working(height_mm=9, label=words("y")), TITRES),
    )
    nested = renderer("docx").render(
        sheet(NewPage(), Part("(b)", words("Do."), (deep, *everything().blocks)), wide=True)
    )
    for held in (parts(), unpacked(nested)):
        for name in ("word/document.xml", "word/styles.xml", "word/settings.xml"):
            for element in etree.fromstring(held[name]).iter():
                tag = etree.QName(element).localname
                if tag in SEQUENCES and element.tag.startswith(W):
                    order = SEQUENCES[tag].split()
                    places = [order.index(etree.QName(child).localname) for child in element]
                    assert places == sorted(set(places)), etree.tostring(element)
                    seen.add(tag)
    assert seen == set(SEQUENCES)


def test_every_style_that_is_asked_for_is_there_by_a_plain_name() -> None:
    defined = set(re.findall(rb'w:styleId="(\w+)"', parts()["word/styles.xml"]))
    used = set(re.findall(rb'w:(?:pStyle|tblStyle|basedOn|next) w:val="(\w+)"', b"".join(parts().values())))
    assert used <= defined
    named = {style.name for style in docx.Document(io.BytesIO(whole())).styles}
    assert {"Heading 1", "Heading 2", "Heading 3", "Question stem", "Part", "Hint", "Note", "Caution"} <= named
    assert {"Working line", "Answer line"} <= named


@pytest.mark.thorough
def test_fresh_processes_write_the_same_bytes() -> None:
    code = (
        "import sys, hashlib; from shared.every_node import everything; from molewright.render import renderer;"
        "print(hashlib.sha256(renderer('docx').render(everything())).hexdigest())"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path), "TZ": zone},
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }
    assert len(told) == 1


def test_the_same_sheet_is_the_same_file() -> None:
    assert renderer("docx").render(everything()) == whole()


# ---------------------------------------------------------------- words


def test_every_word_of_every_node_is_in_the_file_and_nothing_is_markup() -> None:
    document = docx.Document(io.BytesIO(whole()))
    texts = "".join(one.text or "" for one in document.element.body.iter(f"{W}t", f"{M}t"))
    told = " ".join(one.get("descr") for one in document.element.body.iter() if one.get("descr"))
    blocks = [one for one in everything().blocks if not isinstance(one, Together)]
    nodes = [one for one in inside(tuple(blocks)) if isinstance(one, Text)]
    missing = [one.text for one in nodes if one.text not in texts]
    drawn = {"total", "reacted", "left over", "before", "after", "aliquot forgotten", "ratio upside down", "Slips"}
    drawn |= {"volume added", "temperature", "pH", "phenolphthalein", "end point", "steep"}  # they stand in pictures
    assert set(missing) - drawn <= {"final reading / cm³", "titre / cm³"}  # where the figure is raised
    assert all(word in told for word in ("flow", "Two slips", "bar"))


@for_each("text", ["<w:p/> & \"quoted\" 'so'", "]]>", "a\N{NO-BREAK SPACE}b", "&amp;", "\\n {x}", "Łukasz Żak"])
def test_text_comes_out_as_it_went_in(text: str) -> None:
    document = made(Paragraph(words(text)), title=text, header=text, version=text, code=text)
    assert document.paragraphs[0].text == text
    assert document.core_properties.title == text
    assert document.sections[0].header.paragraphs[0].text == f"{text}\t{text}"


@for_each("letter", ["\x00", "\x1b", "\x7f", "\ud800", "\ufffe", "\u202e", "\u2066"])
def test_control_characters_are_refused_before_and_while_they_are_written(letter: str) -> None:
    form = renderer("docx")
    with pytest.raises(Mistake, match="control character"):
        form.require_text(f"Tove{letter}Marl")
    for one in (sheet(Paragraph(words(letter))), sheet(code=letter), sheet(header=letter)):
        with pytest.raises(Mistake):
            form.render(one)


@given(st.text(st.sampled_from("ab ⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉·")))
def test_raised_and_lowered_figures_are_ordinary_ones_on_another_level(text: str) -> None:
    back = {
        "sup": dict(zip("0123456789+−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", strict=True)),
        "sub": dict(zip("0123456789", "₀₁₂₃₄₅₆₇₈₉", strict=True)),
    }
    pieces = levelled(text)
    assert "".join("".join(back[level][one] for one in part) if level else part for level, part in pieces) == text
    assert not any(re.search("[⁰¹²³⁴-⁻₀-₉]", part) for _, part in pieces)


@for_each("unit", [one.text for one in Unit if one.text])
def test_no_space_between_a_number_and_its_unit_may_break(unit: str) -> None:
    document = made(
        Paragraph((Text("A "), amount("25.0", unit), Gap(20, unit))), Paragraph((Maths((amount("2", unit),)),))
    )
    assert " " not in document.paragraphs[0].text.removeprefix("A ")
    assert not [one.text for one in document.element.body.iter(f"{M}t") if " " in one.text]


# ---------------------------------------------------------------- blocks


def held(document: Any) -> list[bool]:
    return [one._p.pPr.keepNext is not None for one in document.paragraphs]


def test_parts_stay_whole_and_the_stem_stays_with_the_first() -> None:
    working = Working(height_mm=24, unit="g")
    question = QuestionBlock(
        number=1,
        stem=(Paragraph(words("Stem.")), TITRES),
        parts=(
            Part("", words("Fill in."), (TITRES,)),
            Part("(a)", words("First."), (working,), 1),
            Part("(b)", words("Second."), (working,), 2),
        ),
        marks=3,
    )
    document = made(question, Paragraph(words("After.")))
    ends = [number for number, kept in enumerate(held(document)) if not kept]
    texts = [document.paragraphs[number].text for number in ends]
    assert [text.split()[-1] if text else "" for text in texts] == ["g", "all", "After."]
    assert all("keepNext" in row._tr.xml for table in document.tables for row in table.rows)


def test_marks_stand_behind_a_tab_at_the_right_edge() -> None:
    document = made(Part("(a)", words("Explain."), (), 2))
    (part,) = styled(document, "Part")
    assert re.sub("\N{NO-BREAK SPACE}", "", part.text) == "(a)\tExplain.\t[2]"
    assert [round(stop.position.pt) for stop in part.style.paragraph_format.tab_stops] == [round(COLUMN)]


def test_working_leaves_its_height_and_a_rule_of_its_length_before_the_unit() -> None:
    document = made(
        Working(height_mm=30, rule_mm=65, unit="mol dm⁻³", label=words("c =")),
        Working(height_mm=16, rule_mm=0, ruled=True),
    )
    lines = styled(document, "Working line")
    assert len(lines) == 3
    assert abs(lines[0].style.paragraph_format.line_spacing.mm - 8) < 0.05
    assert len(styled(document, "Ruled line")) == 2
    (rule,) = styled(document, "Answer line")
    assert rule.text.split("\t")[1] == "c ="
    *_, start, end = (stop.position.mm for stop in rule.paragraph_format.tab_stops)
    assert abs(end - start - 65) < 0.1
    assert abs(rule.paragraph_format.space_before.pt - 10 - 6 * MM) < 0.1
    assert end < COLUMN / MM


def test_a_table_has_a_repeated_heading_fixed_widths_and_whole_rows() -> None:
    document = made(replace(TITRES, width=0.8, whole=False))
    (table,) = document.tables
    assert table.autofit is False
    grid = [int(one.get(f"{W}w")) for one in table._tbl.tblGrid]
    assert abs(fsum(grid) / 20 - 0.8 * COLUMN) < 1
    for row in table.rows:
        assert [round(cell.width.twips) for cell in row.cells] == grid
        assert "cantSplit" in row._tr.xml
    assert ["tblHeader" in row._tr.xml for row in table.rows] == [True, False, False]
    assert table._tbl.tblPr.find(f"{W}tblCaption").get(f"{W}val") == "readings of two runs"
    assert table.cell(1, 0).paragraphs[0].style.name == "Heading cell"


def test_rows_that_are_continued_stay_with_the_row_above() -> None:
    rows = tuple(tuple(TITRES.rows[0]) for _ in range(3))
    document = made(Table(widths=(2, 1, 1), heading=(), rows=rows, whole=False, keep_rows=frozenset({2})))
    kept = [row.cells[1].paragraphs[0]._p.pPr.keepNext is not None for row in document.tables[0].rows]
    assert kept == [False, True, False]


def test_a_new_page_is_begun_by_what_follows_it() -> None:
    for block in (Paragraph(words("x")), TITRES, Heading(2, words("x"))):
        assert "pageBreakBefore" in made(NewPage(), block).paragraphs[0]._p.xml
    assert "pageBreakBefore" not in made(Paragraph(words("x")), NewPage()).element.xml


def test_a_wide_sheet_lies_on_its_side() -> None:
    section = made(wide=True).sections[0]
    assert (round(section.page_width.mm), round(section.page_height.mm)) == (297, 210)
    assert section.orientation == 1
    assert round(made().sections[0].left_margin.mm) == 23


def test_questions_are_headings_below_the_sections() -> None:
    question = QuestionBlock(number=3, stem=(), parts=(Part("", words("Ask.")),), marks=0)
    for level, blocks in ((2, (question,)), (3, (Heading(2, words("Section")), question))):
        (heading,) = [one for one in made(*blocks).paragraphs if one.text == "Question 3"]
        assert heading.style.name == f"Heading {level}"


# ---------------------------------------------------------------- equations


def xml(*items: Any) -> str:
    return displayed(items, "left")


def test_a_fraction_is_a_native_one_and_brackets_round_it_grow() -> None:
    text = xml(Symbol("n", "H2O"), Sign("="), Sign("("), FRACTION, Sign(")"))
    assert text.count("<m:f>") == text.count("<m:d>") == 1
    assert "<m:sSub>" in text
    assert "(</m:t>" in xml(Sign("("), amount("2"), Sign(")"))


def test_a_sign_without_a_side_is_text_because_some_programs_miss_the_side() -> None:
    loose = r"<m:sty m:val=\"p\"/></m:rPr><w:rPr>[^=]*?<m:t[^>]*>[=×]</m:t>"
    assert re.search("<m:nor/>.*=\N{NO-BREAK SPACE}</m:t>", xml(Sign("="), amount("2")))
    assert not re.search(loose, xml(Sign("×"), amount("2")))
    assert re.search("<m:nor/></m:rPr><w:rPr>[^t]*?.*?\N{NO-BREAK SPACE}=</m:t>", xml(amount("2"), Sign("=")))


LINE = (
    Symbol("n", "CaCO3", "left over"),
    Sign("="),
    FRACTION,
    Sign("×"),
    amount("250"),
    Sign("="),
    Amount(amount("0.002604", "mol").quantity, True),
)


@given(st.floats(30, 600))
def test_a_line_of_working_breaks_before_signs_and_loses_nothing(width: float) -> None:
    lines = broken(LINE, width, 10)
    assert tuple(one for line in lines for one in line) == LINE
    assert all(isinstance(line[0], Sign) for line in lines[1:])
    assert width < 560 or len(lines) == 1
    if len(lines) == 2 and width > 150:
        assert lines[1][0] == Sign("=")


def test_a_bracket_is_never_parted() -> None:
    items = (Sign("("), amount("1"), Sign("−"), amount("2"), Sign(")"), Sign("×"), amount("3"))
    assert [len(line) for line in broken(items, 1, 10)] == [5, 2]


def test_nested_and_unpaired_pieces_are_written() -> None:
    text = xml(
        Sign(")"), Over((Over((Chem("SO4^2-", "aq"),), (Text("x", italic=True),)),), (Gap(20, "cm³"),)), Sign("(")
    )
    made(Paragraph((Maths((Sign(")"), Sign("("), Chem("H2O"))),)))
    assert text.count("<m:f>") == 2
    assert "<m:sSubSup>" in text


# ---------------------------------------------------------------- pictures


def drawn(*items: Any, width: float = 72.0, height: float = 36.0) -> Image.Image:
    return Image.open(
        io.BytesIO(png(Picture(width=width, height=height, items=items, alt="x"), SmallType(9.5)))
    ).convert("L")


def box_of(image: Image.Image) -> tuple[float, ...]:
    """The box round all ink, in points."""
    inked = image.point([255 * (shade < 128) for shade in range(256)]).getbbox()
    assert inked is not None
    return tuple(side * 72 / DOTS_AN_INCH for side in inked)


@for_each(
    "stroke",
    [
        Lines(pieces=(((10, 10), (60, 30)),), weight=0.5),
        Lines(pieces=(((10, 10), (60, 30)),), weight=0.5, dashes=(3, 2)),
        Lines(pieces=(((-50, -14), (120, 54)),), weight=0.5, within=Box(10, 10, 50, 20)),
        Frame(Box(10, 10, 50, 20), 0.5),
        Dots(((10.5, 10.5), (59.5, 29.5)), 1.0),
        Shape((10, 10), (((60, 10),), ((60, 20), (60, 30), (10, 30)))),
    ],
)
def test_strokes_fill_their_place(stroke: Any) -> None:
    assert box_of(drawn(stroke)) == pytest.approx((10, 10, 60, 30), abs=0.8)


def test_dashes_leave_gaps_and_cleared_words_cover_what_was_drawn() -> None:
    def ink(*items: Any) -> int:
        return drawn(*items).histogram()[0]

    line = Lines(pieces=(((5, 18), (67, 18)),), weight=1)
    assert 0.5 < ink(replace(line, dashes=(3, 2))) / ink(line) < 0.7
    cleared = Words(lines=((words("mm"), False),), x=20, y=18, width=30, across="centre", hung="middle", cleared=True)
    assert ink(line, cleared) < ink(line, replace(cleared, cleared=False))


@pytest.mark.parametrize(
    ("hung", "place"), [("top", (18, 30)), ("middle", (12, 24)), ("foot", (6, 18)), ("astride", (14, 22))]
)
def test_words_hang_where_they_are_hung(hung: Any, place: tuple[float, float]) -> None:
    left, top, right, foot = box_of(
        drawn(Words(lines=((words("HXH"), False),), x=20, y=18, width=30, across="right", hung=hung))
    )
    assert place[0] <= top < foot <= place[1]
    assert right == pytest.approx(50, abs=1.5)
    assert left > 20
    if hung == "astride":
        assert (top + foot) / 2 == pytest.approx(18, abs=0.3)


def test_words_that_the_typeface_lacks_are_told_below_each_other() -> None:
    flow = FlowFigure((FlowBox(words("烧瓶"), (words("acid"),)), FlowBox(words("Burette"), ())), (words("pipette"),))
    assert [one.text for one in made(flow).paragraphs] == ["烧瓶", "acid", "→ pipette", "Burette"]


def test_a_picture_has_its_size_and_its_words() -> None:
    flow = FlowFigure(
        (FlowBox(words("Flask"), (words("acid"),)), FlowBox(words("Burette"), ())), (words("pipette"),), "flow & more"
    )
    document = made(flow)
    (shape,) = document.inline_shapes
    image = Image.open(
        io.BytesIO(document.part.related_parts[shape._inline.graphic.graphicData.pic.blipFill.blip.embed].blob)
    )
    assert image.width / DOTS_AN_INCH * 72 == pytest.approx(shape.width.pt, abs=0.5)
    assert image.info["dpi"][0] == pytest.approx(DOTS_AN_INCH, abs=0.1)
    assert shape._inline.docPr.get("descr") == "flow & more"


def test_a_sheet_without_anything_is_a_file_all_the_same() -> None:
    empty = Sheet(title="", subject="", kind="report", code="", blocks=())
    assert docx.Document(io.BytesIO(renderer("docx").render(empty))).paragraphs == []


# ---------------------------------------------------------------- looks


@pytest.mark.parametrize(("look", "size"), [("usual", 11), ("large", 18), ("extra-large", 24), ("wide-set", 13)])
def test_a_look_sets_the_size_of_all_that_is_read(look: Any, size: int) -> None:
    document = docx.Document(io.BytesIO(renderer("docx").render(replace(everything(), look=look))))
    assert document.element.xpath("count(//w:p)") > 50
    default = re.search(r'<w:docDefaults>.*?<w:sz w:val="(\d+)"', document.styles.element.xml, re.DOTALL)
    assert default is not None
    assert int(default[1]) == 2 * size
    if look != "usual":
        for style in ("Note", "Hint", "Cell", "Caution"):
            assert document.styles[style].font.size.pt >= size
    rule = styled(document, "Working line")[0].style.paragraph_format.line_spacing.mm
    assert rule == pytest.approx(8 * size / 11, abs=0.1)


def test_a_wide_set_sheet_has_no_sloped_letter_and_letters_further_apart() -> None:
    usual, wide = (
        unpacked(renderer("docx").render(replace(everything(), look=look))) for look in ("usual", "wide-set")
    )
    sloped = re.compile(rb'<w:i/>|m:val="b?i"')
    assert sloped.search(usual["word/document.xml"])
    assert not sloped.search(wide["word/document.xml"])
    assert b'<w:spacing w:val="16"/>' in wide["word/styles.xml"]


def test_the_unit_behind_an_answer_rule_has_room_for_letters_further_apart() -> None:
    for unit in ("g", "mol dm⁻³"):
        for look in ("usual", "wide-set"):
            rule = styled(made(Working(height_mm=0, unit=unit), look=look), "Answer line")[0]
            end = max(stop.position.pt for stop in rule.paragraph_format.tab_stops)
            size, apart = (13.0, 0.06) if look == "wide-set" else (11.0, 0.0)
            shown = "\N{NO-BREAK SPACE}" + unit
            assert COLUMN - end >= size * (text_width(shown) + apart * len(shown)), (unit, look)


def test_a_tint_is_the_background_of_the_page() -> None:
    for tint in get_args(TintName):
        document = made(tint=tint)
        found = document.element.xpath("w:background/@w:color")
        assert found == ([TINTS[tint]] if tint else [])
        assert all(int(colour[at : at + 2], 16) >= 0xE0 for colour in found for at in (0, 2, 4))


def test_columns_of_large_type_are_as_wide_as_their_longest_word() -> None:
    heading = tuple(Cell((words(one),)) for one in ("a", "concentration", "b"))
    table = Table(widths=(8, 1, 1), heading=heading, rows=(heading,))
    grids = []
    for look in ("usual", "large"):
        (made_table,) = made(table, look=look).tables
        grids.append([int(one.get(f"{W}w")) / 20 for one in made_table._tbl.tblGrid])
    usual, large = grids
    assert fsum(large) == pytest.approx(fsum(usual), abs=0.2)
    assert large[1] > SmallType(18).widest(words("concentration"), True) > usual[1]


def test_type_of_a_large_table_is_made_smaller_rather_than_a_unit_cut() -> None:
    row = (
        Cell(((Text("c", bold=True), Gap(22, "mol dm⁻³")),)),
        *(Cell(((amount("0.0620", "mol dm⁻³"),),)) for _ in range(3)),
    )
    (table,) = made(Table(widths=(1, 1, 1, 1), heading=(), rows=(row,)), look="extra-large").tables
    sizes = {run.font.size.pt for cell in table.rows[0].cells for run in cell.paragraphs[0].runs}
    assert len(sizes) == 1
    assert 14 <= max(sizes) < 24
    for cell in table.rows[0].cells:
        assert SmallType(max(sizes)).width(words(cell.text.replace("\n", ""))) < cell.width.pt + 20
    for element in table._tbl.iter(f"{W}rPr"):
        places = [SEQUENCES["rPr"].split().index(child.tag.removeprefix(W)) for child in element]
        assert places == sorted(places)


def test_what_a_document_was_made_of_is_let_go_before_the_next() -> None:
    def held() -> int:
        return sum(type(one).__name__ == "DocumentPart" for one in gc.get_objects())

    gc.collect()  # what other tests have read
    gc.disable()
    try:
        before = held()
        for _ in range(3):
            renderer("docx").render(sheet(*everything().blocks[:2]))
        assert held() <= before
    finally:
        gc.enable()
