"""The HTML form: what is written, as lxml reads it. What a browser makes of it stands in test_in_chromium.py."""

from __future__ import annotations

import re
from typing import Any, get_args

import pytest
from lxml import html as foreign

from molewright.machine import places
from molewright.nodes.blocks import (
    Block,
    Cell,
    FrontBlock,
    Heading,
    LookName,
    NewPage,
    Paragraph,
    Part,
    QuestionBlock,
    Table,
    TintName,
    Together,
    Tone,
    Working,
)
from molewright.nodes.drawing.strokes import Words
from molewright.nodes.figures import FlowBox, FlowFigure
from molewright.nodes.inline import (
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
from molewright.render import fragment, look_of_placed, renderer
from molewright.render.html.figure_type import SIZE, FigureType, row_width, rows
from molewright.render.html.lines import LineWriter
from molewright.render.html.look import LOOKS
from shared.every_node import BURETTES, EQUATION, FRACTION, TITRES, amount, cell, everything, inside, sheet, words
from shared.for_each import for_each
from shared.pictures import FIGURES

render = renderer("html").render
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></title><!-- & &amp; '",
    "{{ 7 * 7 }} {% raw %}",
    "url(http://example.org/x) ;}@import 'x'",
)


def tree(made: bytes) -> Any:
    return foreign.document_fromstring(made.decode())


def line(*inlines: Inline) -> str:
    return LineWriter().line(inlines)


def text_of(element: Any) -> str:
    return " ".join("".join(element.itertext()).split())


# ---------------------------------------------------------------- the document


def test_the_sample_holds_every_kind_of_node_and_is_written_whole() -> None:
    held = {type(node) for node in inside(everything().blocks)}
    assert held >= {*get_args(Block), *get_args(Inline), *get_args(MathsItem)}
    page = text_of(tree(render(everything())))
    for wanted in (
        "Set one",
        "Version B",
        "Paper code A-7KQ2",
        "Limestone",
        "Ilsa Quern",
        "30 minutes",
        "24 marks in all",
        "Quernholm School",
        "A section",
        "CaCO3(s) + 2HCl(aq) → CaCl2(aq) + CO2(g) + H2O(l)",
        "Question 4",
        "A mass of 1.264 g of CaCO3(s)",
        "readings of two runs",
        "(a)Complete the table.[1 mark]",
        "mean titre =answercm3",
        "(b)Explain why.[2 marks]",
        "(i)A nested part.",
        "Question 4: 3 marks in all",
        "n(HCl left over) =24.80×0.1051000",
        "Fill in blank mol dm−3",
        "Wear eye protection.",
        "first point",
        "aliquot forgotten",
        "left over",
        "before",
        "phenolphthalein",
        "temperature / °C",
        "Ce140.1",
        "That was the last question.",
    ):
        assert wanted in page, wanted


def test_equal_sheets_give_equal_bytes() -> None:
    assert render(everything()) == render(everything())


def test_nothing_runs_and_nothing_is_loaded() -> None:
    page = tree(render(everything()))
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none';")
    assert "script" not in policy
    names = {element.tag for element in page.iter() if isinstance(element.tag, str)}
    assert not names & {
        "script",
        "link",
        "img",
        "iframe",
        "object",
        "embed",
        "base",
        "form",
        "a",
        "use",
        "image",
        "audio",
        "video",
    }
    attributes = {name for element in page.iter() for name in element.attrib}
    assert not [name for name in attributes if name.startswith("on") or name in ("src", "href", "srcset", "xlink:href")]
    assert not re.search(rb"url\(|@import|https?:", render(everything()))
    assert page.get("lang") == "en-GB"


