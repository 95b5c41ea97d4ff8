"""An order comes in; the same order with a line for every question goes out, each with whatever its versions share written out.

A line's question depends on the line alone, so that one can be changed and the others stay to the byte.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from molewright.bank.definitions import Archetype, Bank
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.choosing import levels, select
from molewright.papers.line_choice import Avoided, archetype_of, choose_for, read_back, stream_of, written
from molewright.question.check import Questions

MOST_MARKS_A_QUESTION = 5  # of a mixture, on average: 30 marks for six questions, some 40 minutes
MOST_SELECTIONS = 12
FIRST = "A"  # the version that all others are like
CANDIDATES = 3  # draws of a question of which the one with the plainest slips is printed
SEED_LETTERS = 8
_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"  # without those that are misread


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A question of a paper before its numbers are drawn: its line, its kind, and what its versions share."""

    place: int  # of the line in the order, from 0
    line: OrderLine
    archetype: Archetype
    chosen: Chosen


def settle(questions: Questions, order: Order) -> tuple[Order, tuple[Slot, ...]]:
    """The order with every line settled, and the questions that its lines stand for; those in words of one's own are lines only.

    Raises Mistake, with the place of the line, where the banks do not hold what a line names.
    """
    slots = _read_back(questions.bank, order) if order.settled else _drawn(questions, order)
    lines = list(order.lines) + [OrderLine()] * (order.count - len(order.lines))
    for slot in slots:
        lines[slot.place] = slot.line if not order.levels else replace(slot.line, level=lines[slot.place].level)
    return replace(order, lines=tuple(lines)), slots


def _read_back(bank: Bank, order: Order) -> tuple[Slot, ...]:
    found: list[Slot] = []
    for place, (line, level) in enumerate(zip(order.lines, levels(order), strict=True)):
        if line.words is None:
            archetype = archetype_of(bank, line)
            chosen = read_back(archetype, line)
            found.append(
                Slot(place=place, line=replace(line, level=line.level or level), archetype=archetype, chosen=chosen)
            )
    return tuple(found)


def _drawn(questions: Questions, order: Order) -> tuple[Slot, ...]:
    """The questions of an order of which something is open; a mixture is picked again while it would be too long a paper."""
    stream = Stream(f"molewright/select/{order.seed}/{order.count}/{'+'.join(order.archetypes)}")
    best: tuple[int, tuple[Slot, ...]] | None = None
    for attempt in range(MOST_SELECTIONS):
        kinds = select(questions.bank, stream.branch(str(attempt)), order)
        slots = chosen_for(questions.bank, order, kinds)
        if order.archetypes or order.topics:
            return slots
        marks = sum(
            questions.marks_of(slot.archetype, slot.chosen, stream_of(slot.line).branch(FIRST), CANDIDATES)
            for slot in slots
        )
        if len({questions.bank.topic_of(slot.archetype).back for slot in slots}) < min(2, order.count):
            marks += MOST_MARKS_A_QUESTION * order.count  # both direct and back titrations, if it can be had
        if best is None or marks < best[0]:
            best = marks, slots
        if marks <= MOST_MARKS_A_QUESTION * order.count:
            break
    assert best is not None
    return best[1]


def chosen_for(bank: Bank, order: Order, kinds: Sequence[Archetype]) -> tuple[Slot, ...]:
    """A question of each kind: no scene twice while there is another, nothing that is not to come again, nothing twice in a row."""
    avoided = Avoided(
        {past.scene for past in order.not_again if past.scene},
        {past.experiment for past in order.not_again if past.kind},
    )
    found: list[Slot] = []
    drawn = iter(kinds)
    for at, level in enumerate(levels(order)):
        line = order.lines[at] if at < len(order.lines) else OrderLine()
        if line.words is not None:
            continue
        archetype = next(drawn)
        seed = line.seed or line_seed(order.seed, str(at))
        chosen = choose_for(archetype, line, stream_of(replace(line, kind=archetype.key, seed=seed)), avoided)
        avoided.take(archetype, chosen)
        settled = replace(written(line, archetype, chosen), seed=seed, level=line.level or level)
        found.append(Slot(place=at, line=settled, archetype=archetype, chosen=chosen))
    return tuple(found)


def line_seed(seed: int | str, name: str) -> str:
    """The seed of a line, from the order's own and what tells the line apart."""
    digest = int.from_bytes(hashlib.sha256(f"{seed}/{name}".encode()).digest()[:8], "big")
    found = ""
    for _ in range(SEED_LETTERS):
        digest, letter = divmod(digest, len(_LETTERS))
        found += _LETTERS[letter]
    return found
