"""One tablet is told of as one: in the stem, in the picture of what went where and in the reminder."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.question.check import Question, Questions
from molewright.render.text import render
from molewright.sheet.compose import Composer, Setting
from shared.for_each import for_every

KEYS = ("iron-tablets", "calcium-tablets", "vitamin-tablets")


def counted(question: Question, number: int) -> Question:
    """The question as if so many pieces had been taken."""
    name = quantities.pieces(question.draw.variant.procedure.weighings[0].pieces)
    given = {**question.draw.given, name: Quantity(Decimal(number), Unit.NONE)}
    return replace(question, draw=replace(question.draw, given=given))


@for_every(number=[1, 2], key=KEYS)
def test_words_fit_the_number_of_pieces(key: str, number: int, bank: Bank, questions: Questions) -> None:
    question = counted(questions.make(bank.archetypes[key], Stream(f"pieces/{key}")), number)
    composer = Composer((question,), bank, Setting(title="x", code="", levels=("structured",), tellings=("prose",)))
    told = " ".join(
        re.sub(r"\s+", " ", render(one()).decode()) for one in (composer.question_paper, composer.worked_solutions)
    )
    piece = question.draw.variant.procedure.weighings[0].pieces
    if number == 1:
        assert re.search(rf"\bOne {piece} (with a mass of [\d.]+ g )?was crushed", told)
        assert not re.search(rf"\bone {piece}s\b", told, re.IGNORECASE)
        assert "total mass" not in told
    else:
        assert re.search(rf"\bTwo {piece}s (with a total mass of [\d.]+ g )?were crushed", told)