@for_each("hostile", HOSTILE)
def test_markup_in_any_text_is_text(hostile: str) -> None:
    said = words(hostile)
    given = sheet(
        FrontBlock(
            title=hostile,
            subtitle=hostile,
            fields=(hostile,),
            filled=(("Name", hostile),),
            marks=hostile,
            time=hostile,
            points=(said,),
            above=hostile,
        ),
        Heading(2, said),
        Paragraph((Text(hostile, bold=True), Symbol(hostile, note=hostile, subscript=hostile), Gap(10, hostile))),
        Paragraph((Maths((Text(hostile), Symbol(hostile, note=hostile), Sign("="), FRACTION, Gap(10, hostile))),)),
        QuestionBlock(
            number=1,
            stem=(),
            parts=(Part(hostile, said, (Working(height_mm=8, unit=hostile, label=said),), 1),),
            marks=1,
        ),
        Table(widths=(1,), heading=(cell(hostile),), rows=((cell(hostile),),), summary=hostile),
        FlowFigure((FlowBox(said, (said,)),), (), alt=hostile),
        title=hostile,
        subject=hostile,
        code=hostile,
        header=hostile,
        version=hostile,
        spoken=((hostile, hostile),),
    )
    made = render(given)
    page = tree(made)
    assert {element.tag for element in page.iter() if isinstance(element.tag, str)} <= {
        element.tag for element in tree(render(everything())).iter() if isinstance(element.tag, str)
    } | {"abbr"}
    assert text_of(page.find(".//h1")) == " ".join(hostile.split())
    assert page.find(".//title").text == hostile
    assert not [name for element in page.iter() for name in element.attrib if name.startswith("on")]
    assert "49" not in text_of(page.find(".//h1"))
    assert len(page.findall(".//style")) == 1
    (code,) = re.findall(r'@bottom-left { content: "(.*)"; }', made.decode())
    assert re.sub(r"\\([0-9a-f]+) ", lambda found: chr(int(found[1], 16)), code) == hostile


def test_a_shown_sheet_leaves_the_page_round_it_alone() -> None:
    made = fragment(sheet(everything().blocks[4]))
    style, _, body = made.partition("</style>")
    assert body.strip().startswith('<div class="molewright questions shown">')
    rules = re.sub(r"/\*.*?\*/", "", look_of_placed(), flags=re.DOTALL)
    assert style.endswith(rules.strip()[-200:] + "\n")
    selectors = [
        one.strip() for group in re.findall(r"([^{};]+)\{", rules) for one in re.split(r",(?![^()]*\))", group)
    ]
    assert len(selectors) > 80
    assert [one for one in selectors if not one.startswith((".molewright", "@media"))] == []


def test_headings_go_down_by_one() -> None:
    question = QuestionBlock(number=1, stem=(Paragraph(words("Stem.")),), parts=(), marks=0)

    def levels(*blocks: Block) -> list[str]:
        return [one.tag for one in tree(render(sheet(*blocks))).xpath("//h1|//h2|//h3")]

    assert levels(question) == ["h1", "h2"]
    assert levels(Heading(1, words("A")), Heading(2, words("B")), question) == ["h1", "h2", "h3"]
    assert levels(Together((Heading(1, words("A")),)), Heading(2, words("B")), Heading(3, words("C"))) == [
        "h1",
        "h2",
        "h3",
    ]


def test_the_running_head_says_no_title_twice() -> None:
    def head(**facts: str) -> str:
        return text_of(tree(render(sheet(Heading(1, words("Set one")), **facts))).find(".//header"))

    assert head(header="Set one", version="B") == "B Paper code A-7KQ2"
    assert head(header="Another", code="") == "Another"


@for_each("tone", get_args(Tone))
def test_every_tone_is_told_apart(tone: Tone) -> None:
    (paragraph,) = tree(render(sheet(Paragraph(words("So."), tone)))).xpath("//main/p")
    assert paragraph.get("class", "plain") == tone


# ---------------------------------------------------------------- lines and working


def test_figures_that_stand_off_the_line_are_elements() -> None:
    assert line(Text("25 cm³, CO₂")) == "25 cm<sup>3</sup>, CO<sub>2</sub>"
    assert line(Chem("SO4^2-", "aq", bold=True)) == '<b><span class="chem">SO<sub>4</sub><sup>2−</sup>(aq)</span></b>'
    assert (
        line(amount("2.604e-2", "mol", scientific=True))
        == '<span class="amount">2.604\xa0×\xa010<sup>−2</sup>\xa0mol</span>'
    )
    assert line(Symbol("M", subscript="r")) == "<i>M</i><sub>r</sub>"
    assert line(Symbol("n", "HCl", "left over")) == '<i>n</i>(<span class="chem">HCl</span> left over)'
    assert line(EQUATION).startswith(
        '<span class="chem">CaCO<sub>3</sub>(s)</span> <span class="chem">+ 2HCl(aq)</span> <span class="chem">→ '
    )
    assert line(Equation((Term("½", "O2"),), (Term("1", "O2"),))).count("½O<sub>2</sub>") == 1


