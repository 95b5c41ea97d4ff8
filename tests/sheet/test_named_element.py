"""Naming an element or a substance is a part of its own, with its reason, the same on every sheet at every level."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from molewright.bank.definitions import Bank
from molewright.experiment.identity import nearest_candidate
from molewright.further_parts.reasoning.naming_the_substance import ELEMENT, SUBSTANCE
from molewright.nodes.blocks import QuestionBlock, Table
from molewright.papers.record.writer import record
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.parts import LEVELS, Level
from shared.for_each import for_each, for_every
from shared.quantities import q

Compose = Callable[..., Any]
NAMED = (
    "name-the-carbonate",
    "name-the-hydroxide",
    "name-the-chloride",
    "name-the-dichloride",
    "name-the-metal-back",
    "name-the-hydroxide-back",
    "metal-in-acid",
)
# Molar mass (g mol-1) of the compound and the metal in it, from CIAAW, Abridged Standard Atomic Weights 2021
METALS = {
    "M2CO3": {"73.8": "Li", "106.0": "Na", "138.2": "K", "231.0": "Rb"},
    "MOH": {"23.9": "Li", "40.0": "Na", "56.1": "K"},
    "MCl": {"42.4": "Li", "58.5": "Na", "74.6": "K", "121.0": "Rb"},
    "MCl2": {"95.3": "Mg", "111.1": "Ca", "158.6": "Sr"},
    "MCO3": {"84.3": "Mg", "100.1": "Ca", "147.6": "Sr", "197.3": "Ba"},
    "M(OH)2": {"58.3": "Mg", "74.1": "Ca", "121.6": "Sr"},
    "M": {"24.3": "Mg", "65.4": "Zn"},
}


def read(sheet: Any) -> str:
    return " ".join(render(sheet).decode().replace("\N{NO-BREAK SPACE}", " ").split())


@for_every(key=NAMED, level=LEVELS)
def test_the_last_part_asks_for_the_element_and_the_reason(key: str, level: Level, compose: Compose) -> None:
    made = compose(key, level, "dm3")
    for block, question in zip(
        (one for one in made.paper.blocks if isinstance(one, QuestionBlock)), made.questions, strict=True
    ):
        last = block.parts[-1]
        assert last.marks == 2
        assert len(last.blocks) == (
            3 if level == "scaffolded" else 2
        )  # a hint, a line for the name, lines for the reason
        assert question.marks == len(question.points) + 2 == block.marks
        assert question.further_parts[-1].kind == ELEMENT


@for_each("key", NAMED)
def test_the_element_is_the_one_that_was_drawn(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    for question in made.questions:
        (substance,) = question.draw.variant.unknown
        drawn = f"{float(question.draw.truth[q(f'molar mass of {substance}')]):.1f}"
        assert str(question.further_parts[-1].points[0].answer).endswith(f"({METALS[substance][drawn]})")


@for_each("level", LEVELS)
def test_key_scheme_worked_solutions_and_record_name_the_same_element(level: Level, compose: Compose) -> None:
    made = compose("name-the-carbonate", level, "dm3")
    held = record(
        type("Paper", (), {"composer": made.composer, "questions": made.questions, "code": "A", "version": "A"})()
    )
    table = next(block for block in made.answers.blocks if isinstance(block, Table))
    scheme, worked = read(made.scheme), read(made.worked)
    for number, (question, kept) in enumerate(zip(made.questions, held["questions"], strict=True), 1):
        answer = str(question.further_parts[-1].points[0].answer)
        (part,) = kept["further parts"]
        assert (part["kind"], part["marks"]) == ("element", 2)
        assert part["answers"] == [{"type": "name", "answer": answer}, {"type": "words", "answer": "a reason"}]
        assert [answer.split()[0], answer.split()[1].strip("()")] in [
            [name, symbol] for symbol, name, _ in part["candidates"]
        ]
        assert kept["marks in all"] == question.marks
        (row,) = [row for row in table.rows if row[0].lines[0][0].text == str(number)]
        assert f"{part['part']}\N{NO-BREAK SPACE}{answer}; " in plain_line(row[1].lines[0])
        assert f"M is {answer.split()[0]}. Of the metals of group 1, it has the relative atomic mass" in worked
        assert f"({question.marks} marks)" in scheme


def test_the_scheme_lists_what_a_carried_error_may_name(compose: Compose) -> None:
    scheme = read(compose("name-the-dichloride", "exam", "dm3").scheme)
    assert "Carried forward" in scheme
    # one row of a table is broken over lines, so that only single words can be looked for
    assert all(mass in scheme for mass in ("24.3", "40.1", "87.6", "137.3"))


LISTED = (
    "unknown-monobasic-acid",
    "unknown-dibasic-acid",
    "unknown-soluble-carbonate",
    "back-portions-unknown-carbonate",
    "potassium-halide",
    "acyl-chloride",
    "acyl-chloride-silver",
)


@for_each("key", LISTED)
def test_a_molar_mass_leads_to_one_substance_of_the_printed_table(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    for block, question in zip(
        (one for one in made.paper.blocks if isinstance(one, QuestionBlock)), made.questions, strict=True
    ):
        part = question.further_parts[-1]
        assert (part.kind, part.marks) == (SUBSTANCE, 2)
        (table,) = (one for one in block.parts[-1].blocks if isinstance(one, Table))
        masses = [one.mass for one in part.candidates]
        assert [row[2].lines[0][0].quantity.number for row in table.rows] == masses == sorted(masses)
        accepted = question.worked.accepted
        ends = {nearest_candidate(end.exact, part.candidates) for end in (accepted.low, accepted.high)}
        assert len(ends) == 1  # whatever is accepted leads to the same substance
        may_be = question.draw.variant.may_be
        drawn = question.draw.truth[may_be.number]
        (right,) = (one for one in part.candidates if one.mass == drawn)  # to one place, as it was drawn
        assert ends == {right}
        assert part.points[0].answer == right.told


def test_a_molar_mass_of_what_no_entry_lists_names_nothing(bank: Bank, compose: Compose) -> None:
    key = next(one for one in bank.archetypes if one == "basicity")
    assert all(not question.further_parts for question in compose(key, "exam", "dm3").questions)
