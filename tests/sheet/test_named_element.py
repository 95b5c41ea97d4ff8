"""Naming the element is a part and a mark of its own, the same on every sheet at every level."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from generator.bank.definitions import Bank
from generator.paper import record
from generator.question.judgement.element import KIND
from generator.render.text import render
from generator.sheet.nodes import QuestionBlock, Table
from generator.sheet.parts import LEVELS, Level

Compose = Callable[..., Any]
NAMED = (
    "name-the-carbonate",
    "name-the-hydroxide",
    "name-the-chloride",
    "name-the-dichloride",
    "name-the-metal-back",
    "metal-in-acid",
)
# Molar mass (g mol-1) of the compound and the metal in it, from CIAAW, Abridged Standard Atomic Weights 2021
METALS = {
    "M2CO3": {"73.8": "Li", "106.0": "Na", "138.2": "K", "231.0": "Rb"},
    "MOH": {"23.9": "Li", "40.0": "Na", "56.1": "K"},
    "MCl": {"42.4": "Li", "58.5": "Na", "74.6": "K", "121.0": "Rb"},
    "MCl2": {"95.3": "Mg", "111.1": "Ca", "158.6": "Sr"},
    "MCO3": {"84.3": "Mg", "100.1": "Ca", "147.6": "Sr", "197.3": "Ba"},
    "M": {"24.3": "Mg", "65.4": "Zn"},
}


def read(sheet: Any) -> str:
    return " ".join(render(sheet).decode().replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("key", NAMED)
def test_the_last_part_asks_for_the_element_for_one_mark(key: str, level: Level, compose: Compose) -> None:
    made = compose(key, level, "dm3")
    for block, question in zip(
        (one for one in made.paper.blocks if isinstance(one, QuestionBlock)), made.questions, strict=True
    ):
        last = block.parts[-1]
        assert last.marks == 1
        assert len(last.blocks) == (2 if level == "scaffolded" else 1)  # a hint, and one line for the name
        assert question.marks == len(question.points) + 1 == block.marks
        assert question.extras[-1].kind == KIND


@pytest.mark.parametrize("key", NAMED)
def test_the_element_is_the_one_that_was_drawn(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    for question in made.questions:
        (substance,) = question.draw.variant.unknown
        drawn = f"{float(question.draw.truth[f'molar mass of {substance}']):.1f}"
        assert str(question.extras[-1].points[-1].answer).endswith(f"({METALS[substance][drawn]})")


@pytest.mark.parametrize("level", LEVELS)
def test_key_scheme_worked_solutions_and_record_name_the_same_element(level: Level, compose: Compose) -> None:
    made = compose("name-the-carbonate", level, "dm3")
    held = record(
        type("Paper", (), {"composer": made.composer, "questions": made.questions, "code": "A", "version": "A"})()
    )
    table = next(block for block in made.key.blocks if isinstance(block, Table))
    scheme, worked = read(made.scheme), read(made.worked)
    for number, (question, kept) in enumerate(zip(made.questions, held["questions"], strict=True), 1):
        answer = str(question.extras[-1].points[-1].answer)
        (part,) = kept["further parts"]
        assert (part["kind"], part["answers"], part["marks"]) == ("element", [answer], 1)
        assert [answer.split()[0], answer.split()[1].strip("()")] in [
            [name, symbol] for symbol, name, _ in part["elements"]
        ]
        assert kept["marks in all"] == question.marks
        (row,) = [row for row in table.rows if row[0].lines[0][0].text == f"{number}{part['part']}"]
        assert row[1].lines[0][0].text == answer
        sentence = f"M is {answer.split()[0]}: its relative atomic mass"
        assert sentence in worked
        assert f"Total for Question {number}: {question.marks} marks" in scheme


def test_the_scheme_lists_what_a_carried_error_may_name(compose: Compose) -> None:
    scheme = read(compose("name-the-dichloride", "exam", "dm3").scheme)
    assert "Allow ecf" in scheme
    # one row of a table is broken over lines, so that only single words can be looked for
    assert all(mass in scheme for mass in ("24.3", "40.1", "87.6", "137.3"))


def test_a_molar_mass_alone_names_nothing(bank: Bank, compose: Compose) -> None:
    key = next(one for one in bank.archetypes if one == "basicity")
    assert all(not question.extras for question in compose(key, "exam", "dm3").questions)
