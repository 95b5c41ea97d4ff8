"""What the teacher's copy says of dangers: by strength, printed or sought, by what is weighed, by what a stem tells."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from molewright.render.text import render

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
