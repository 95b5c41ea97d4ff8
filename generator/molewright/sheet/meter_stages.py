"""A reading of a pH meter comes in; where in a titration it stands goes out, as the words of sheets are found by."""

from __future__ import annotations

from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import Procedure, React, Titrate
from molewright.experiment.quantities import Name


def stage_of(procedure: Procedure, act: ReadPH) -> str:
    """Half-way, in a buffer, at the end point, beyond it, or in a solution to which nothing was added yet."""
    operations = procedure.operations
    before = [one for one in operations[: operations.index(act)] if getattr(one, "vessel", "") == act.vessel]
    if act.half:
        return "half"
    if act.acid and act.base and not act.strong:
        return "buffer"
    if any(isinstance(one, Titrate) for one in before):
        return "end"
    if any(isinstance(one, React) for one in before):
        return "beyond" if act.protons < 0 else "before"
    return "start"


def stage_in(procedure: Procedure, vessel: Name) -> str:
    """The same, of the reading whose pH, or whose ions, a quantity of that vessel is."""
    return next((stage_of(procedure, act) for act in procedure.meters if act.vessel == vessel.place), "start")
