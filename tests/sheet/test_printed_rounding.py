"""Whoever rounds a printed value half up comes upon the printed answer, in every line that shows a value and then its rounding."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.chem.quantity import figures_to_show, places_to_show, to_figures
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.nodes.inline import Amount, Maths, Sign
from molewright.question.check import Questions
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once

Compose = Callable[[str, Level, UnitStyle], Any]
KEYS = sorted(built_in().archetypes)
MANY = (
    "direct-purity",
    "back-portions",
    "mass-for-a-standard",
    "limewater",
    "back-portions-critique",
    "direct-purity-critique",
    "back-portions-combined",
    "direct-purity-combined",
    "direct-purity-planning",
    "ph-before-the-end",
)
SEEDS = range(30)


def half_up_like(value: Decimal, answer: Decimal) -> Decimal:
    """A value rounded half up to the places that an answer is printed with."""
    return value.quantize(Decimal(1).scaleb(int(answer.as_tuple().exponent)), ROUND_HALF_UP)


def roundings(sheet: Any, nodes_of: Any) -> Iterator[tuple[Maths, Decimal, Decimal]]:
    """Every line that ends in two values of one unit: the one before it is rounded and the one after."""
    for node in nodes_of(sheet):
        if isinstance(node, Maths) and len(node.items) > 3:
            *_, joins, before, sign, after = node.items
            both = (  # what stands behind a minus is no value before it is rounded
                joins == Sign("=") and isinstance(before, Amount) and sign == Sign("=") and isinstance(after, Amount)
            )
            if both and before.quantity.unit == after.quantity.unit:
                yield node, before.quantity.number, after.quantity.number


@every_kind_once
def test_rounding_what_is_printed_gives_what_is_printed_after_it(turn: Turn, compose: Compose, nodes_of: Any) -> None:
    made = compose(*turn)
    for sheet in (made.scheme, made.worked, made.paper):
        for node, before, after in roundings(sheet, nodes_of):
            assert half_up_like(before, after) == after, plain_line((node,))


@pytest.mark.thorough
@pytest.mark.parametrize("key", MANY)
def test_it_does_in_many_questions_of_one_kind(key: str, bank: Bank, questions: Questions, nodes_of: Any) -> None:
    made = []
    for seed in SEEDS:
        try:
            made.append(questions.make(bank.archetypes[key], Stream(f"rounding {key} {seed}")))
        except Mistake:
            continue
    setting = Setting(title="Rounding", code="A-0000", levels=("exam",) * len(made), fingerprint=bank.fingerprint)
    composer = Composer(tuple(made), bank, setting)
    seen = 0
    for sheet in (composer.mark_scheme(), composer.worked_solutions(), composer.question_paper()):
        for node, before, after in roundings(sheet, nodes_of):
            seen += 1
            assert half_up_like(before, after) == after, plain_line((node,))
    assert seen > len(made) // 2


@pytest.mark.thorough
@pytest.mark.parametrize("key", [key for key in MANY if built_in().archetypes[key].calculated])
def test_the_exact_answer_of_the_scheme_rounds_to_the_answer(key: str, bank: Bank, questions: Questions) -> None:
    for seed in SEEDS:
        question = questions.make(bank.archetypes[key], Stream(f"rounding {key} {seed}"))
        composer = Composer(
            (question,), bank, Setting(title="Rounding", code="A-0000", levels=("exam",), fingerprint=bank.fingerprint)
        )
        told = {line for node in [composer.mark_scheme()] for line in re.findall(r"Exact: [^']+?\.(?=')", repr(node))}
        assert told
        for one in told:
            exact = Decimal(re.sub(r"Exact: |\.$", "", one).split()[0])
            if not question.worked.answer.scientific:
                assert half_up_like(exact, question.worked.answer.number) == question.worked.answer.number


@pytest.mark.thorough
@pytest.mark.parametrize("key", ["back-portions-combined", "direct-purity-combined", "manganese-dioxide-combined"])
def test_the_squares_as_printed_give_the_combined_uncertainty_as_printed(
    key: str, bank: Bank, questions: Questions
) -> None:
    for seed in range(30):
        question = questions.make(bank.archetypes[key], Stream(f"rounding {key} {seed}"))
        part = question.further_parts[-1]
        (squares,) = part.points[0].lines
        total = sum(_square(term) for term in squares.pieces if term != "+")  # type: ignore[union-attr, arg-type]
        answer = part.points[-1].answer
        assert to_figures(Fraction(total.sqrt()), 2) == answer.number  # type: ignore[union-attr]


def _square(term: str) -> Decimal:
    """The value of one printed square: (0.24 ÷ √3)² or (2.73 × 0.20 ÷ √3)²."""
    found = re.fullmatch(r"\(([\d.]+)(?: × ([\d.]+))? ÷ √3\)²", term)
    assert found is not None, term
    value = Decimal(found[1]) * Decimal(found[2] or 1)
    return value * value / 3


def test_a_figure_more_is_shown_only_where_it_decides() -> None:
    assert figures_to_show(Fraction("96.7463"), 4, 3) == 5
    assert figures_to_show(Fraction("96.7363"), 4, 3) == 4
    assert figures_to_show(Fraction("96.75"), 4, 3) == 4
    assert figures_to_show(Fraction("0.0635496"), 4, 3) == 6
    assert figures_to_show(Fraction("9.9949"), 4, 3) == 5


@pytest.mark.parametrize(("exact", "places"), [("4.5347", 4), ("4.5327", 3), ("4.53499", 5), ("4.5351", 3)])
def test_a_logarithm_is_shown_with_the_places_that_lead_to_its_answer(exact: str, places: int) -> None:
    assert places_to_show(Fraction(exact), 3, 2) == places
