"""The plain-text form: columns, fractions on the line, and nothing wider than a terminal."""

from __future__ import annotations

import unicodedata
from typing import Any, get_args

from hypothesis import given
from hypothesis import strategies as st

from molewright.nodes.blocks import (
    Block,
    Heading,
    Items,
    Paragraph,
    Part,
    QuestionBlock,
    Table,
)
from molewright.nodes.figures import (
    BarFigure,
    BarPiece,
)
from molewright.nodes.inline import (
    Chem,
    Gap,
    Inline,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Text,
)
from molewright.render import text
from molewright.render.text.lines import COLUMNS, hung, plain_line, shown_width, wrapped
from shared.every_node import (
    EQUATION,
    FRACTION,
    TITRES,
    amount,
    cell,
    everything,
    inside,
    sheet,
    words,
)
from shared.for_each import for_each


def printed(*blocks: Block, **others: Any) -> str:
    return text.render(sheet(*blocks, **others)).decode()


def body(*blocks: Block) -> list[str]:
    """The lines of the blocks, between the title and the code."""
    return printed(Heading(3, words("head")), *blocks).split("\n")[2:-4]


def plain(*inlines: Inline) -> str:
    return plain_line(inlines).replace("\N{NO-BREAK SPACE}", " ")


def test_the_sample_holds_every_kind_of_node() -> None:
    held = {type(node) for node in inside(everything().blocks)}
    assert held >= {*get_args(Block), *get_args(Inline), *get_args(MathsItem)}


def test_words_come_out_in_the_order_of_the_sheet() -> None:
    whole = text.render(everything()).decode()
    wanted = [
        "Set one",
        "Version B",
        "Limestone",
        "Name: Ilsa Quern",
        "Class: ...",
        "30 minutes",
        "24 marks",
        "• Show working.",
    ]
    wanted += [
        "A section\n---",
        "CaCO₃(s) + 2HCl(aq) → CaCl₂(aq) + CO₂(g) + H₂O(l)",
        "4    A mass of 1.264 g of CaCO₃(s)",
        "Run",
    ]
    wanted += [
        "(a)  Complete",
        "[1 mark]",
        "mean titre = ....",
        " cm³",
        "(b)",
        "[2 marks]",
        "_____",
        "(i)  A nested part.",
    ]
    wanted += ["Question 4: 3 marks in all", "n(HCl left over) = (24.80 × 0.105) / 1000", "Fill in ..........", "Mᵣ"]
    wanted += [
        "Caution: Wear",
        "• first",
        "Figure: flow",
        "1. Flask",
        "acid",
        "→  pipette",
        "2. Burette",
        "Figure: bar",
        "[///",
    ]
    wanted += ["That was the last question.", "ecf: error carried forward", "A-7KQ2"]
    at = 0
    for piece in wanted:
        at = whole.find(piece, at)
        assert at >= 0, piece


def test_equal_sheets_give_equal_bytes_that_end_in_one_newline() -> None:
    written = text.render(everything())
    assert written == text.render(everything())
    assert written.endswith(b"7KQ2\n")
    assert text.SUFFIX == ".txt"


def test_no_line_is_wider_than_78_columns_nor_ends_in_a_space() -> None:
    for line in text.render(everything()).decode().split("\n"):
        assert shown_width(line) <= COLUMNS == 78
        assert line == line.rstrip()


@given(
    st.lists(
        st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=200),
        min_size=1,
        max_size=6,
    ),
    st.lists(st.floats(0.1, 5), min_size=1, max_size=6),
)
def test_no_text_makes_a_line_too_wide(texts: list[str], widths: list[float]) -> None:
    row = tuple(cell(texts[place % len(texts)]) for place in range(len(widths)))
    blocks = (
        Table(widths=tuple(widths), heading=row, rows=(row, row)),
        Part("(a)", words(texts[0]), (Paragraph(words(texts[-1]), tone="caution", indent_mm=30),), 12),
        Items((words(texts[0]),)),
    )
    written = printed(*blocks, header=texts[0], version=texts[-1], spoken=(("ecf", texts[0]),))
    assert max(map(shown_width, written.split("\n"))) <= COLUMNS


@given(st.text(alphabet="ab \u00a0", max_size=60), st.integers(3, 20))
def test_broken_lines_hold_all_the_words(said: str, width: int) -> None:
    lines = wrapped(said, width)
    assert "".join("".join(lines).split()) == "".join(said.split())
    assert all(len(line) <= width for line in lines)


# ---------------------------------------------------------------- lines


@for_each(
    ("given_", "shown"),
    [
        (amount("0.100", "mol dm⁻³"), "0.100 mol dm⁻³"),
        (amount("0.002604", "mol", scientific=True), "2.604 × 10⁻³ mol"),
        (Chem("SO4^2-", "aq"), "SO₄²⁻(aq)"),
        (Chem("Na2CO3.10H2O"), "Na₂CO₃·10H₂O"),
        (Symbol("n", "NaOH", "left over"), "n(NaOH left over)"),
        (Symbol("M", subscript="r"), "Mᵣ"),
        (Symbol("V", subscript="left"), "V_left"),
        (Maths((FRACTION,)), "(24.80 × 0.105) / 1000"),
        (Maths((Over((amount("1.0", "g"),), (amount("2.0", "g"),)),)), "(1.0 g) / (2.0 g)"),
        (Maths((Over((amount("1"),), (Over((amount("2"),), (amount("3"),)),)),)), "1 / (2 / 3)"),
        (Maths((Sign("("), amount("5"), Sign("−"), amount("3"), Sign(")"), Sign("×"), amount("2"))), "(5 − 3) × 2"),
        (Maths((amount("1"), Sign("="), Sign("−"), amount("1"))), "1 = −1"),
        (Gap(22, "mol"), ".......... mol"),
    ],
)
def test_inline_nodes_are_written_on_the_line(given_: Inline, shown: str) -> None:
    assert plain(given_) == shown


