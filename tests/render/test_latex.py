"""The LaTeX form: what is written, and what pdflatex and pypdf, both from outside the project, make of it."""

from __future__ import annotations

import io
import os
import re
import shutil
import unicodedata
from functools import cache
from typing import Any, get_args

import pypdf
import pytest

from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.nodes.blocks import (
    Block,
    Cell,
    ClosingLine,
    ElementSquare,
    ElementTable,
    FrontBlock,
    Heading,
    Items,
    NewPage,
    Note,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    Together,
    Working,
)
from molewright.nodes.figures import (
    BarFigure,
    BarPiece,
    CountChart,
    CountRow,
    FlowBox,
    FlowFigure,
)
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Inline,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render import latex
from molewright.render.latex.escape import _GREEK, _SIGNS, LOWERED, RAISED, escape, escape_plain
from molewright.render.latex.lines import LineWriter, siunitx_unit
from shared import pdflatex
from shared.every_node import BURETTES, CURVE, EQUATION, GRAPH, amount, cell, inside, sheet, words
from shared.for_each import for_each

ENGINES = ("pdflatex", "lualatex")
NO_TEX = not all(map(shutil.which, ENGINES)) and not os.environ.get("CI")
needs_tex = pytest.mark.skipif(NO_TEX, reason="pdflatex or lualatex is not on this machine")


def line(*inlines: Inline) -> str:
    return LineWriter().line(inlines)


LEFT_OVER = Maths(
    (
        Symbol("n", "HCl", "left over"),
        Sign("="),
        Over((amount("24.80"), Sign("×"), amount("0.105")), (amount("1000"),)),
        Sign("×"),
        Over((amount("250"),), (Over((amount("50.0"),), (amount("2"),)),)),
        Sign("="),
        amount("2.604e-2", "mol", scientific=True, bold=True),
    )
)
TITRES = Table(
    widths=(2, 1, 1, 1),
    heading=(cell("Run"), cell("Rough", align="centre"), cell("1", align="centre"), cell("2", align="right")),
    rows=(
        (cell("final reading / cm³", head=True), cell("25.60"), cell("25.30"), cell("24.85")),
        (cell("titre / cm³", head=True), Cell(()), Cell(()), Cell(())),
    ),
    width=0.8,
    summary="readings of three runs",
)
FLOW = FlowFigure(
    (
        FlowBox(words("Conical flask"), (words("limestone"), (amount("50.0", "cm³"), Text(" of acid")))),
        FlowBox(words("Volumetric flask"), (words("made up to the mark"),)),
        FlowBox(words("Titration"), (words("one aliquot"),)),
    ),
    (words("with washings"), words("pipette")),
    alt="Limestone in acid is made up to 250 cm³ and titrated → end point",
)
BAR = BarFigure(
    (Text("total acid "), amount("0.0500", "mol")),
    (BarPiece(0.04, words("reacted"), hatched=True), BarPiece(0.96, words("left over"))),
    alt="The total is what reacted and what was left over.",
)


