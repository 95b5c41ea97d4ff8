"""What the teacher's copy says of dangers: by strength, printed or sought, by what is weighed, by what a stem tells."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.draw.stream import Stream
from molewright.experiment.quantities import concentration
from molewright.question.check import Questions
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.hazards import hazard_notes
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer

Compose = Callable[..., Any]


def notes(compose: Compose, key: str) -> str:
    text = re.sub(r"\s+", " ", render(compose(key, "exam", "dm3").scheme).decode())
    return text.partition("Hazard notes")[2]


def test_a_printed_strength_has_its_note(compose: Compose) -> None:
    assert "mol dm⁻³ sodium hydroxide solution: irritates eyes and skin" in notes(compose, "direct-one-to-two")


def test_the_strength_that_is_sought_has_a_note_too(compose: Compose) -> None:
    # battery acid of 4 mol dm-3 and more: corrosive from 1.7 mol dm-3 (CLP Annex VI, 15 %)
    found = notes(compose, "diluted-battery-acid")
    assert re.search(r"about [2-9]\.\d (to [2-9]\.\d )?mol dm⁻³ sulfuric acid: corrosive", found), found


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("acyl-chloride", "acyl chloride RCOCl: corrosive"),
        ("barium-chloride-water", "toxic if swallowed"),
        ("copper-alloy", "concentrated nitric acid: corrosive"),
        ("saponification", "boiling under reflux:"),
        ("total-hardness", "buffer solution of pH 10: contains ammonia"),
    ],
)
def test_what_is_weighed_or_told_has_a_note(key: str, words: str, compose: Compose) -> None:
    assert words in notes(compose, key)


def test_every_set_of_notes_hands_over_to_the_school(compose: Compose) -> None:
    assert "Your own school's risk assessment" in notes(compose, "copper-alloy")


@pytest.mark.parametrize(
    ("strength", "word"), [("0.499", "irritates eyes and skin"), ("0.500", "corrosive"), ("0.501", "corrosive")]
)
def test_a_note_holds_from_its_limit_upwards(
    strength: str, word: str, bank: Bank, questions: Questions, lines_of: Callable[[Any], Any]
) -> None:
    # sodium hydroxide is corrosive at 2 % (0.5 mol dm-3) and above: CLP Annex VI
    question = questions.make(bank.archetypes["direct-one-to-two"], Stream("limit"))
    name = concentration("NaOH")
    given = {**question.draw.given, name: Quantity(Decimal(strength), question.draw.given[name].unit)}
    changed = replace(question, draw=replace(question.draw, given=given))
    words = Words(bank.words)
    blocks = hazard_notes((changed,), bank, Writer(changed, bank, words), words)
    (note,) = {told for block in blocks for told in map(plain_line, lines_of(block)) if "sodium hydroxide" in told}
    assert f"sodium hydroxide solution: {word}" in note
