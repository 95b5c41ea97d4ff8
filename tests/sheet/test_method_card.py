"""Method cards: the steps of every kind of question in general words, with nothing of the numbers of any question."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.derivation.plans import Plans
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.experiment.relations.kinds import ROLES, RelationKind
from molewright.nodes.blocks import Heading, Paragraph, Together
from molewright.nodes.figures import FlowFigure
from molewright.nodes.inline import Text
from molewright.order.order import Order, Wanted
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.method_card import method_card, method_sheet
from molewright.sheet.parts import hint
from molewright.sheet.reasons import PLACES, reason
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once

KEYS = sorted(built_in().archetypes)
FIXED = {"1000", "100", "1"}  # of units and percentages
HALF_A_PAGE = 15  # lines of steps, beside the title and one row of the picture
RELATIONS: tuple[RelationKind, ...] = get_args(RelationKind)


def said(card: Together) -> list[str]:
    """The lines of a card, without its title."""
    return [plain_line(one.line) for one in card.blocks if isinstance(one, Paragraph)]


def drawn(card: Together) -> list[str]:
    figures = [one for one in card.blocks if isinstance(one, FlowFigure)]
    return [plain_line(line) for one in figures for box in one.boxes for line in (box.title, *box.lines)]


@every_kind_once
def test_a_card_has_every_step_of_its_kind_and_no_number_of_a_question(
    turn: Turn, compose: Callable[..., Any], bank: Bank, questions: Questions
) -> None:
    key, _, style = turn
    composer = compose(*turn).composer
    writer = composer.writers[0]
    question = writer.question
    card = method_card(writer)
    heading = card.blocks[0]
    assert isinstance(heading, Heading)
    assert plain_line(heading.line).replace("\N{NO-BREAK SPACE}", " ") == with_scripts(bank.archetypes[key].title)
    assert drawn(card)
    steps = [line for line in said(card) if re.match(r"\d+\. ", line)]
    first = bool(question.draw.runs or question.draw.archetype.graph)
    assert len(steps) == len(question.worked.steps) + first <= HALF_A_PAGE
    words = [
        piece.text for one in card.blocks if isinstance(one, Paragraph) for piece in one.line if isinstance(piece, Text)
    ]
    told = re.sub(r"^\d+\. |\(?steps? \d+(?:(?:, \d+)* and \d+)?\)?", "", "\n".join(words), flags=re.MULTILINE)
    kept = {str(solution.told_in_cm3) for solution in question.draw.variant.procedure.solutions()}
    relations = [step.relation for step in question.worked.steps if step.relation is not None]
    base = {"10"} if any(one.form == "logarithm" for one in relations) else set()
    assert set(re.findall(r"(?<![₀-₉])\d[\d.]*", told)) <= FIXED | kept | base
    # another question of the kind, with other numbers, has the same card to the letter
    draw = question.draw
    chosen = Chosen(
        variant=draw.variant, ask=draw.ask, context=draw.context, indicator=draw.indicator, table=bool(draw.runs)
    )
    other = questions.make(draw.archetype, Stream(f"card/other/{key}"), chosen)
    assert method_card(Writer(other, bank, composer.words, style)) == card
    assert other.draw.given != draw.given


def test_every_kind_of_relation_has_its_general_words(bank: Bank) -> None:
    words = Words(bank.words)
    for kind in RELATIONS:
        if kind == "total":  # told by its terms
            continue
        for named in (one.replace("_", " ") for one in ROLES.get(kind) or PLACES[kind]):
            assert words.has(f"card {kind} {named}") or words.has(f"card {kind}"), (kind, named)


@every_kind_once
def test_a_sum_that_takes_an_amount_several_times_names_the_ratio(turn: Turn, compose: Callable[..., Any]) -> None:
    """On the card, in the reason and in the hint: without it the sum comes out wrong, or below zero."""
    composer = compose(*turn).composer
    for writer in composer.writers:
        steps = [line for line in said(method_card(writer)) if re.match(r"\d+\. ", line)]
        first = len(steps) - len(writer.question.worked.steps)
        for line, step in zip(steps[first:], writer.question.worked.steps, strict=True):
            relation = step.relation
            if relation is None or relation.kind != "total" or relation.reaction is None:
                continue
            shares = [share for _, share in relation.alone(step.variable.name)[1]]
            assert line.count("the ratio in the equation") == sum(abs(share) != 1 for share in shares), line
            if any(abs(share) != 1 for share in shares):
                for told in (plain_line(reason(writer, step)), plain_line(hint(writer, step))):
                    pairs = re.findall(r"(\d+)\smol \S+ reacts? with (\d+)\smol", told)
                    ratios = {abs(share) / abs(relation.quantities[0][1]) for _, share in relation.quantities[1:]}
                    assert {Fraction(int(one), int(other)) for one, other in pairs} == ratios, told


def test_each_kind_stands_once_whatever_the_levels(bank: Bank, questions: Questions) -> None:
    made = [
        questions.make(bank.archetypes[key], Stream("once"))
        for key in ("back-portions", "direct-one-to-two", "back-portions")
    ]
    composers = [
        Composer(made, bank, Setting(title="Practice", code="7KQ2", levels=(level,) * 3))
        for level in ("scaffolded", "exam")
    ]
    sheet = method_sheet(composers, "7KQ2")
    assert sum(isinstance(block, Together) for block in sheet.blocks) == 2
    told = renderer("text").render(sheet).decode()
    assert "total added − left over" in " ".join(told.split())


@pytest.mark.thorough
def test_a_set_has_one_sheet_of_cards_and_none_that_is_not_asked_for(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    for sheets, found in ((("questions", "method"), 2), (Wanted().sheets, 0)):
        papers = PaperSet(
            bank, Order(seed=3, count=2), Wanted(versions=("A", "B"), sheets=sheets, forms=("pdf", "text")), plans
        )
        told = write_papers(papers, tmp_path / str(found))
        assert sum("method-cards" in name for name in told.files) == found
