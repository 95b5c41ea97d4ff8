"""The letters themselves: fonts, widths, real text in formulae, what is refused, and text that tries to be something else."""

from __future__ import annotations

import io
import re
import unicodedata
from decimal import Decimal
from functools import _lru_cache_wrapper
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

from molewright.chem.quantity import Quantity
from molewright.chem.units import parse_unit
from molewright.errors import Mistake
from molewright.nodes.blocks import Cell, Heading, Paragraph, Sheet, Table
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
from molewright.render.pdf import fonts, render
from molewright.render.pdf.boxes import word_box
from molewright.render.pdf.lines import set_line
from molewright.render.pdf.look import PUPIL
from molewright.render.pdf.maths import items_box
from molewright.render.pdf.opentype import kerning, single_substitutions
from molewright.render.pdf.spoken import plain, said
from shared.for_each import for_each


def sheet(*blocks: Any, **named: Any) -> Sheet:
    return Sheet(title="Title", subject="Subject", kind="questions", code="CODE1", blocks=blocks, **named)


def read(*blocks: Any, **named: Any) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(sheet(*blocks, **named))), strict=True)


def text_of(line: Line, **named: Any) -> str:
    return read(Paragraph(line), **named).pages[0].extract_text().replace("\u00a0", " ")


def amount(number: str, unit: str = "", scientific: bool = False) -> Amount:
    return Amount(Quantity(Decimal(number), parse_unit(unit), scientific))


def content_of(*blocks: Any, **named: Any) -> str:
    content = read(*blocks, **named).pages[0].get_contents()
    assert content is not None
    return content.get_data().decode("ascii")


def spoken(words: str) -> str:
    return words.encode("utf-16-be").hex().upper()


def test_formulae_units_and_powers_are_real_text() -> None:
    line = (Chem("Na2CO3.10H2O"), Text(" "), Chem("SO4^2-", "aq"), Text(" "), amount("0.00260", "mol dm⁻³", True))
    text = text_of(line)
    assert "Na₂CO₃·10H₂O SO₄²⁻(aq)" in text
    assert "2.60 × 10⁻³ mol dm⁻³" in text


def test_negative_amount_has_a_true_minus_sign() -> None:
    assert "\N{MINUS SIGN}3.20 °C" in text_of((amount("-3.20", "°C"),))


def test_symbol_letter_is_italic_and_what_it_belongs_to_upright() -> None:
    page = read(Paragraph((Symbol("n", "NaOH", "left over"),))).pages[0]
    fonts: dict[str, str] = {}

    def visit(text: str, cm: Any, tm: Any, font: Any, size: Any) -> None:
        if font:
            fonts.setdefault(text.strip(), str(font["/BaseFont"]))

    page.extract_text(visitor_text=visit)
    assert fonts["n"].endswith("FiraGO-Italic")
    assert fonts["(NaOH left over)"].endswith("FiraGO-Regular")


def test_fraction_is_real_text_top_before_bottom_and_copies_on_one_line() -> None:
    over = Over((amount("0.105", "mol dm⁻³"), Sign("×"), amount("24.75", "cm³")), (Text("1000"),))
    line = (Maths((Symbol("n"), Sign("="), over)),)
    text = text_of(line)
    assert re.search(r"n\s*=\s*0\.105 mol dm⁻³\s*×\s*24\.75 cm³\s*1000", text), text
    assert spoken("(0.105\u00a0mol\u00a0dm⁻³ × 24.75\u00a0cm³)/1000".replace("\u00a0", " ")) in content_of(
        Paragraph(line)
    )


def test_fraction_bar_lies_between_its_rows_and_is_as_wide_as_both() -> None:
    box = items_box((Over((Text("wide top"),), (Text("2"),)),), PUPIL.body)
    bars = [stroke for stroke in box.strokes if stroke[0] == "bar"]
    texts = [stroke for stroke in box.strokes if stroke[0] == "text"]
    top, bottom = texts[0], texts[-1]
    assert len(bars) == 1
    assert bottom[2] < bars[0][2] < top[2]
    assert bars[0][1] <= top[1]
    assert bars[0][1] + float(str(bars[0][3][0])) <= box.width
    middle = bars[0][2] / PUPIL.body.size
    assert 0.29 < middle < 0.38  # the minus sign of FiraGO spans 0.294 to 0.371 em


def test_brackets_grow_around_a_fraction() -> None:
    small = items_box((Sign("("), Text("1"), Sign(")")), PUPIL.body)
    tall = items_box((Sign("("), Over((Text("1"),), (Text("2"),)), Sign(")")), PUPIL.body)
    assert {stroke[3][-1] for stroke in small.strokes if stroke[0] == "text"} == {1.0}
    assert max(float(str(stroke[3][-1])) for stroke in tall.strokes if stroke[0] == "text") > 1.5
    assert tall.up + tall.down > small.up + small.down


