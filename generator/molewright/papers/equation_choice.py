"""A question of an order comes in, before its numbers are drawn; the kind of equation that it asks for goes out, "" where it asks none.

A line may name the kind; else the order says whether the seed picks one: in some questions, in all, in none, or always one kind.
"""

from __future__ import annotations

from molewright.errors import Mistake, Where, nearest, shortened
from molewright.further_parts.equations.which import EQUATION_KINDS
from molewright.order.choices import ALL, EQUATION_LEVELS, FADED, NONE, SOME
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.slots import Slot
from molewright.question.asked_equation import drawn_equation, equation_kinds, equation_seed, marks_for_equation
from molewright.question.check import Questions

SHARE = 12  # of a hundred questions that may ask for an equation, where an order leaves it to the seed


def equation_of(questions: Questions, order: Order, slot: Slot) -> str:
    """The kind of equation of a question. Raises Mistake, with what there is, for one that cannot be asked in it."""
    if slot.own is not None or slot.line.equation == NONE:
        return ""
    if slot.line.equation:
        return _named(questions, slot)
    wanted = _in_full(order)
    if order.settled or wanted == NONE or order.level == FADED or order.aim or not _suits(order, slot):
        return ""
    if wanted == SOME and not equation_seed(slot.chosen.line).branch("whether").chance(SHARE):
        return ""
    if wanted in (SOME, ALL):
        return drawn_equation(questions, slot.chosen)
    return wanted if wanted in equation_kinds(questions, slot.chosen) else ""


def equation_marks(questions: Questions, order: Order, slot: Slot, level: str) -> int:
    """The marks that a question has for its equation at a level."""
    if level not in EQUATION_LEVELS:
        return 0
    return marks_for_equation(questions, slot.chosen, equation_of(questions, order, slot))


def _suits(order: Order, slot: Slot) -> bool:
    """Whether all that print the question may be asked for an equation."""
    return all(level in EQUATION_LEVELS for level in (order.levels or (slot.line.level or order.level,)))


def _in_full(order: Order) -> str:
    """What an order says of equations, a kind in full. Raises Mistake for what is none."""
    return _one(order.equations, (SOME, ALL, NONE, *EQUATION_KINDS), order.where("equations"))


def _named(questions: Questions, slot: Slot) -> str:
    """The kind that a line names, in full."""
    where = place_of_equation(slot.line)
    able = equation_kinds(questions, slot.chosen)
    if slot.line.equation == ALL:
        return drawn_equation(questions, slot.chosen)
    kind = _one(slot.line.equation, (ALL, NONE, *EQUATION_KINDS), where)
    if kind in able:
        return kind
    raise Mistake(
        f"the equation {shortened(kind)} cannot be asked in this question of the kind '{slot.archetype.key}'",
        expected=f"one of: {', '.join(able)}" if able else "none: nothing reacts in it by a known equation",
        where=where,
    )


def _one(text: str, choices: tuple[str, ...], where: Where) -> str:
    """A choice by its name or by words that only it begins with."""
    plain = " ".join(text.casefold().split())
    begun = [one for one in choices if one.startswith(plain)]
    if plain in choices or len(begun) == 1:
        return plain if plain in choices else begun[0]
    raise Mistake(
        f"the equation {shortened(text)}",
        expected=f"one of: {', '.join(choices)}",
        near=nearest(text, choices),
        where=where,
    )


def place_of_equation(line: OrderLine) -> Where:
    """Where a line names its equation."""
    return (line.where or Where("order")).under("equation")
