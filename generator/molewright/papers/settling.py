"""An order comes in; the same order with a line for every question goes out, each with whatever its versions share written out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.order.choices import FADED, SOME
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.aimed import aimed_at
from molewright.papers.choosing import levels, require_known, select
from molewright.papers.equation_choice import equation_marks
from molewright.papers.exact_marks import Looking, for_marks
from molewright.papers.experiment_slots import experiment_slot
from molewright.papers.fading import faded_slots, require_series
from molewright.papers.line_choice import archetype_of, read_back, stream_of
from molewright.papers.part_choice import part_of_line
from molewright.papers.slots import CANDIDATES, FIRST, Slot, chosen_for
from molewright.question.check import Questions
from molewright.slips.named_slip import find_slip

MOST_MARKS_A_QUESTION = 5  # of a mixture, on average: 30 marks for six questions, some 40 minutes
MOST_SELECTIONS = 12


def settle(questions: Questions, order: Order, looking: Looking | None = None) -> tuple[Order, tuple[Slot, ...]]:
    """The order with every line settled, and the questions that its lines stand for; those in words of one's own are lines only.

    `looking` is told how far a search for marks that add up is. Raises Mistake, with the place of the line, where the banks do not
    hold what a line names.
    """
    if order.level == FADED:
        require_series(order)
    if not order.settled:
        require_known(questions.bank, order)
    if order.aim and not order.settled:  # said in plain words, it is written as its key
        order = replace(order, aim=find_slip(questions.bank.slips, order.aim).key)
    drawn = _read_back(questions.bank, order) if order.settled else _drawn(questions, order, looking)
    order = replace(order, count=len(drawn) + sum(not line.from_banks for line in order.lines))
    slots = tuple(sorted((*drawn, *_experiments(questions, order)), key=lambda slot: slot.place))
    lines = list(order.lines) + [OrderLine()] * (order.count - len(order.lines))
    for slot in slots:
        lines[slot.place] = slot.line if not order.levels else replace(slot.line, level=lines[slot.place].level)
    return replace(order, lines=tuple(lines)), slots


def _experiments(questions: Questions, order: Order) -> Iterator[Slot]:
    """The questions of the lines that hold described experiments."""
    for place, (line, level) in enumerate(zip(order.lines, levels(order), strict=False)):
        if line.experiment:
            yield experiment_slot(questions, order, place, line, level)


def _read_back(bank: Bank, order: Order) -> tuple[Slot, ...]:
    found: list[Slot] = []
    for place, (line, level) in enumerate(zip(order.lines, levels(order), strict=True)):
        if line.from_banks:
            archetype = archetype_of(bank, line)
            part = part_of_line(bank, archetype, line)
            chosen = replace(read_back(archetype, line), part=part)
            settled = replace(line, level=line.level or level, part=part)
            found.append(Slot(place=place, line=settled, archetype=archetype, chosen=chosen))
    return tuple(found)


def _drawn(questions: Questions, order: Order, looking: Looking | None) -> tuple[Slot, ...]:
    """The questions of an order of which something is open; a mixture is picked again while it would be too long a paper."""
    if order.level == FADED:
        return faded_slots(questions.bank, order)
    if order.aim:
        return aimed_at(questions, order, find_slip(questions.bank.slips, order.aim), looking)
    if order.marks:
        return for_marks(questions, order, looking=looking)
    stream = Stream(f"molewright/select/{order.seed}/{order.count}/{'+'.join(order.archetypes)}")
    best: tuple[int, tuple[Slot, ...]] | None = None
    for attempt in range(MOST_SELECTIONS):
        kinds = select(questions.bank, stream.branch(str(attempt)), order)
        slots = chosen_for(questions.bank, order, kinds)
        if order.archetypes or order.topics:
            return slots
        marks = sum(
            questions.marks_of(
                slot.archetype, replace(slot.chosen, part=""), stream_of(slot.line).branch(FIRST), CANDIDATES
            )
            + (equation_marks(questions, order, slot, slot.line.level) if order.equations == SOME else 0)
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
