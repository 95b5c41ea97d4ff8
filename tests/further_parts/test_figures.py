"""Questions that live from a figure come out on every sheet, at every level, in both unit styles, and again from the same seed."""

from __future__ import annotations

import io
import re
from typing import get_args

import pypdf
import pytest

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UNIT_STYLES, UnitStyle
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.render import latex, pdf
from molewright.sheet.parts import LEVELS, Level
from shared.figures import Make, sheets, told
from shared.for_each import for_each, for_every
from shared.mark_points import mark_points

KEYS = (
    "burette-readings", "burette-further-run", "burette-readings-one-to-two", "ph-curve", "ph-curve-weak", "ph-curve-sketch",
    "indicator-choice", "indicator-unsuitable",
)  # fmt: skip


@pytest.mark.thorough
@for_every(style=UNIT_STYLES, level=LEVELS, key=KEYS)
def test_every_sheet_comes_out_at_every_level_and_in_both_unit_styles(
    bank: Bank, make: Make, key: str, level: Level, style: UnitStyle
) -> None:
    question = make(key, 0)
    paper, scheme, worked, answers = sheets(bank, question, level, style)
    printed = told(paper)
    assert f"Question 1: {question.marks} marks in all" in printed
    assert sum(map(int, re.findall(r"\[(\d+) marks?\]", printed))) == question.marks
    points = {str(number) for number in range(1, question.marks + 1)}
    assert {str(number) for _, number in mark_points(scheme)} == points
    other = "cm³" if style == "litre" else " mL"
    if level != "scaffolded":  # the hints on a calculation speak of cm³ and dm³
        for sheet in (paper, worked, answers):
            assert other not in told(sheet)
    pages = pypdf.PdfReader(io.BytesIO(pdf.render(paper)), strict=True).pages
    assert sum(len(page.extract_text()) for page in pages) > 300
    assert latex.render(scheme).startswith(b"% Made by")


@for_each("key", KEYS)
def test_the_same_seed_gives_the_same_figure(bank: Bank, questions: Questions, make: Make, key: str) -> None:
    archetype, stream = bank.archetypes[key], Stream(f"figures {key} 0")
    assert questions.make(archetype, stream).further_parts == make(key, 0).further_parts


def test_unit_styles_and_levels_are_all_there_are() -> None:
    assert get_args(Level) == LEVELS
    assert get_args(UnitStyle) == UNIT_STYLES
