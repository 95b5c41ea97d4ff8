"""Every kind with a reaction can ask for its equation, its paper does not give it away, and what is printed as right is so judged."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from molewright.answer.equations import judge_equation
from molewright.bank.definitions import Bank
from molewright.chem.reaction import Reaction
from molewright.draw.chosen import choose
from molewright.draw.stream import Stream
from molewright.experiment.procedure import React, Titrate
from molewright.further_parts.equations.which import MARKS
from molewright.marking.typed_equations import read_equation
from molewright.question.asked_equation import (
    drawn_equation,
    equation_kinds,
    marks_for_equation,
    with_equation,
)
from molewright.question.check import Question, Questions
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.further_parts import further_answers
from molewright.sheet.parts import Level
from shared.kinds import each_kind
from shared.typed_back import differences


def composed(question: Question, bank: Bank, level: Level) -> Composer:
    return Composer((question,), bank, Setting(title="Equations", code="A-TEST-0000", levels=(level,), version="A"))


@each_kind()
def test_an_equation_is_asked_wherever_something_reacts_and_its_paper_does_not_give_it_away(
    bank: Bank, questions: Questions, key: str
) -> None:
    stream = Stream(f"equations/{key}")
    chosen = choose(bank.archetypes[key], stream)
    reacts = [act for act in chosen.variant.procedure.operations if isinstance(act, React | Titrate) and act.reactions]
    kinds = equation_kinds(questions, chosen)
    assert bool(kinds) == bool(reacts)
    if not kinds:
        return
    assert drawn_equation(questions, chosen) in kinds
    plain = questions.make(bank.archetypes[key], stream, chosen)
    for at, kind in enumerate(kinds):
        question = with_equation(questions, plain, kind)
        asked = [part for part in question.further_parts if part.equation is not None]
        assert sum(part.marks for part in asked) == marks_for_equation(questions, chosen, kind)
        hidden = {reaction for part in asked if part.equation for reaction in part.equation.hides}
        assert sum(part.marks for part in asked) == MARKS[kind] * len(
            hidden
        )  # nothing is left out that is not asked for
        wanted = [(part.equation.asked.reaction, part.demand) for part in asked if part.equation]
        assert len(set(wanted)) == len(wanted)  # nothing is asked for twice
        composer = composed(question, bank, "structured" if at % 2 else "exam")
        writer = composer.writers[0]
        for part in asked:
            held = part.equation
            assert held is not None
            read = read_equation(plain_line(further_answers(writer, part)), held.asked)
            assert isinstance(read, Reaction), read
            assert judge_equation(held.asked, read).right
            for wrong in held.wrong:
                assert not judge_equation(held.asked, wrong.reaction).right
                assert wrong.leads_to != question.worked.answer  # with the right ratio in it, it leads to nothing wrong
        if kind != "combined half-equations":
            require_hidden(render(composer.question_paper()).decode(), asked[0].equation.hides)  # type: ignore[union-attr]


def require_hidden(page: str, hides: tuple[Reaction, ...]) -> None:
    """No coefficient of the equation stands before its formula anywhere, and no other arrow leads to its products."""
    for reaction in hides:
        assert str(reaction) not in page
        for one in reaction.terms:
            if one.coefficient > 1:
                assert not re.search(
                    rf"(?<![0-9.,·]){one.coefficient}{re.escape(str(one.formula))}(?![₀-₉A-Za-z(])", page
                ), one


@pytest.mark.parametrize(
    "key", ["direct-one-to-two", "back-portions", "steel", "unknown-dibasic-acid", "direct-purity"]
)
def test_what_the_scheme_prints_of_equations_the_marker_pays(
    bank: Bank, questions: Questions, tmp_path: Path, key: str
) -> None:
    archetype = bank.archetypes[key]
    stream = Stream(f"typed equations/{key}")
    chosen = choose(archetype, stream)
    plain = questions.make(archetype, stream, chosen)
    led = 0
    for kind in equation_kinds(questions, chosen):
        question = with_equation(questions, plain, kind)
        led += sum(
            wrong.leads_to is not None
            for part in question.further_parts
            if part.equation
            for wrong in part.equation.wrong
        )
        _, found = differences(question, "structured", bank, tmp_path)
        assert not found, "\n".join(found)
    assert led
