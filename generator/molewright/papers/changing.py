"""A settled order and the number of a question come in; the order with that one changed goes out, every other line as it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.line_choice import Avoided, archetype_of, choose_for, read_back, written
from molewright.papers.slots import line_seed

Change = Callable[[Bank, Order, int, str], OrderLine]


def changed(bank: Bank, order: Order, what: str, number: int, seed: str) -> Order:
    """The order with a question's numbers, scene or kind drawn anew from a seed. Raises Mistake for a question that is none."""
    if not 1 <= number <= len(order.lines):
        raise Mistake(f"there is no question {number}", expected=f"1 to {len(order.lines)}")
    if not order.lines[number - 1].from_banks:
        raise Mistake(f"question {number} is one of your own", expected="a question that was drawn from the banks")
    lines = list(order.lines)
    lines[number - 1] = CHANGES[what](bank, order, number, seed)
    return replace(order, lines=tuple(lines))


def _new_numbers(bank: Bank, order: Order, number: int, seed: str) -> OrderLine:
    """The same line with a seed of its own, so that all its numbers are other ones; those that a person fixed stay."""
    line = order.lines[number - 1]
    return replace(line, seed=line_seed(seed, f"numbers {number}"), drawn=(), wording="")


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
    used = {one.scene for one in order.lines} | {past.scene for past in order.not_again}
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
    avoided = Avoided({one.scene for one in order.lines} | {past.scene for past in order.not_again})
    blank = OrderLine(level=line.level, seed=line_seed(seed, f"kind {number}"), where=line.where)
    return written(blank, archetype, choose_for(archetype, blank, stream, avoided))


CHANGES: Mapping[str, Change] = {"numbers": _new_numbers, "scene": _new_scene, "kind": _new_kind}