def test_sign_of_a_negative_number_stands_closer_than_an_operator() -> None:
    between = items_box((Text("3"), Sign("−"), Text("2")), PUPIL.body).width
    alone = items_box((Sign("="), Sign("−"), Text("2")), PUPIL.body)
    after_bracket = items_box((Sign("("), Sign("−"), Text("2")), PUPIL.body)
    minus, two = (word_box(text, fonts.REGULAR, PUPIL.body.size).width for text in "−2")
    assert alone.width < between
    bracket = word_box("(", fonts.REGULAR, PUPIL.body.size).width
    assert after_bracket.width == pytest.approx(bracket + minus + two)


@for_each("face", range(4))
def test_widths_agree_with_reportlab_where_no_pair_is_kerned(face: int) -> None:
    names = ("FiraGO_Regular", "FiraGO_Bold", "FiraGO_Italic", "FiraGO_BoldItalic")
    ruler = TTFont(f"measure-{face}", io.BytesIO(import_module(f"pymupdf_fonts.{names[face]}").fontbuffer))
    kerned = fonts._face(face).kerns
    for word in ("titration", "CaCO₃", "dm⁻³", "25.0", "2NaOH", "→", "Ångström", "Ωж"):
        kerns = sum(kerned.get(first + second, 0) for first, second in pairwise(word))
        assert word_box(word, face, 10).width - kerns / 100 == pytest.approx(ruler.stringWidth(word, 10))


def test_kerning_brings_capital_t_and_small_o_together() -> None:
    plain = sum(word_box(letter, fonts.REGULAR, 10).width for letter in "To")
    assert word_box("To", fonts.REGULAR, 10).width < plain - 0.2


def test_font_without_the_asked_tables_has_no_kerning_and_no_substitutes() -> None:
    empty = b"\x00\x01\x00\x00" + b"\x00" * 8
    assert kerning(empty, {1: "a"}) == {}
    assert single_substitutions(empty, "tnum") == {}


def test_figures_in_tables_have_one_width_and_copy_as_figures() -> None:
    widths = {word_box(digit, fonts.REGULAR + fonts.TABULAR, 10).width for digit in "0123456789"}
    assert len(widths) == 1
    proportional = {word_box(digit, fonts.REGULAR, 10).width for digit in "0123456789"}
    assert len(proportional) > 1
    row = tuple(Cell(((Text("24.75"),), (amount("11.10", "cm³"),))) for _ in range(2))
    text = read(Table(widths=(1, 1), heading=row, rows=(row,))).pages[0].extract_text()
    assert text.count("24.75") == 4
    assert text.count("11.10") == 4


def test_characters_of_other_alphabets_are_set_and_copied() -> None:
    name = "Łukasz Žižka Ñandú Şebnem ΑΩ Ирина"
    assert name in text_of((Text(name),))


def test_letter_and_combining_accent_are_set_as_one() -> None:
    assert "é" in text_of((Text("Rene\u0301e"),))


@for_each("character", "⇌⟶☐✓✔")
def test_characters_that_the_typeface_lacks_are_drawn_and_still_read(character: str) -> None:
    content = content_of(Paragraph((Text(f"a {character} b"),)))
    assert f"ActualText <FEFF{spoken(character)}>" in content


@pytest.mark.parametrize("bold", [False, True])
def test_a_prime_is_set_and_copies_as_a_prime(bold: bool) -> None:
    assert "R\N{PRIME}OH" in text_of((Text("R\N{PRIME}OH", bold=bold),))


def test_subscript_r_that_the_typeface_lacks_is_lowered() -> None:
    assert "Mr of" in text_of((Text("Mᵣ of"),))
    drawn = word_box("Mᵣ", fonts.REGULAR, 10).strokes
    assert [stroke[2] < 0 for stroke in drawn] == [False, True]


def test_thin_spaces_copy_as_spaces() -> None:
    assert "10 000" in text_of((Text("10\u2009000"),))


REFUSED = {
    "null": "a\x00b",
    "line feed": "a\nb",
    "tab": "a\tb",
    "right-to-left override": "a\u202eb",
    "isolate": "a\u2066b",
    "zero-width space": "a\u200bb",
    "soft hyphen": "a\u00adb",
    "lone surrogate": "a\ud800b",
    "private use": "a\ue000b",
    "emoji": "a\N{TEST TUBE}b",
    "Hebrew": "\u05d0\u05d1",
    "Arabic": "\u0645\u0646",
    "Devanagari": "\u0915\u093f",
    "Han": "\u6c34",
}


@for_each("name", REFUSED)
def test_characters_that_cannot_be_set_are_refused_by_name(name: str) -> None:
    text = REFUSED[name]
    bad = next(character for character in text if character not in "ab")
    with pytest.raises(Mistake, match=f"U\\+{ord(bad):04X}"):
        render(sheet(Paragraph((Text(text),))))


