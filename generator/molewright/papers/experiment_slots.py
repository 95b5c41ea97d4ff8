"""A line of an order that holds a described experiment comes in; its place on the paper goes out, with what its versions share."""

from __future__ import annotations

from dataclasses import replace

from molewright.draw.chosen import Chosen
from molewright.order.lines import OrderLine
from molewright.order.order import Order
from molewright.papers.moving_experiment import moving_experiment
from molewright.papers.own_experiment import own_experiment
from molewright.papers.slots import Slot, line_seed
from molewright.question.check import Questions


def experiment_slot(questions: Questions, order: Order, place: int, line: OrderLine, level: str) -> Slot:
    """The question of a line. Raises Mistake, at the line, where the experiment is not understood, cannot be, or cannot be moved."""
    own = own_experiment(questions, line)
    draw = own.made.question.draw
    chosen = Chosen(
        variant=draw.variant, ask=draw.ask, context=draw.context, indicator=draw.indicator, table=bool(draw.runs)
    )
    line = replace(line, level=line.level or level)
    moving = None
    if line.moving:
        moving = moving_experiment(replace(line, seed=line.seed or line_seed(order.seed, str(place))), own)
        line = moving.line
    return Slot(place=place, line=line, archetype=draw.archetype, chosen=chosen, own=own.made, moving=moving)
