"""Looks other than the usual: sizes of type, nothing smaller than its text, no italics where none are wanted, units whole."""

from __future__ import annotations

import io
from collections.abc import Callable
from copy import copy
from dataclasses import replace
from typing import Any

import pypdf
import pytest

from molewright.nodes.blocks import Sheet
from molewright.render.pdf import render
from shared.for_each import for_each

SIZES = {"large": 18.0, "extra-large": 24.0, "wide-set": 13.0}  # points: see the sources named in render/pdf/look


def drawn(sheet: Sheet, look: str) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(replace(sheet, look=look))))


def type_sizes(reader: pypdf.PdfReader) -> dict[float, int]:
    """How many letters are set in each size; running lines are left out by their place."""
    found: dict[float, int] = {}

    def seen(text: str, current: list[float], matrix: list[float], font: Any, size: float) -> None:
        y = current[5] * matrix[3] + matrix[5] if matrix[3] else matrix[5]
        if text.strip() and 56 < y < 780:
            found[round(size, 1)] = found.get(round(size, 1), 0) + len(text.strip())

    for page in reader.pages:
        page.extract_text(visitor_text=seen)
    return found


@pytest.mark.thorough
@pytest.mark.parametrize("look", SIZES)
def test_the_text_of_a_look_has_its_size_and_notes_and_figures_are_no_smaller(
    look: str, compose: Callable[..., Any]
) -> None:
    made = compose("back-portions", "scaffolded", "dm3")
    for sheet in (made.composer.question_paper(), made.composer.worked_solutions()):
        sizes = type_sizes(drawn(sheet, look))
        whole = sum(sizes.values())
        assert max(sizes, key=lambda size: sizes[size]) == pytest.approx(SIZES[look], abs=0.2)
        small = sum(count for size, count in sizes.items() if size < 0.85 * SIZES[look])
        assert small < 0.02 * whole, sizes  # subscripts that are no characters of their own, fractions within fractions


def test_a_wide_set_sheet_has_no_italics_and_its_letters_stand_apart(compose: Callable[..., Any]) -> None:
    sheet = compose("back-portions", "structured", "dm3").composer.worked_solutions()

    def faces(look: str) -> set[str]:
        fonts = (
            font.get_object() for page in drawn(sheet, look).pages for font in page["/Resources"]["/Font"].values()
        )
        return {str(font["/BaseFont"]) for font in fonts}

    assert any("Italic" in face for face in faces("usual"))
    assert not any("Italic" in face for face in faces("wide-set"))
    content = drawn(sheet, "wide-set").pages[0].get_contents().get_data()
    assert b")-60(" in content


def lines_of(sheet: Sheet, look: str) -> list[str]:
    return [
        " ".join(line.split()) for page in drawn(sheet, look).pages for line in page.extract_text().splitlines() if line
    ]


@for_each("look", SIZES)
def test_every_look_keeps_every_number_with_its_unit(look: str, compose: Callable[..., Any]) -> None:
    made = compose("back-portions", "exam", "dm3")
    sheet = made.composer.question_paper()
    usual, large = lines_of(sheet, "usual"), lines_of(sheet, look)
    amounts = {
        " ".join(str(writer.numbers.amount(quantity).quantity).split())
        for writer in made.composer.writers
        for quantity in writer.question.draw.given.values()
    }
    printed = {amount for amount in amounts if any(amount in line for line in usual)}
    assert len(printed) > 4
    assert printed == {amount for amount in amounts if any(amount in line for line in large)}


def test_what_is_for_the_teacher_has_no_look(compose: Callable[..., Any]) -> None:
    composer = copy(compose("back-portions", "exam", "dm3").composer)  # which others use too
    composer.setting = replace(composer.setting, look="large", tint="cream")
    assert composer.question_paper().look == composer.worked_solutions().look == "large"
    assert composer.question_paper().tint == "cream"
    assert composer.mark_scheme().look == "usual"
    assert composer.mark_scheme().tint == ""