def test_working_is_parted_before_each_equals_sign() -> None:
    found = foreign.fragments_fromstring(
        line(Maths((Symbol("n", "HCl"), Sign("="), FRACTION, Sign("="), amount("2.604e-3", "mol", scientific=True))))
    )
    assert [one.tag for one in found] == ["math"] * 3
    assert [text_of(one) for one in found] == ["n(HCl)", "=24.80×0.1051000", "=2.604×10−3 mol"]
    assert [one.text for one in found[1].iter("mn")] == ["24.80", "0.105", "1000"]
    assert len(found[1].findall(".//mfrac")) == 1
    assert [[text_of(part) for part in one] for one in found[2].iter("msup")] == [["10", "−3"]]


def test_signs_know_their_place() -> None:
    (made,) = foreign.fragments_fromstring(
        line(
            Maths(
                (
                    Sign("-"),
                    amount("2"),
                    Sign("×"),
                    Sign("("),
                    Sign("-"),
                    FRACTION,
                    Sign(")"),
                    Sign("+"),
                    Sign("("),
                    amount("1"),
                    Sign(")"),
                )
            )
        )
    )
    signs = [
        (one.text, one.get("form"), one.get("class"), one.get("stretchy"))
        for one in made.iter("mo")
        if one.getparent().tag != "mfrac"
    ]
    outer = [one for one in signs if one[0] != "×" or one[1] == "infix"]
    assert outer[0] == ("−", "prefix", None, None)
    assert ("(", None, "tall", None) in signs
    assert (")", None, None, "false") in signs
    assert signs.count(("−", "prefix", None, None)) == 2


def test_scripts_of_both_kinds_stand_on_one_base() -> None:
    (made,) = foreign.fragments_fromstring(
        line(Maths((Chem("SO4^2-"), Text(" and ", italic=True), Chem("H2O", bold=True))))
    )
    assert [[text_of(one) for one in script] for script in made.iter("msubsup")] == [["SO", "4", "2−"]]
    assert [[text_of(one) for one in script] for script in made.iter("msub")] == [["H", "2"]]
    assert text_of(made.find(".//mrow[@class='strong']")) == "H2O"


def test_what_is_wider_than_a_telephone_scrolls_or_breaks() -> None:
    long = Text("the amount of acid that was left over in the whole flask")
    with_fraction = line(Maths((Over((long, Sign("×"), amount("2")), (amount("3"),)),)))
    assert 'class="wide" tabindex="0" role="group"' in with_fraction
    assert "<math" not in line(Maths((long, Sign("-"), amount("2"))))
    assert "in the whole flask −\xa0" in line(Maths((long, Sign("-"), amount("2"))))
    assert 'class="wide"' not in line(Maths((FRACTION,)))


def test_abbreviations_carry_their_words() -> None:
    writer = LineWriter((("ecf", "error carried forward"), ("M1", 'point "1"')))
    assert (
        writer.words("ecf, M12, M1")
        == '<abbr title="error carried forward">ecf</abbr>, M12, <abbr title="point &quot;1&quot;">M1</abbr>'
    )
    assert "<mtext><span>\xa0<abbr" in writer.line((Maths((Text(" ecf"),)),))


# ---------------------------------------------------------------- blocks


def test_a_step_of_worked_solutions_opens_and_stands_open_on_a_question_paper() -> None:
    step = Together((Paragraph((Text("Step 1. ", bold=True), Text("The amount:"))), Paragraph(words("It is 2."))))
    headed = Together((Heading(2, words("Question 1")), Paragraph(words("Picture."))))
    worked = tree(
        render(sheet(headed, step, Together((Paragraph(words("Not named.")), Paragraph(words("So.")))), kind="worked"))
    )
    assert [text_of(one) for one in worked.iter("summary")] == ["Step 1. The amount:"]
    assert text_of(worked.find(".//details/div")) == "It is 2."
    assert worked.find(".//details").get("open") is None
    assert not [*tree(render(sheet(step))).iter("details")]


def test_space_to_work_in_has_its_measures() -> None:
    page = tree(
        render(
            sheet(
                Working(height_mm=24, unit="mol dm⁻³", label=words("x =")), Working(height_mm=25, rule_mm=0, ruled=True)
            )
        )
    )
    assert [one.get("style") for one in page.xpath("//*[@class='space' or @class='rule']")] == [
        "height:calc(24mm*var(--grow))",
        "width:calc(65mm*var(--grow))",
    ]
    assert len(page.xpath("//div[@class='lines']/div")) == 3
    assert text_of(page.xpath("//p[@class='answer']")[0]) == "x =answermol dm−3"


