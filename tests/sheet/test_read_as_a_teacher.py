"""What a teacher noticed on printed pages: words that fit what was done, one style of units, schemes that agree with themselves."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.units import words_in_litres
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.nodes.blocks import ClosingLine, FrontBlock, Heading, Paragraph, QuestionBlock, Table, Together
from molewright.nodes.inline import Text
from molewright.order.order import Order
from molewright.papers.choosing import default_title
from molewright.question.check import Questions
from molewright.render.text import render
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once, every_sheet, every_sheet_at
from shared.for_each import for_each

Compose = Callable[[str, Level, UnitStyle], Any]
KEYS = sorted(built_in().archetypes)


def read(sheet: Any) -> str:
    return re.sub(r"\s+", " ", render(sheet).decode())


@every_kind_once
def test_no_wrong_answer_of_the_scheme_lies_in_the_range_that_it_accepts(turn: Turn, compose: Compose) -> None:
    for question in compose(*turn).questions:
        accepted = question.worked.accepted
        for wrong in question.mistakes.wrong if question.points else ():
            printed = accepted.low.number <= wrong.answer.number <= accepted.high.number
            assert wrong.hidden or not printed, f"{wrong.answer} is listed as wrong and accepted"


@every_sheet_at("scaffolded", "litre")
def test_the_litre_style_never_says_cubic(turn: Turn, compose: Compose, text_of: Any) -> None:
    for sheet in compose(*turn).sheets():
        found = re.search(r".{0,40}[cd]m⁻?³.{0,20}", re.sub(r"\s+", " ", text_of(sheet)))
        assert found is None, found and found[0]


def test_units_in_plain_words_are_turned_the_longer_first() -> None:
    assert words_in_litres("5.0 g dm⁻³ in 25 cm³, 1 mol dm⁻³, 24 dm³ mol⁻¹") == "5.0 g/L in 25 mL, 1 mol/L, 24 L/mol"


@every_sheet_at("structured")
def test_no_two_parts_ask_for_the_same(turn: Turn, compose: Compose) -> None:
    for question in compose(*turn).paper.blocks[2:-1]:
        asked = [re.sub(r"^.*?(?=the )", "", read_line(part.demand)) for part in question.parts]
        asked = [one for one in asked if one.startswith("the amount")]
        assert len(asked) == len(set(asked)), asked


RAW = re.compile(r"[A-Za-z)\]][0-9]|\^[0-9]?[+-]")


def plain_words(sheet: Any, nodes_of: Callable[[Any], Any]) -> Iterator[str]:
    """All that a sheet prints as words: its lines without formulae and symbols, and its title, header and bookmarks."""
    yield from (sheet.title, sheet.header)
    for node in nodes_of(sheet):
        match node:
            case Text():
                yield node.text
            case FrontBlock():
                yield node.title
            case QuestionBlock():
                yield node.bookmark


@every_sheet
def test_no_formula_is_printed_as_it_is_typed(
    turn: Turn, bank: Bank, compose: Compose, nodes_of: Callable[[Any], Any]
) -> None:
    key = turn[0]
    title = default_title(bank, Order(seed=1, archetypes=(key,)))
    for sheet in compose(*turn).sheets():
        for words in (title, *plain_words(sheet, nodes_of)):
            for word in words.split():
                assert not RAW.search(word) or with_scripts(word) == word, words


@every_kind_once
def test_pupils_are_told_no_method_by_the_outline(turn: Turn, compose: Compose, nodes_of: Callable[[Any], Any]) -> None:
    composed = compose(*turn)
    for sheet in (composed.paper, composed.worked):
        marks = [node.bookmark for node in nodes_of(sheet) if isinstance(node, QuestionBlock)]
        marks += [read_line(node.line) for node in nodes_of(sheet) if isinstance(node, Heading) and node.level == 2]
        assert marks == [f"Question {number}" for number in range(1, len(composed.questions) + 1)]


def read_line(line: Any) -> str:
    from molewright.render.text.lines import plain_line

    return plain_line(line)


def test_what_an_excess_in_a_portion_leaves_is_told_for_the_portion(compose: Compose) -> None:
    said = read(compose("silver-back", "scaffolded", "dm3").paper)
    assert re.search(r"left over in the \d+\.\d cm³ portion", said)
    assert "Both must be for one portion" in said
    assert "for all of the solution" not in said


def test_a_scaling_is_hinted_at_where_a_step_of_one_to_one_follows_it(compose: Compose) -> None:
    assert "The portion is only part of the solution" in read(compose("silver-back", "scaffolded", "dm3").paper)


def test_the_blank_titration_is_called_so_in_the_stem(compose: Compose) -> None:
    said = read(compose("back-portions-blank", "structured", "dm3").paper)
    assert said.index("This was the blank titration") < said.index("used in the blank titration")


BLANKS = ("saponification", "saponification-why", "back-blank", "back-blank-fault", "back-portions-blank")


@for_each("key", BLANKS)
def test_a_blank_ends_at_the_colour_of_the_indicator_of_the_sample(key: str, bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes[key]
    for variant in archetype.variants:
        for indicator in variant.indicators:
            chosen = Chosen(
                variant=variant, ask=variant.asks[0], context=variant.contexts[0], indicator=indicator, table=False
            )
            question = questions.make(archetype, Stream(f"blank/{indicator}"), chosen)
            composer = Composer((question,), bank, Setting(title="Practice", code="A-0000-000", levels=("exam",)))
            said = read(composer.question_paper())
            assert said.count(f"{question.draw.indicator} ") == 2
            others = {one for one in bank.indicators if one != question.draw.indicator}
            assert not [one for one in others if f" {one} " in said]


def test_a_titration_by_another_equation_keeps_the_indicator_of_its_own(bank: Bank) -> None:
    procedure = bank.archetypes["carbonate-and-hydrogencarbonate"].variants[0].procedure
    first, last = procedure.titrations
    assert procedure.indicator(first, "methyl red") == "phenolphthalein"
    assert procedure.indicator(last, "methyl red") == "methyl red"


def test_a_titre_of_the_whole_sample_is_no_mean(compose: Compose) -> None:
    for question in compose("vitamin-back", "structured", "dm3").paper.blocks[2:-1]:
        told = " ".join(read_line(block.line) for block in question.stem if isinstance(block, Paragraph))
        if "needed to reach the end point" in told or "end point was reached after" in told:
            assert all("mean titre" not in read_line(part.demand) for part in question.parts)


def test_oil_is_not_said_to_hold_alkali(compose: Compose) -> None:
    assert "KOH in the oil" not in read(compose("saponification", "structured", "dm3").paper)


def test_what_has_reacted_is_not_said_to_be_in_the_flask(compose: Compose) -> None:
    made = compose("soda-water-back", "structured", "dm3")
    assert "Na₂CO₃ in the whole" not in read(made.worked)
    assert "The amount of Na₂CO₃ from the " in read(made.worked)


def test_whoever_names_a_metal_may_use_a_periodic_table_and_has_a_line_for_the_name(compose: Compose) -> None:
    said = read(compose("name-the-chloride", "structured", "dm3").paper)
    assert "a periodic table" in said
    assert "name of M =" in said
    assert "periodic table" not in read(compose("back-whole", "structured", "dm3").paper)


@every_kind_once
def test_relative_atomic_masses_below_are_printed_below(turn: Turn, compose: Compose, text_of: Any) -> None:
    said = re.sub(r"\s+", " ", text_of(compose(*turn).paper))
    assert ("masses below" in said) == ("Relative atomic masses: " in said)


def test_the_sheet_says_first_that_it_is_no_method(compose: Compose) -> None:
    front, caution, *questions, end = compose("back-whole", "structured", "dm3").paper.blocks
    assert isinstance(front, FrontBlock)
    assert isinstance(caution, Together)
    (told,) = caution.blocks
    assert isinstance(told, Paragraph)
    assert told.tone == "caution"
    assert questions
    assert isinstance(end, ClosingLine)


def test_marks_are_numbered_in_the_order_of_the_page(compose: Compose) -> None:
    made = compose("burette-readings", "structured", "dm3").scheme
    table = next(block for block in made.blocks if isinstance(block, Table) and block.summary.startswith("Mark points"))
    own = [row for row in table.rows if read_line(row[0].lines[0]) != "or"]
    assert [read_line(row[2].lines[0]) for row in own] == [f"{number}" for number in range(1, len(own) + 1)]
    assert "mean" in read_line(own[1][1].lines[0])