def everything() -> Sheet:
    """One sheet that holds every kind of node."""
    question = QuestionBlock(
        number=4,
        stem=(
            Paragraph((Text("A mass of "), amount("1.264", "g"), Text(" of "), Chem("CaCO3", "s"), Text(" reacts."))),
            TITRES,
        ),
        parts=(
            Part(
                "(a)",
                words("Complete the table."),
                (Working(height_mm=24, unit="cm³", label=words("mean titre =")),),
                1,
            ),
            Part(
                "(b)",
                words("Explain why."),
                (Working(height_mm=24, rule_mm=0, ruled=True), Part("(i)", words("A nested part."))),
                2,
            ),
        ),
        marks=3,
        reminder=(Text("sample "), amount("1.264", "g")),
        bookmark="Limestone",
    )
    return sheet(
        FrontBlock(
            title="Limestone",
            subtitle="Practice",
            fields=("Class", "Date"),
            filled=(("Name", "Ilsa Quern"),),
            marks="24",
            time="30 minutes",
            points=(words("Show your working."),),
        ),
        FrontBlock(title="A cover", subtitle="", fields=("Name", "Candidate number"), above="Quern & Co.", cover=True),
        Heading(1, words("The sheet")),
        Heading(2, words("A section")),
        Paragraph((EQUATION,), tone="centred"),
        question,
        Heading(3, words("Below it")),
        Paragraph((LEFT_OVER,), indent_mm=9),
        Paragraph(
            (
                Text("Fill in "),
                Gap(22, "mol dm⁻³"),
                Symbol("M", subscript="r"),
                Text("bold", bold=True),
                Text("slanted", italic=True),
            )
        ),
        Paragraph(words("Small words."), tone="note"),
        Paragraph(words("Wear eye protection."), tone="caution"),
        Paragraph(words("Bold words."), tone="lead"),
        Items((words("first point"), words("second point"))),
        Note(words("A note"), (words("left beside"), words("the flask"))),
        Together((Heading(3, words("Kept")), FLOW)),
        CountChart((CountRow(words("aliquot forgotten"), 12),), alt="One slip"),
        BAR,
        BURETTES,
        CURVE,
        GRAPH,
        ElementTable(
            (ElementSquare(1, 1, "H", "1.0"), ElementSquare(8, 4, "Ce", "140.1"), ElementSquare(5, 7, "Tc", "")),
            "Masses",
        ),
        NewPage(),
        ClosingLine("That was the last question."),
        header="Set one",
        version="Version B",
        turn_over=True,
        spoken=(("ecf", "error carried forward"),),
    )


LUA = sheet(
    Heading(2, words("Whatever the engine: é ß Ł – “x” 3 × 10⁻³ → ρ ν₁ ½ …")),
    Paragraph((EQUATION, Text(" and "), LEFT_OVER)),
    TITRES,
    GRAPH,
    kind="scheme",
    header="Set one",
)


compiled_once = cache(pdflatex.compile_with_log)


def compiled(given: Sheet, engine: str = ENGINES[0]) -> tuple[pypdf.PdfReader, str]:
    pdf, log = compiled_once(latex.render(given), engine)
    return pypdf.PdfReader(io.BytesIO(pdf)), log


def pages(given: Sheet, engine: str = ENGINES[0]) -> list[str]:
    """The text of each page; spaces made plain, for TeX has none of its own."""
    return [" ".join(page.extract_text().split()) for page in compiled(given, engine)[0].pages]


def squeezed(text: str) -> str:
    return "".join(text.split())


# ---------------------------------------------------------------- text


@for_each(
    "hostile",
    [
        r"\input{/etc/passwd}",
        r"\write18{ls}",
        "^^41",
        "100 % of #1 & $x$ ~ _",
        r"\\*[3pt]",
        "a -- b --- c ,, << >>",
        "\\",
    ],
)
def test_no_command_in_a_name_survives(hostile: str) -> None:
    written = escape(hostile)
    kept = re.sub(r"\\(textbackslash|textasciicircum|textasciitilde|textless|textgreater)\{\}|\\[{}#$%&_]", "", written)
    assert "\\" not in kept
    assert not re.search(r"[#$%&~_^]|--|,,|(?<!\{)\[", kept)


@for_each("stranger", ["\u2603", "\u4e2d", "\u202e", "\x07", "\u0410", "\ufffe", "\U0001f9ea"])
def test_unknown_character_is_refused_by_number_and_text(stranger: str) -> None:
    with pytest.raises(Mistake, match=f"U\\+{ord(stranger):04X}.*Ilsa") as refused:
        escape(f"Ilsa {stranger}")
    assert refused.value.expected
    assert refused.value.do


def test_newline_is_a_space() -> None:
    assert escape("one\ntwo\r\tthree") == "one two  three"


def test_runs_of_raised_and_lowered_figures_are_set_as_one() -> None:
    assert escape("mol dm⁻³") == r"mol dm\textsuperscript{\textminus{}3}"
    assert escape("C₁₂H₂₂O₁₁ and Mᵣ") == (
        r"C\textsubscript{12}H\textsubscript{22}O\textsubscript{11} and M\textsubscript{r}"
    )


