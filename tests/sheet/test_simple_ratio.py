"""A reacting ratio is asked for, answered and accepted in small whole numbers on every sheet."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from molewright.render.text import render
from molewright.sheet.parts import LEVELS, Level
from shared.for_each import for_each
from shared.quantities import q

Compose = Callable[..., Any]
KEY = "ratio-to-manganate"
# manganate(VII) takes up five electrons in acid: what X may lose, and so the ratio of X to manganate(VII)
RATIOS = {Decimal("1.25"): "5 : 4", Decimal("2.5"): "5 : 2", Decimal(5): "5 : 1"}


def read(sheet: Any) -> str:
    return " ".join(render(sheet).decode().replace("\N{NO-BREAK SPACE}", " ").split())


@for_each("level", LEVELS)
def test_the_ratio_drawn_stands_on_scheme_key_and_worked_solutions(level: Level, compose: Compose) -> None:
    made = compose(KEY, level, "dm3")
    paper, scheme, worked, key = map(read, made.sheets())
    assert paper.count("as the simplest ratio of whole numbers, X to MnO₄⁻, and show the value before rounding") == len(
        made.questions
    )
    assert "significant figures" not in paper
    for question in made.questions:
        drawn = RATIOS[
            Decimal(question.draw.truth[q("reacting ratio of X to MnO4-")].numerator)
            / Decimal(question.draw.truth[q("reacting ratio of X to MnO4-")].denominator)
        ]
        assert question.worked.told.replace("\N{NO-BREAK SPACE}", " ") == drawn
        assert f"Right: {drawn}." in scheme
        assert f"≈ {drawn}" in worked
        assert f") {drawn}" in key


def test_no_wrong_answer_of_the_scheme_leads_to_the_right_ratio(compose: Compose) -> None:
    for question in compose(KEY, "exam", "dm3").questions:
        shown = [wrong for wrong in question.mistakes.wrong if not wrong.hidden]
        assert shown
        assert not any(question.worked.accepted.holds(wrong.answer.number) for wrong in shown)
