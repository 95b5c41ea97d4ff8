"""A settled order and the number of a question come in; the order with that one changed goes out, every other line as it was.

Drawn anew it is another question of its line; moved, removed, added or written by hand it is a line of the paper like any other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.errors import Mistake, one_of
from molewright.experiment.quantity_texts import Numbers
from molewright.further_parts.equations.which import EQUATION_KINDS
from molewright.order.choices import ALL, NONE, SUPPORT
from molewright.order.head import with_levels
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_QUESTIONS, Order
from molewright.papers.choosing import find_archetypes
from molewright.papers.line_choice import Avoided, archetype_of, choose_for, read_back, written
from molewright.papers.sets import PaperSet
from molewright.papers.slots import line_seed
from molewright.question.asked_equation import equation_kinds

Change = Callable[[Bank, Order, int, str], OrderLine]


def changed(bank: Bank, order: Order, what: str, number: int, seed: str) -> Order:
    """The order with a question's numbers, scene or kind drawn anew from a seed. Raises Mistake for a question that is none."""
    _require_there(order, number)
    line = order.lines[number - 1]
    if not (line.from_banks or (line.experiment and what == NUMBERS)):
        raise Mistake(f"question {number} is one of your own", expected="a question that was drawn from the banks")
    lines = list(order.lines)
    lines[number - 1] = CHANGES[what](bank, order, number, seed)
    return replace(order, lines=tuple(lines))


def _new_numbers(bank: Bank, order: Order, number: int, seed: str) -> OrderLine:
    """The same line with a seed of its own, so that all its numbers are other ones; those that a person fixed stay."""
    line = order.lines[number - 1]
    moved = replace(line, seed=line_seed(seed, f"numbers {number}"), drawn=(), wording="")
    return replace(moved, moving=True, as_written=()) if line.experiment else moved


def _new_scene(bank: Bank, order: Order, number: int, seed: str) -> OrderLine:
    """The same experiment with the same numbers in another scene, one that no other question has while there is one."""
    line = order.lines[number - 1]
    archetype = archetype_of(bank, line)
    here = read_back(archetype, line)
    others = [scene for scene in here.variant.contexts if scene.key != line.scene]
    if not others:
        raise Mistake(
            f"there is no other scene for question {number}",
            expected="a question whose material has several",
            do="Take another kind: --new-kind.",
        )
    used = _scenes(order)
    fresh = [scene for scene in others if scene.key not in used] or others
    return replace(line, scene=Stream(f"scene/{seed}/{number}").pick(fresh).key, wording="")


def _new_kind(bank: Bank, order: Order, number: int, seed: str) -> OrderLine:
    """Another kind of question of the same topic, as near to it in demand as there is, at the same level."""
    line = order.lines[number - 1]
    here = archetype_of(bank, line)
    used = {one.kind for one in order.lines}
    like = [one for one in bank.archetypes.values() if one.topic == here.topic and one.key != here.key]
    fresh = [one for one in like if one.key not in used] or like
    if not fresh:
        raise Mistake(f"there is no other kind of the topic {here.topic}", expected="a topic with several kinds")
    stream = Stream(f"kind/{seed}/{number}")
    nearest = min(abs(one.demand - here.demand) for one in fresh)
    archetype = stream.pick([one for one in fresh if abs(one.demand - here.demand) <= nearest + 1])
    avoided = Avoided(_scenes(order))
    blank = OrderLine(level=line.level, seed=line_seed(seed, f"kind {number}"), where=line.where)
    return written(blank, archetype, choose_for(archetype, blank, stream, avoided))


def _scenes(order: Order) -> set[str]:
    """The scenes that are on the paper, and those that must not come again."""
    return {one.scene for one in order.lines} | {past.scene for past in order.not_again}


def _require_there(order: Order, number: int) -> None:
    if not 1 <= number <= len(order.lines):
        raise Mistake(f"there is no question {number}", expected=f"1 to {len(order.lines)}")


def with_lines(order: Order, lines: Sequence[OrderLine]) -> Order:
    """The order with these lines and no others. Raises Mistake for none, and for more than a paper holds."""
    if not lines:
        raise Mistake(
            "a paper without a question", expected="one at least", do="Add another before this one is removed."
        )
    if len(lines) > MOST_QUESTIONS:
        raise Mistake(f"{len(lines)} questions", expected=f"at most {MOST_QUESTIONS}")
    return replace(order, lines=tuple(lines), count=len(lines))


def replaced(order: Order, number: int, line: OrderLine) -> Order:
    """The order with another line in the place of one."""
    _require_there(order, number)
    return with_lines(order, [*order.lines[: number - 1], line, *order.lines[number:]])