def test_accents_are_taken_apart_by_unicode_and_put_together_by_latex() -> None:
    assert escape("é") == escape("e\u0301") == r"\'{e}"
    assert escape("ễŞîșŁ") == r"\~{\^{e}}\c{S}\^{\i}\textcommabelow{s}\L{}"


def test_long_word_may_break_anywhere_and_a_short_one_may_not() -> None:
    assert r"\allowbreak" in escape("x" * 31)
    assert r"\allowbreak" not in escape("x" * 30)


def test_words_without_type_are_plain_letters() -> None:
    assert escape_plain("CaCO₃ → CO₂: 2 × 10⁻³\u00a0mol") == r"CaCO3 -\textgreater{} CO2: 2 \texttimes{} 10-3 mol"


# ---------------------------------------------------------------- lines


@pytest.mark.parametrize(
    ("given", "written"),
    [
        (amount("0.100", "mol dm⁻³"), r"\qty{0.100}{mol.dm^{-3}}"),
        (amount("0.002604", "mol", scientific=True), r"\qty{2.604e-3}{mol}"),
        (amount("25.0", "cm³"), r"\qty{25.0}{cm^{3}}"),
        (amount("4.20", scientific=True), r"\num[print-zero-exponent]{4.20e0}"),
        (amount("-3.0", "°C"), r"\qty{-3.0}{\degreeCelsius}"),
        (amount("94.9", "%"), r"\qty{94.9}{\percent}"),
        (amount("100000", "g"), r"\qty{100000}{g}"),
    ],
)
def test_amount_keeps_the_figures_as_written(given: Amount, written: str) -> None:
    assert line(given) == rf"\mbox{{{written}}}"


@pytest.mark.parametrize(
    ("unit", "written"),
    [
        ("mol/L", "mol/L"),
        ("mL", "mL"),
        ("mol dm⁻³", "mol.dm^{-3}"),
        ("mol\u00a0L⁻¹", "mol.L^{-1}"),
        ("µg", r"\micro g"),
    ],
)
def test_unit_is_printed_in_the_style_given(unit: str, written: str) -> None:
    assert siunitx_unit(unit) == written


def test_words_that_are_no_unit_are_words() -> None:
    assert line(Gap(20, "g of CaCO₃ & co")) == r"\gap{20mm}{~g~of~CaCO\textsubscript{3}~\&~co}"


def test_count_of_atoms_before_a_charge_is_not_taken_for_the_charge() -> None:
    assert line(Chem("MnO4-", "aq")) == r"\ce{MnO4^{-}(aq)}"
    assert line(Chem("SO4^2-")) == r"\ce{SO4^{2-}}"
    assert line(Chem("Na2CO3.xH2O", bold=True)) == r"\textbf{\ce{Na2CO3.$x$H2O}}"


def test_a_second_group_has_its_prime() -> None:
    assert line(Chem("RCOOR\N{PRIME}", "l")) == r"\ce{RCOOR$'$(l)}"


@pytest.mark.parametrize("formula", [r"\input{x}", "Na%", "H^^41", "$\\x$"])
def test_formula_that_is_none_never_reaches_tex(formula: str) -> None:
    with pytest.raises(Mistake):
        line(Chem(formula))


def test_unknown_state_symbol_is_refused() -> None:
    with pytest.raises(Mistake, match="state symbol"):
        line(Chem("NaCl", r"\x"))


def test_equation_may_break_only_before_the_arrow_or_a_plus() -> None:
    assert line(EQUATION) == (r"\ce{CaCO3(s)}\plus\ce{2 HCl(aq)}\yields\ce{CaCl2(aq)}\plus\ce{CO2(g)}\plus\ce{H2O(l)}")


def test_fractions_and_letters_may_stand_as_coefficients() -> None:
    equation = Equation((Term("½", "O2"), Term("3/2", "H2")), (Term("n", "H2O"),))
    assert line(equation) == r"\ce{1/2 O2}\plus\ce{3/2 H2}\yields\mbox{\textit{n}\,\ce{H2O}}"


def test_working_may_break_only_before_equals() -> None:
    written = line(LEFT_OVER)
    assert written.count(r"\breakhere") == 2
    assert all(stretch.startswith(r"\unbroken{=~") for stretch in written.split(r"\breakhere")[1:])


