"""Kinds and lines come in, each for a place of an order; what the versions of each question share goes out, apart from each other.

A line's question depends on the line alone, so that one can be changed and the others stay to the byte.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from molewright.bank.definitions import Archetype, Bank
from molewright.draw.chosen import Chosen
from molewright.order.choices import STAGES
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.choosing import levels
from molewright.papers.fresh_scenes import FreshScenes
from molewright.papers.line_choice import Avoided, choose_for, scenes_left, stream_of, written
from molewright.papers.moving_experiment import MovingExperiment
from molewright.papers.part_choice import part_of_line
from molewright.question.own_numbers import OwnQuestion
from molewright.sheet.parts import LEVELS, Level

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
    own: OwnQuestion | None = None  # of a described experiment, as it is written
    moving: MovingExperiment | None = None  # where its numbers may move


def chosen_for(bank: Bank, order: Order, kinds: Sequence[Archetype]) -> tuple[Slot, ...]:
    """A question of each kind, in the places of the order that are not filled with words of one's own."""
    drawn = iter(kinds)
    open_lines = [OrderLine()] * (order.count - len(order.lines))
    asked = [(at, next(drawn), line) for at, line in enumerate((*order.lines, *open_lines)) if line.from_banks]
    return placed(bank, order, asked)


def placed(bank: Bank, order: Order, asked: Sequence[tuple[int, Archetype, OrderLine]]) -> tuple[Slot, ...]:
    """A question of each place, kind and line: no scene twice while there is another, nothing that is not to come again."""
    past = Avoided.before(order)
    best = _in_turn(bank, order, asked)
    for fresh in (
        True,
        False,
    ):  # what was taken one after another may have left nothing for the last: shared out it may do
        if not _repeated(best, past)[0]:
            break
        apart = FreshScenes()
        for _, archetype, line in asked:
            apart.take(scenes_left(archetype, line, past, fresh))
        shared = [
            (at, archetype, replace(line, scene=line.scene or scene))
            for (at, archetype, line), scene in zip(asked, apart.scenes, strict=True)
        ]
        best = min(best, _in_turn(bank, order, shared), key=lambda slots: _repeated(slots, past))
    return best


def _repeated(slots: Sequence[Slot], past: Avoided) -> tuple[int, int]:
    """How many questions have a scene that was set before, on this paper or on an earlier one; how many an earlier experiment."""
    scenes = {slot.chosen.context.key for slot in slots}
    again = sum(past.met(slot.archetype, slot.chosen.variant, slot.chosen.ask) for slot in slots)
    return len(slots) - len(scenes - past.scenes), again


def _in_turn(bank: Bank, order: Order, asked: Sequence[tuple[int, Archetype, OrderLine]]) -> tuple[Slot, ...]:
    """The questions one after another, each avoiding what those before it took."""
    avoided = Avoided.before(order)
    level_of = levels(order)
    found: list[Slot] = []
    for at, archetype, line in asked:
        seed = line.seed or line_seed(order.seed, str(at))
        part = part_of_line(bank, archetype, line)
        chosen = choose_for(archetype, line, stream_of(replace(line, kind=archetype.key, seed=seed)), avoided)
        chosen = replace(chosen, part=part)
        avoided.take(archetype, chosen)
        settled = replace(written(line, archetype, chosen), seed=seed, level=line.level or level_of[at], part=part)
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


def sheet_level(level: str) -> Level:
    """How much support the sheets give at a level; the stretch level is exam style with a part more.

    Where steps are worked out for the pupil, those that are left open are named one by one.
    """
    return "structured" if level in STAGES else next((one for one in LEVELS if one == level), LEVELS[-1])