def moved(order: Order, number: int, to: int) -> Order:
    """The order with a question in another place; the others keep their turn."""
    _require_there(order, number)
    _require_there(order, to)
    others = [*order.lines[: number - 1], *order.lines[number:]]
    return with_lines(order, [*others[: to - 1], order.lines[number - 1], *others[to - 1 :]])


def removed(order: Order, number: int) -> Order:
    """The order without a question."""
    _require_there(order, number)
    return with_lines(order, [*order.lines[: number - 1], *order.lines[number:]])


def added(order: Order, after: int, line: OrderLine) -> Order:
    """The order with one question more, after that of a number; 0 puts it first."""
    if not 0 <= after <= len(order.lines):
        raise Mistake(f"there is no question {after}", expected=f"0 to {len(order.lines)}")
    return with_lines(order, [*order.lines[:after], line, *order.lines[after:]])


def drawn_line(bank: Bank, order: Order, name: str, seed: str) -> OrderLine:
    """A line of its own for a question of this kind or topic, in a scene that the paper does not have while there is one.

    Of a topic a kind is taken that the paper does not have while there is one. Raises Mistake for a name that is neither.
    """
    stream = Stream(f"added/{seed}/{len(order.lines)}")
    used = {one.kind for one in order.lines}
    kinds = find_archetypes(bank, [name])
    archetype = bank.archetypes[stream.pick([key for key in kinds if key not in used] or list(kinds))]
    level = "" if order.levels else _level_beside(order)
    blank = OrderLine(level=level, seed=line_seed(seed, f"added {len(order.lines)}"))
    return written(blank, archetype, choose_for(archetype, blank, stream, Avoided(_scenes(order))))


def _level_beside(order: Order) -> str:
    """The level of most questions of a paper, for one that is put beside them."""
    levels = [line.level for line in order.lines if line.level]
    return max(dict.fromkeys(levels), key=levels.count) if levels else "structured"


def at_level(order: Order, number: int, level: str) -> Order:
    """The order with a question at another level; "" is that of the paper, where it is made at several."""
    _require_there(order, number)
    line = order.lines[number - 1]
    if line.words is not None:
        raise Mistake(f"question {number} is in your own words", expected="a question that has a level")
    if level not in (*SUPPORT, *(("",) if order.levels else ())):
        raise Mistake(f"the level '{level}'", expected=f"one of: {', '.join(SUPPORT)}")
    return replaced(order, number, replace(line, level=level, wording=""))


def at_levels(order: Order, levels: Sequence[str]) -> Order:
    """The order at one level, or the same questions at several; what its questions say of their level themselves is let go."""
    made = with_levels(order, tuple(levels))
    return replace(made, lines=tuple(replace(line, level="", wording="") for line in made.lines))


def with_equations(papers: PaperSet, order: Order, equations: str) -> Order:
    """The order with an equation asked for in all questions, in none, or one of a kind in each that can ask for it.

    Raises Mistake for what is none of these.
    """
    one_of(equations, (ALL, NONE, *EQUATION_KINDS), "equations")
    maker = papers.makers[papers.levels[0]]
    able = {slot.place: equation_kinds(maker.questions, slot.chosen) for slot in maker.slots if slot.own is None}

    def asked(place: int) -> str:
        kinds = able.get(place, ())
        return "" if not kinds or equations == NONE or equations not in (ALL, *kinds) else equations

    lines = [
        replace(line, equation=asked(place), wording="") if place in able else line
        for place, line in enumerate(order.lines)
    ]
    return replace(order, lines=tuple(lines), equations=equations)


def next_level(order: Order, number: int, steps: int) -> str:
    """The level so many steps towards less support (more, where below 0). Raises Mistake where there is none."""
    _require_there(order, number)
    now = order.lines[number - 1].level
    at = (SUPPORT.index(now) if now in SUPPORT else 1) + steps
    if not 0 <= at < len(SUPPORT):
        raise Mistake(f"there is no {'more' if steps < 0 else 'less'} support than that", expected=", ".join(SUPPORT))
    return SUPPORT[at]


def with_numbers_fixed(order: Order, number: int, numbers: Numbers) -> Order:
    """The order with a person's own numbers in a question; the others are drawn about them. Whether they can be is asked later."""
    _require_there(order, number)
    line = order.lines[number - 1]
    if not line.from_banks:
        raise Mistake(f"question {number} is one of your own", expected="a question that was drawn from the banks")
    return replaced(order, number, replace(line, numbers=numbers, drawn=(), wording=""))


NUMBERS = "numbers"
EQUATION_CHOICES: tuple[str, ...] = EQUATION_KINDS
"""Kinds of equation that may be asked for."""
CHANGES: Mapping[str, Change] = {NUMBERS: _new_numbers, "scene": _new_scene, "kind": _new_kind}