def test_brackets_round_a_fraction_are_tall() -> None:
    half = Over((amount("1"),), (amount("2"),))
    assert r"\bigopen" in line(Maths((Sign("("), half, Sign(")"))))
    assert r"\bigopen" not in line(Maths((Sign("("), amount("1"), Sign(")"), half)))


def test_symbol_is_slanted_and_what_it_belongs_to_upright() -> None:
    assert line(Symbol("n", "NaOH", "left over")) == r"\mbox{\textit{n}(\ce{NaOH}~left~over)}"
    assert line(Symbol("M", subscript="r")) == r"\textit{M}\textsubscript{r}"


def test_abbreviation_carries_its_words_only_where_it_is_a_word() -> None:
    writer = LineWriter((("cf", "carried forward"), ("p1", "mark point 1")))
    assert writer.words("cf from p1") == r"\spoken{carried forward}{cf} from \spoken{mark point 1}{p1}"
    assert writer.words("ecfs, M12") == "ecfs, M12"


# ---------------------------------------------------------------- blocks


def test_the_sample_holds_every_kind_of_node() -> None:
    held = {type(node) for node in inside(everything().blocks)}
    assert held >= {*get_args(Block), *get_args(Inline), *get_args(MathsItem)}


def test_equal_sheets_give_equal_bytes() -> None:
    assert latex.render(everything()) == latex.render(everything())


def test_nothing_of_the_template_is_left_unfilled() -> None:
    written = latex.render(everything()).decode()
    assert not re.search(r"<%|%>|<!--|-->|<< |Undefined", written)
    assert latex.SUFFIX == ".tex"


def test_scheme_is_set_smaller_than_the_questions() -> None:
    assert b"[11pt,a4paper]" in latex.render(sheet())
    assert b"[10pt,a4paper]" in latex.render(sheet(kind="scheme"))


def test_row_that_continues_the_one_above_has_no_break_and_no_rule_before_it() -> None:
    table = Table(
        widths=(1, 1), heading=(), rows=tuple((cell(str(row)), cell("")) for row in range(3)), keep_rows=frozenset({2})
    )
    rows = latex.render(sheet(table)).decode().split("{%\n")[-1].splitlines()
    assert [row.split("&")[1].strip() for row in rows[:3]] == [r"\\ \rowrule", r"\\*", r"\\"]


# ---------------------------------------------------------------- what pdflatex says


def test_log_gives_only_what_matters() -> None:
    log = "\n".join(
        [
            r"Overfull \hbox (1.9pt too wide) in paragraph at lines 3--4",
            r"Overfull \hbox (2.1pt too wide) in paragraph at lines 5--6",
            r"Underfull \hbox (badness 10000) in paragraph at lines 7--8",
            "LaTeX Warning: Reference `LastPage' on page 1 undefined on input line 9.",
            "Missing character: There is no \u00e9 in font cmr10!",
            "LaTeX Font Warning: Font shape `T1/xyz/m/n' undefined",
            "LaTeX Font Info: Trying to load font information",
        ]
    )
    assert [found.split()[0] + found.split()[1] for found in pdflatex.problems(log)] == [
        r"Overfull\hbox",
        "LaTeXWarning:",
        "Missingcharacter:",
        "LaTeXFont",
    ]


def test_machine_without_tex_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(Mistake, match="texlive-latex-extra texlive-science texlive-fonts-recommended"):
        pdflatex.compile_pdf(b"")


