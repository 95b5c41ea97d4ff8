"""A procedure and a gas that is driven over come in; what it is made of, and how much of its making nobody tells, go out.

Reads operations and no words of them. Knows no chemistry: what a sample is weighed as and what it is counted as are two things.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

from molewright.chem.formula import ELEMENTS
from molewright.experiment.procedure import Add, Dissolve, Measure, Pass, Procedure, React, Weigh


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """A gas that is counted straight from what was put in: from which `source` ("N") in what is `weighed`.

    `told` are the lines that say what was put to it; `wanted` how many there ought to be: an element is first taken out of what it
    is bound in, then the gas is set free; of a compound the gas is only set free.
    """

    gas: str
    source: str
    weighed: Weigh
    told: int
    wanted: int

    @property
    def alone(self) -> bool:
        """Whether nothing at all was put to the sample: there is no mixture to speak of."""
        return self.told == 0


def making_of(procedure: Procedure, driven: Pass) -> Making | None:
    """How a gas was made that was put in as something else; None where it was put in itself, or where a reaction tells it."""
    before = [
        act
        for act in takewhile(lambda act: act is not driven, procedure.operations)
        if getattr(act, "vessel", "") == driven.vessel
    ]
    if any(isinstance(act, React) for act in before):
        return None
    source = next(
        (
            (content.substance, act)
            for act in before
            if isinstance(act, Weigh)
            for content in act.contents
            if content.species == driven.species != content.substance
        ),
        None,
    )
    if source is None:
        return None
    poured = [
        one for one in before if isinstance(one, Add | Measure) or (isinstance(one, Dissolve) and one != _IN_WATER)
    ]
    wanted = 2 if source[0] in ELEMENTS else 1
    return Making(gas=driven.species, source=source[0], weighed=source[1], told=len(poured), wanted=wanted)


_IN_WATER = Dissolve()
