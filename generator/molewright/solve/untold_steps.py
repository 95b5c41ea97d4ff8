"""A procedure comes in; what the teacher is told of the steps goes out that a reader of the question would look for in vain.

Judges no numbers: the experiment is worked out all the same.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.experiment.driving_off import Making, making_of
from molewright.experiment.procedure import Pass, Procedure

_BOUND = "'- dissolve: ...' for what the sample is broken down in, and"
_SET_FREE = "'- add: ...' for what sets the gas free"


def untold_steps(procedure: Procedure) -> Iterator[str]:
    """A note for each gas that is driven over out of a sample though no line says how it was made there."""
    for act in procedure.every(Pass):
        making = making_of(procedure, act)
        if making is not None and making.told < making.wanted:
            yield _note(making)


def _note(making: Making) -> str:
    lines = f"{_BOUND} {_SET_FREE}" if making.wanted - making.told > 1 else _SET_FREE
    count = "steps are" if making.wanted - making.told > 1 else "a step is"
    return (
        f"{count} missing before the {making.gas} is driven over: no line says how the {making.source} in "
        f"{making.weighed.sample} becomes it. The answer is the same without; for a question that tells the whole experiment "
        f"write, above 'drive over', {lines} (the help of 'solve' has such lines)"
    )