@for_each("width", range(24, 60))
def test_working_breaks_only_before_equals(width: int) -> None:
    line = plain_line(
        (Maths((Symbol("n", "HCl"), Sign("="), FRACTION, Sign("="), amount("2.604e-3", "mol", scientific=True))),)
    )
    first, *others = wrapped(line, width)
    assert first.startswith("n(HCl)")
    assert all(other.startswith("= ") for other in others)


@for_each("width", range(14, 52))
def test_equation_breaks_only_before_the_arrow_or_a_plus(width: int) -> None:
    first, *others = wrapped(plain_line((EQUATION,)), width)
    assert first.startswith("CaCO₃(s)")
    assert all(other.startswith(("→ ", "+ ")) for other in others)


def test_amount_is_never_parted_from_its_unit() -> None:
    line = plain_line((Text("made up to "), amount("250", "cm³"), Text(" with water")))
    for width in range(8, 30):
        assert any("250 cm³" in found for found in wrapped(line, width))


def test_wide_label_indents_only_its_own_line() -> None:
    assert hung("Figure:", "one two three four", 14, hang=2) == ["Figure: one", "  two three", "  four"]


def test_wide_and_combining_letters_are_counted_as_a_terminal_shows_them() -> None:
    # Unicode Standard Annex 11: wide characters take two columns
    assert unicodedata.east_asian_width("水") == "W"
    assert shown_width("水e\u0301") == 3


# ---------------------------------------------------------------- blocks


def test_columns_of_a_table_are_aligned_and_blank_cells_keep_their_place() -> None:
    assert body(TITRES) == [
        "Table: readings of two runs",
        "Run                 |   1   |    2",
        "--------------------+-------+-----",
        "final reading / cm³ | 25.30 | 9.85",
        "titre / cm³         |       |",
    ]


def test_rows_of_several_lines_are_ruled_apart_but_not_from_their_continuation() -> None:
    rows = ((cell("a", "b"), cell("c")), (cell("d"), cell("e")), (cell("f"), cell("g")))
    assert body(Table(widths=(1, 1), heading=(), rows=rows, keep_rows=frozenset({1}))) == [
        "a   | c",
        "b   |",
        "d   | e",
        "----+----",
        "f   | g",
    ]


def test_narrow_columns_of_a_wide_table_keep_their_natural_width() -> None:
    table = Table(widths=(1, 1, 1), heading=(), rows=((cell("M1"), cell("word " * 40), cell("word " * 40)),))
    assert body(table)[0].startswith("M1  | word word")


def test_no_number_and_no_formula_of_a_table_is_cut() -> None:
    numbers = ("0.00956", "0.00844", "0.00731", "0.00616", "0.00498", "0.00383", "0.00268", "0.00151", "0.00042")
    wide = Table(widths=(2, *(1,) * 9), heading=(cell("Time / min"), *map(cell, "123456789")),
                 rows=((cell("I₂ / mol dm⁻³"), *map(cell, numbers)),))  # fmt: skip
    assert body(wide)[:4] == ["Time / min | I₂ / mol dm⁻³", "-----------+--------------", "1          | 0.00956",
                              "2          | 0.00844"]  # fmt: skip
    formula = "K₂Fe(C₂O₄)₂·2H₂O"
    narrow = Table(widths=(1, 6), heading=(), rows=((cell(f"95.6 % {formula}"), cell("word " * 40)),))
    assert any(formula in line for line in body(narrow))


def test_marks_stand_at_the_right_end_of_the_last_line_of_the_demand() -> None:
    lines = body(Part("(a)", words("Explain " + "why " * 20), (), 2))
    assert len(lines) == 2
    assert lines[-1].startswith("     why")
    assert lines[-1].endswith(" [2 marks]")
    assert len(lines[-1]) == COLUMNS


def test_marks_go_to_a_line_of_their_own_where_the_last_line_is_full() -> None:
    lines = body(Part("", words("x" * 75), (), 1))
    assert lines == ["x" * 75, " " * 70 + "[1 mark]"]


def test_number_of_a_question_of_one_part_stands_before_its_demand() -> None:
    assert body(QuestionBlock(number=3, stem=(), parts=(Part("", words("State it.")),), marks=0)) == ["3    State it."]


def test_title_is_printed_where_no_block_carries_it() -> None:
    assert printed(Paragraph(words("x"))).startswith("Back titration\n\nx\n")
    assert "Back titration" not in printed(Heading(1, words("Other")))


def test_bar_is_drawn_in_proportion() -> None:
    lines = body(
        BarFigure(
            words("total"), (BarPiece(0.25, words("a"), True), BarPiece(0.5, words("b")), BarPiece(0.25, words("c")))
        )
    )
    assert lines[1] == f"[{'/' * 15}{'=' * 30}{'+' * 15}]"
    assert lines[2:] == ["/ a", "= b", "+ c"]