@pytest.mark.tex
@needs_tex
class TestCompiled:
    @pytest.mark.parametrize("engine", ENGINES)
    def test_every_node_compiles_without_a_problem(self, engine: str) -> None:
        assert pdflatex.problems(compiled(everything(), engine)[1]) == []

    def test_both_engines_print_the_same_on_the_same_pages(self) -> None:
        one, other = (
            [squeezed(unicodedata.normalize("NFKC", page)) for page in pages(LUA, engine)] for engine in ENGINES
        )
        assert one == other
        assert all(compiled(LUA, engine)[0].outline for engine in ENGINES)
        assert pdflatex.problems(compiled(LUA, "lualatex")[1]) == []

    def test_lualatex_gives_the_same_bytes_again(self) -> None:
        tex = latex.render(LUA)
        assert pdflatex.compile_pdf(tex, "lualatex") == compiled_once(tex, "lualatex")[0]

    def test_words_come_out_in_the_order_of_the_sheet(self) -> None:
        text = squeezed(" ".join(pages(everything())))
        wanted = [
            "Limestone",
            "Name",
            "IlsaQuern",
            "Class",
            "Thesheet",
            "CaCO3(s)",
            "+2HCl(aq)",
            "Amassof1.264g",
            "(a)",
            "meantitre=",
        ]
        wanted += [
            "(b)",
            "(i)",
            "Question4:3marksinall",
            "n(HCl",
            "2.604×10−2mol",
            "moldm−3",
            "•firstpoint",
            "Volumetric",
            "leftover",
        ]
        at = 0
        for word in wanted:
            at = text.find(word, at)
            assert at >= 0, word

    def test_foot_counts_pages_and_asks_to_turn_over_only_where_more_follows(self) -> None:
        found = pages(everything())
        assert len(found) == 5
        for number, text in enumerate(found, 1):
            assert f"page {number} of 5" in text
            assert "A-7KQ2" in text
            assert ("Turn over" in text) == (number in (1, 3))

    def test_file_carries_title_language_and_bookmarks(self) -> None:
        reader, _ = compiled(everything())
        assert reader.metadata is not None
        assert reader.metadata.title == "Back titration"
        assert reader.trailer["/Root"]["/Lang"] == "en-GB"
        titles: list[str] = []

        def gather(outline: Any) -> None:
            for entry in outline:
                if isinstance(entry, list):
                    gather(entry)
                else:
                    titles.append(str(entry.title))

        gather(reader.outline)
        assert titles == ["The sheet", "A section", "Limestone"]

    def test_figures_and_abbreviations_carry_their_words(self) -> None:
        reader, _ = compiled(sheet(FLOW, Paragraph(words("ecf")), spoken=(("ecf", "error carried forward"),)))
        content = reader.pages[0].get_contents()
        assert content is not None
        strings = re.findall(rb"/(Alt|E)\s*\((.*?)\)>>", content.get_data())
        said = {
            key: re.sub(rb"\\([0-7]{3})", lambda octal: bytes([int(octal[1], 8)]), text).decode("utf-16")
            for key, text in strings
        }
        assert said == {
            b"Alt": "Limestone in acid is made up to 250 cm3 and titrated -> end point",
            b"E": "error carried forward",
        }

    def test_same_document_gives_the_same_bytes(self) -> None:
        tex = latex.render(everything())
        assert pdflatex.compile_pdf(tex) == compiled_once(tex, ENGINES[0])[0]

    def test_hostile_names_print_as_they_are(self) -> None:
        names = [
            r"\input{/etc/passwd}",
            r"\write18{touch x}",
            "^^41^^5c",
            "50% #1 & $x$ ~_{}",
            r"\end{document}",
            '"quoted" [a]*',
            "--x,,y<<z>>",
        ]
        given = sheet(
            FrontBlock(
                title=names[0],
                subtitle=names[1],
                fields=(names[2],),
                filled=((names[3], names[4]),),
                marks=names[5],
                time=names[6],
            ),
            QuestionBlock(
                number=1,
                stem=(Paragraph(words(names[0])),),
                parts=(
                    Part(
                        names[2],
                        words(names[3]),
                        (
                            Table(
                                widths=(1, 1),
                                heading=(cell(names[4]), cell("*")),
                                rows=((cell("[2]"), cell(names[5])), (cell("*x"), cell(names[6]))),
                            ),
                        ),
                        1,
                    ),
                ),
                marks=1,
                bookmark=names[1],
            ),
            *(Paragraph(words(name)) for name in names),
            FlowFigure((FlowBox(words(names[3]), (words("[x]"),)),), (), alt=names[4]),
            header=names[0],
            version=names[2],
            title=names[1],
            subject=names[4],
            code=names[3],
            language="en-GB",
        )
        text = squeezed(" ".join(pages(given)))
        for name in names:
            assert text.count(squeezed(name)) >= 2, name
        assert pdflatex.problems(compiled(given)[1]) == []

    def test_every_character_of_the_tables_is_printed(self) -> None:
        signs = [sign for sign in {**_SIGNS, **_GREEK, **RAISED, **LOWERED} if sign not in "\n\r\t"]
        latin = [
            chr(code) for code in range(0xC0, 0x180) if code not in (0x132, 0x133, 0x138, 0x13F, 0x140, 0x149, 0x17F)
        ]
        latin = [letter for letter in latin if letter not in "ĦħŦŧ×÷"]
        given = sheet(
            Paragraph(words(" ".join(signs))),
            Paragraph(words(" ".join(latin)), tone="lead"),
            title="".join(signs + latin),
        )
        text = pages(given)[0]
        assert pdflatex.problems(compiled(given)[1]) == []
        # letters that the T1 encoding holds whole (t1enc.def of LaTeX declares each); others are built of two
        whole = "ĂăĄąĆćČčĎďĘęĚěĞğŁłŃńŇňŐőŔŕŘřŚśŠšŞşŤťŰűŮůŸŹźŽžŻżÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜÝàáâãäåæçèéêëìíîïñòóôõöøùúûüýÿßðþ"
        assert [letter for letter in whole if letter not in unicodedata.normalize("NFC", text)] == []

    def test_long_names_and_narrow_columns_stay_on_the_page(self) -> None:
        name = "Wolfeschlegelsteinhausenbergerdorff" * 4
        table = Table(widths=(1, 9), heading=(cell("hydrogencarbonate"), cell("b")), rows=((cell(name), cell(name)),))
        given = sheet(Paragraph(words(name)), table, Part("(a)", words(name), (), 3))
        assert pdflatex.problems(compiled(given)[1]) == []

    def test_part_never_splits(self) -> None:
        takes = {30: 2, 60: 2, 90: 3, 120: 6}  # pages of six parts of so many millimetres
        blocks: list[Block] = []
        for height in takes:
            parts = tuple(
                Part(
                    f"({letter})",
                    words(f"Demand {height}{letter}."),
                    (Working(height_mm=height, unit=f"unit{height}{letter}"),),
                    2,
                )
                for letter in "abcdef"
            )
            stem, facts = (Paragraph(words(f"Stem {height}.")),), words("essential facts")
            block = QuestionBlock(number=height, stem=stem, parts=parts, marks=12, reminder=facts)
            blocks += [*((NewPage(),) if blocks else ()), block]
        every = pages(sheet(*blocks))
        assert len(every) == sum(takes.values())
        for height, many in takes.items():
            found, every = every[:many], every[many:]
            for letter in "abcdef":
                demanded = [f"Demand {height}{letter}." in text for text in found]
                assert any(demanded)
                assert demanded == [f"unit{height}{letter}" in text for text in found]
            assert [f"Stem {height}." in text for text in found] == [f"Demand {height}a." in text for text in found]
            last = [f"Question {height}: 12 marks in all" in text for text in found]
            assert last == [f"Demand {height}f." in text for text in found]
            for place, text in enumerate(found):
                assert (f"Question {height} continued: essential facts" in text) == (place > 0)

    def test_question_that_fits_a_page_does_not_split_when_little_of_the_page_is_left(self) -> None:
        def ask(number: int) -> QuestionBlock:
            parts = tuple(
                Part(f"({letter})", words(f"Q{number}{letter}."), (Working(height_mm=55),), 1) for letter in "ab"
            )
            return QuestionBlock(number=number, stem=(Paragraph(words(f"Stem {number}.")),), parts=parts, marks=2)

        found = pages(sheet(Heading(2, words("Section A")), ask(1), Heading(2, words("Section B")), ask(2), ask(3)))
        assert len(found) == 3
        assert [f"Q{number}b." in text for number, text in enumerate(found, 1)] == [True] * 3
        assert "Section B" in found[1]
        assert not any("continued" in text for text in found)

    def test_heading_is_never_left_behind(self) -> None:
        rows = tuple((cell(f"row {number}"), cell("x")) for number in range(3))
        followers: list[tuple[str, Block]] = [
            ("row 0", Table(widths=(1, 1), heading=(cell("h"), cell("h")), rows=rows, whole=False)),
            ("Conical", FLOW),
            ("words", Paragraph(words("words " * 40))),
        ]
        blocks: list[Block] = []
        wanted: dict[str, str] = {}
        for follows, block in followers:
            for height in (205, 212, 219, 226, 233):
                heading = f"Heading {len(wanted)}."
                wanted[heading] = follows
                blocks += [NewPage(), Working(height_mm=height, rule_mm=0), Heading(2, words(heading)), block]
        found = pages(sheet(*blocks))
        for heading, follows in wanted.items():
            (page,) = [text for text in found if heading in text]
            assert follows in page.split(heading)[1], heading

    def test_long_table_repeats_its_heading_row_and_keeps_rows_whole(self) -> None:
        rows = tuple((cell(f"first{number}", f"second{number}", f"third{number}"), cell("x")) for number in range(60))
        given = sheet(
            Table(widths=(1, 3), heading=(cell("Left head"), cell("Right head")), rows=rows, width=0.5), kind="scheme"
        )
        found = pages(given)
        assert len(found) > 2
        assert all("Left head" in text for text in found)
        for number in range(60):
            assert [f"first{number} " in f"{text} " for text in found] == [
                f"third{number} " in f"{text} " for text in found
            ]
        assert pdflatex.problems(compiled(given)[1]) == []

    def test_table_that_fits_a_page_is_not_split(self) -> None:
        table = Table(widths=(1,), heading=(), rows=tuple((cell(f"row {number}."),) for number in range(20)))
        found = pages(sheet(Working(height_mm=150, rule_mm=0), table))
        assert ["row 0." in text for text in found] == ["row 19." in text for text in found] == [False, True]

    def test_what_no_page_can_hold_comes_out_whole(self) -> None:
        lines = tuple(Paragraph(words(f"line {number}.")) for number in range(120))
        for block in (
            Together(lines),
            Part("(a)", words("Demand."), lines),
            QuestionBlock(number=1, stem=lines, parts=(Part("", words("Ask.")),), marks=0),
        ):
            found = pages(sheet(Paragraph(words("Before.")), block, Paragraph(words("After."))))
            text = " ".join(found)
            assert all(f"line {number}." in text for number in range(120))
            assert "Before." in found[0]
            assert "After." in found[-1]
            assert len(found) == 4

    def test_number_stands_beside_whatever_the_stem_begins_with(self) -> None:
        heads = (
            TITRES,
            FLOW,
            BAR,
            Paragraph(words("Take care."), tone="caution"),
            Items((words("point"),)),
            Heading(3, words("Head")),
        )
        given = sheet(
            *(
                QuestionBlock(number=70 + place, stem=(head,), parts=(Part("(a)", words("Ask.")),), marks=0)
                for place, head in enumerate(heads)
            )
        )
        text = " ".join(pages(given))
        assert [f"{70 + place} " in text for place in range(len(heads))] == [True] * len(heads)
        assert pdflatex.problems(compiled(given)[1]) == []

    def test_tex_reaches_nothing_outside_its_folder(self, tmp_path: Any) -> None:
        secret = tmp_path / "secret.tex"
        secret.write_text("reached")
        with pytest.raises(Mistake, match="pdflatex stopped"):
            pdflatex.compile_pdf(
                rf"\documentclass{{article}}\begin{{document}}\input{{{secret}}}\end{{document}}".encode()
            )
        made = tmp_path / "made"
        pdflatex.compile_pdf(
            rf"\documentclass{{article}}\begin{{document}}x\immediate\write18{{touch {made}}}\end{{document}}".encode()
        )
        assert not made.exists()

    def test_first_error_is_told(self) -> None:
        with pytest.raises(Mistake, match=r"Undefined control sequence\..*nonsense"):
            pdflatex.compile_pdf(rb"\documentclass{article}\begin{document}\nonsense\end{document}")


@for_each("unit", [unit for unit in Unit if unit])
def test_every_unit_that_a_quantity_may_have_is_printed_by_siunitx(unit: Unit) -> None:
    assert siunitx_unit(unit.text) is not None