def test_tables_have_heads_scopes_and_joined_rows() -> None:
    table = Table(
        widths=(1, 3),
        heading=(cell("Part"), Cell(())),
        rows=((cell("a", head=True), cell("1", "2")), (cell("b"), cell("c" * 40))),
        width=0.5,
        keep_rows=frozenset({1}),
    )
    page = tree(render(sheet(table, TITRES, kind="scheme")))
    first, second = page.iter("table")
    assert [(one.get("scope"), text_of(one)) for one in first.iter("th")] == [("col", "Part"), ("row", "a")]
    assert [one.get("style") for one in first.iter("col")] == ["width:25%", "width:75%"]
    assert first.get("style") == "width:50%"
    assert [one.get("class") for one in first.find("tbody")] == [None, "continued"]
    assert "wordy" in first.get("class")
    assert text_of(second.find("caption")) == "readings of two runs"
    assert "grid" not in second.get("class")
    assert "grid" in tree(render(sheet(TITRES))).find(".//table").get("class")


def test_a_page_break_is_only_for_paper() -> None:
    assert [one.get("class") for one in tree(render(sheet(NewPage()))).iter("hr")] == ["fresh"]


@for_each("look", get_args(LookName))
def test_the_style_sheet_grows_each_look_as_its_figures_are_grown(look: LookName) -> None:
    rules = (places.templates() / "html" / "sheet.css").read_text("utf-8")
    selector = r"\.molewright" if look == "usual" else rf"\.molewright\.{look}"
    (grown,) = re.findall(rf"^{selector} {{[^}}]*--grow: ([0-9.]+);", rules, re.MULTILINE)
    assert float(grown) == LOOKS[look].grow
    page = tree(render(sheet(look=look, tint="green"))).find(".//body/div")
    assert page.get("class").split() == [
        "molewright",
        "questions",
        *([look] if look != "usual" else []),
        "tinted",
        "green",
    ]
    assert all(f".molewright.{tint} {{ --paper" in look_of_placed() for tint in get_args(TintName) if tint)


# ---------------------------------------------------------------- figures


@for_each("name", FIGURES)
def test_a_figure_is_told_once_and_drawn_in_the_colour_of_the_text(name: str) -> None:
    made = render(sheet(FIGURES[name]))
    drawings = tree(made).xpath("//figure/svg")
    assert drawings
    assert [one.get("role") for one in drawings] == ["img", *[None] * (len(drawings) - 1)]
    assert all(one.get("aria-hidden") == "true" for one in drawings[1:])
    assert len(drawings[0].find("title").text) > 8
    assert {one.get("stroke") for one in drawings} == {"currentColor"}
    for one in (part for drawing in drawings for part in drawing.iter()):
        assert {one.get("fill", "none"), one.get("stroke", "none")} <= {"none", "currentColor"}
        lengths = [one.get(name, "0") for name in ("x", "y", "width", "height", "d", "stroke-width")]
        assert not re.search(r"nan|inf|e-", " ".join(lengths))


def test_words_of_a_figure_keep_to_their_column() -> None:
    held = Words(
        lines=((words("0.0620 mol dm⁻³ of sulfuric acid, H₂SO₄, in the burette, word by word"), False),),
        x=0,
        y=0,
        width=80,
    )
    made = rows(held)
    assert len(made) > 3
    assert all(row_width(row) <= 80.5 for row in made)
    assert (
        "".join(run.text for row in made for word in row for run in word)
        == "0.0620moldm−3ofsulfuricacid,H2SO4,intheburette,wordbyword"
    )
    assert FigureType().height(held) == len(made) * FigureType().leading
    assert FigureType().widest(held.lines[0][0]) <= FigureType().width(held.lines[0][0])


def test_every_inline_may_stand_in_a_figure() -> None:
    everything_inline: tuple[Inline, ...] = (
        Text("a", italic=True),
        amount("25.0", "cm³", bold=True),
        Chem("CaCO3"),
        Symbol("n", "HCl"),
        Gap(20, "mol"),
        EQUATION,
        Maths((FRACTION,)),
    )
    drawn = tree(render(sheet(FlowFigure((FlowBox(everything_inline, ()),), ()))))
    said = "".join(text_of(one) for one in drawn.iter("text"))
    for wanted in ("a25.0", "cm3", "CaCO3", "n(HCl)", ".....", "mol", "2HCl(aq)", "24.80", "1000"):
        assert wanted in said
    assert FigureType().width((Gap(20),)) == pytest.approx(20 * 72 / 25.4, abs=SIZE)


def test_a_burette_is_told_by_its_lines_only() -> None:
    (said,) = tree(render(sheet(BURETTES))).xpath("//svg/title/text()")
    assert "midway between" in said
    assert "24.6" not in said
