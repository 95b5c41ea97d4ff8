"""An experiment and the plan of its answer come in; to how many figures it is given goes out, with the reason.

Where nobody says it, an answer has as many significant figures as the number with the fewest that it rests on (common practice).
"""

from __future__ import annotations

from dataclasses import replace

from molewright.bank.definitions import Ask
from molewright.bank.readers.described_experiment import Experiment
from molewright.derivation.derive import Plan
from molewright.experiment.quantities import Name

LEAST, MOST = 2, 6
_COUNTED = frozenset(
    {"pieces", "water", "subscript", "ratio", "basicity", "electrons", "oxidation state", "molar mass", "atomic mass"}
)
"""Kinds that are whole numbers, or stand in a table: they do not limit an answer."""


def usual_ask(experiment: Experiment, plan: Plan) -> Ask:
    """What is asked, with the figures that the description says or that its numbers allow."""
    ask = experiment.ask
    return ask if ask.figures else replace(ask, figures=_figures(experiment, plan)[0])


def figures_told(experiment: Experiment, plan: Plan) -> str:
    """Why the answer has its figures; "" where the description says how many, or where it is a whole number."""
    if experiment.ask.figures or experiment.system.variables[experiment.ask.quantity].settled:
        return ""
    figures, name = _figures(experiment, plan)
    if name is None:
        return ""
    quantity = experiment.given[name]
    told = f"the {name}, {quantity},"
    if quantity.figures < LEAST:
        return (
            f"{figures} significant figures: {told} has {quantity.figures}, and an answer is given to {LEAST} at least"
        )
    return f"{figures} significant figures, as {told} has no more" if figures <= MOST else ""


def _figures(experiment: Experiment, plan: Plan) -> tuple[int, Name | None]:
    """How many, and the number that allows no more."""
    used = [name for name in _used(experiment, plan) if name.kind not in _COUNTED]
    if not used:
        return 3, None
    least = min(used, key=lambda name: experiment.given[name].figures)
    return max(LEAST, min(MOST, experiment.given[least].figures)), least


def _used(experiment: Experiment, plan: Plan) -> list[Name]:
    """The given numbers that the steps of a plan use, in the order of the procedure."""
    if any(step.together is not None for step in plan.steps):
        return [name for name in experiment.system.variables if name in experiment.given]
    relations = experiment.system.relations
    names = {name for step in plan.steps for name in relations[step.relation].names}
    return [name for name in experiment.system.variables if name in names and name in experiment.given]
