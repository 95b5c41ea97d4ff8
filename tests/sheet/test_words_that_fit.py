"""Words that fit what is on the page: adding is not called subtracting, one is not called all, what is weighed is not needed."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from molewright.chem.conventions import UnitStyle
from molewright.nodes.blocks import QuestionBlock, Working
from molewright.render.text import render
from molewright.sheet.parts import Level
from shared.banks import built_in
from shared.for_each import for_each

Compose = Callable[[str, Level, UnitStyle], Any]
NB = "\N{NO-BREAK SPACE}"
ARCHETYPES = built_in().archetypes
REAGENT = ("back-portions-reagent", "back-portions-alkali-reagent")
WORDS = {
    "reduce uncertainty",
    "why back",
    "why conductivity",
    "describe",
    "describe portion",
    "describe titration",
    "universal indicator",
    "why a graph",
    "unsuitable indicator",
}
MM_A_LINE = 8


def read(sheet: Any) -> str:
    """A sheet as text, words in a row; what stands in the columns of a table is mixed with its neighbours."""
    return re.sub(r"[\s|]+", " ", render(sheet).decode().replace(NB, " "))


def guidance(sheet: Any, start: str) -> str:
    """The last column of the scheme's tables from a text on, run together."""
    rows = [row for row in render(sheet).decode().replace(NB, " ").split("\n") if row.count("|") == 3]
    column = " ".join(row.rsplit("|", 1)[1].strip() for row in rows)
    return column[column.index(start) :]


@for_each("key", REAGENT)
def test_what_reacted_and_what_is_left_are_added_for_all_the_reagent(key: str, compose: Compose) -> None:
    said = guidance(compose(key, "structured", "dm3").scheme, "Both amounts")
    assert "adding volumes does not earn this mark" in said
    assert "subtract" not in said
    assert "less the titre" not in said


def test_what_is_left_is_subtracted_for_what_reacted(compose: Compose) -> None:
    said = guidance(compose("back-portions", "structured", "dm3").scheme, "Both amounts")
    assert "subtracting volumes does not earn this mark" in said
    assert "adding volumes" not in said


def test_a_mass_that_is_told_was_weighed_and_is_not_needed(compose: Compose) -> None:
    told = compose("strength-of-a-standard", "structured", "dm3")
    assert "weighed out" in read(told.paper)
    assert "that is needed" not in read(told.paper)
    assert "that is needed" in read(compose("mass-for-a-standard", "structured", "dm3").paper)


def test_a_pure_solid_is_named_with_the_formula_that_the_parts_use(compose: Compose) -> None:
    for key in ("strength-of-a-standard", "standard-solution"):
        said = read(compose(key, "exam", "dm3").paper)
        assert re.search(r"pure [a-z ]+, [A-Z][A-Za-z₀-₉·]+, was weighed", said)


def test_how_a_solution_is_prepared_is_asked_from_the_weighing_on(compose: Compose) -> None:
    said = read(compose("hydrate-standard-describe", "structured", "dm3").paper)
    assert re.search(r"beginning with the weighing of \d\.\d+ g of ethanedioic acid", said)


def test_a_table_of_one_measurement_speaks_of_one(compose: Compose) -> None:
    one = read(compose("direct-solutions-uncertainty", "exam", "dm3").paper)
    assert "the uncertainty of the other measurement." in one
    assert "percentage uncertainty of each" not in one
    several = read(compose("direct-purity-uncertainty", "exam", "dm3").paper)
    assert "the uncertainties of the other measurements." in several


@pytest.mark.thorough
@for_each("key", sorted(key for key, one in ARCHETYPES.items() if WORDS & set(one.further_parts)))
def test_an_answer_in_words_has_two_lines_a_mark(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    blocks = [block for block in made.paper.blocks if isinstance(block, QuestionBlock)]
    for question, block in zip(made.questions, blocks, strict=True):
        further_parts = {part.kind: part for part in question.further_parts if part.kind in WORDS}
        lines = sum(
            piece.height_mm
            for part in block.parts
            for piece in part.blocks
            if isinstance(piece, Working) and piece.ruled
        )
        assert lines >= 2 * MM_A_LINE * sum(part.marks for part in further_parts.values())