@pytest.mark.parametrize(
    "block",
    [
        Heading(2, (Text("bad\x07"),)),
        Table(widths=(1,), heading=(Cell(((Text("bad\x07"),),)),), rows=()),
        Paragraph((Symbol("n", "", "bad\x07"),)),
        Paragraph((Gap(20, "bad\x07"),)),
        Paragraph((Maths((Over((Text("bad\x07"),), (Text("1"),)),)),)),
    ],
)
def test_control_characters_are_refused_wherever_they_stand(block: Any) -> None:
    with pytest.raises(Mistake):
        render(sheet(block))


HOSTILE = (
    r"(unbalanced \( \) \\ ) ET EMC Q",
    "/F9 99 Tf /F3B77 10 Tf (x) Tj",
    "<</MCID 0>> BDC endstream endobj",
    r"\101\\n %comment <b>bold</b> & amp;",
    r"$x^2$ {{ secret }} \input{/etc/passwd}",
)


@for_each("text", HOSTILE)
def test_text_that_looks_like_markup_is_printed_as_it_stands(text: str) -> None:
    reader = read(Paragraph((Text(text),)), header=text, version=text)
    squeezed = re.sub(r"\s", "", reader.pages[0].extract_text())
    assert squeezed.count(re.sub(r"\s", "", text)) >= 1
    assert set(reader.pages[0]["/Resources"]["/Font"]) <= {"/F0", "/F1"}  # type: ignore[arg-type, index]


@settings(max_examples=60)
@given(st.text(st.characters(min_codepoint=1, max_codepoint=0x2FFF), min_size=1, max_size=40))
def test_any_text_is_either_printed_letter_for_letter_or_refused(text: str) -> None:
    text = unicodedata.normalize("NFC", text)  # a letter with its accent is one sign, however it was typed
    try:
        made = render(sheet(Paragraph((Text(text),)), header="H"))
    except Mistake as refused:
        named = re.search(r"U\+([0-9A-F]{4})", str(refused))
    else:
        named = None
        page = pypdf.PdfReader(io.BytesIO(made), strict=True).pages[0]
        shown = re.sub(r"\s", "", page.extract_text())
        for letter in re.findall(r"[A-Za-z0-9(){}\\<>/%]", text):
            assert letter in shown
    assert named is None or chr(int(named[1], 16)) in text


def test_abbreviation_carries_its_words_for_a_screen_reader() -> None:
    content = content_of(Paragraph((Text("Find the Mr, then"),)), spoken=(("Mr", "relative formula mass"),))
    assert f"/Span <</MCID 1 /E <FEFF{spoken('relative formula mass')}>>> BDC" in content
    assert "/E <" not in content_of(Paragraph((Text("Find the Mr, then"),)))


def test_equation_is_said_with_coefficients_and_states() -> None:
    equation = Equation((Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")), (Term("1", "CO2", "g"),))
    words = said((equation,))
    assert words == "1 C a C O 3, solid plus 2 H C l, aqueous gives 1 C O 2, gas"


def test_plain_text_of_a_line_keeps_fractions_apart_with_brackets() -> None:
    items = (Symbol("w"), Sign("="), Over((Text("a"), Sign("+"), Text("b")), (Text("c"),)), Gap(10, "g"))
    assert plain(items) == "w = (a + b)/c…… g"


def test_each_line_ends_with_a_space_so_that_words_are_not_joined() -> None:
    chunks = set_line((Text("word " * 60),), PUPIL.body, 200.0)
    lines = [
        line
        for chunk in chunks
        for segment in chunk.segments.written
        for line in re.findall(r"\[\((.*)\)\]TJ", segment.content)
    ]
    assert len(lines) > 3
    assert all(re.sub(r"\)-?[\d.]+\(", "", line).endswith("word ") for line in lines)


def test_every_store_of_measured_things_is_bounded() -> None:
    folder = Path(fonts.__file__).parent
    stores = 0
    for path in folder.glob("*.py"):
        module = import_module(f"molewright.render.pdf.{path.stem}".removesuffix(".__init__"))
        for kept in vars(module).values():
            if isinstance(kept, _lru_cache_wrapper):
                stores += 1
                assert kept.cache_info().maxsize is not None, kept
    assert stores >= 5
    face = fonts._face(fonts.REGULAR)
    for number in range(fonts._WORDS_KEPT + 50):
        fonts.runs(f"w{number}", fonts.REGULAR)
    assert len(face.words) <= fonts._WORDS_KEPT + 1


def test_platypus_is_never_imported() -> None:
    folder = Path(fonts.__file__).parent
    for path in folder.glob("*.py"):
        assert "platypus" not in path.read_text(encoding="utf-8")
        top = [line for line in path.read_text(encoding="utf-8").splitlines() if re.match(r"(from|import) ", line)]
        assert not any("reportlab" in line or "pymupdf" in line for line in top), path
