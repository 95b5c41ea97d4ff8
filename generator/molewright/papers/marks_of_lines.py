"""A question of an order comes in, before its papers are made; the marks that it will have at a level go out."""

from __future__ import annotations

from molewright.errors import Where
from molewright.order.choices import STRETCH
from molewright.order.order import Order
from molewright.papers.equation_choice import equation_marks
from molewright.papers.line_choice import stream_of
from molewright.papers.slots import CANDIDATES, FIRST, Slot, sheet_level
from molewright.question.check import Question, Questions
from molewright.question.own_numbers import named_numbers, with_numbers


def marks_of(questions: Questions, order: Order, slot: Slot, level: str) -> int:
    """The marks of a question at a level, those for an equation among them: all versions have the same.

    Where the order has several levels their numbers are drawn as for a stretch part, if one of them has such parts.
    """
    return _without_equation(questions, order, slot, level) + equation_marks(questions, order, slot, level)


def _without_equation(questions: Questions, order: Order, slot: Slot, level: str) -> int:
    """Those that are printed in every version, for all are of the form of the first."""
    exam = sheet_level(level) == "exam"
    stretch = STRETCH in (level, *order.levels)
    if not (stretch or slot.line.numbers or slot.archetype.further_parts):  # no part of it stands in one style only
        return questions.marks_of(slot.archetype, slot.chosen, stream_of(slot.line).branch(FIRST), CANDIDATES)
    question = drawn_first(questions, slot, stretch)
    if level != STRETCH:
        question = question.unstretched()
    elif not question.added:
        question = questions.stretched(question)
    return question.in_style(exam).marks


def drawn_first(questions: Questions, slot: Slot, stretch: bool = False) -> Question:
    """The question of the first version, with a person's own numbers where its line has them."""
    stream = stream_of(slot.line).branch(FIRST)
    if not slot.line.numbers:
        return questions.make(slot.archetype, stream, slot.chosen, CANDIDATES, stretch=stretch)
    where = (slot.line.where or Where("order")).under("numbers")
    named = named_numbers(questions.system(slot.chosen.variant), slot.chosen, slot.line.numbers, where)
    return with_numbers(questions, slot.archetype, slot.chosen, named, stream, where).question
