"""A draw and a fault come in; whether the species that the fault speaks of are there goes out, read from its procedure."""

from __future__ import annotations

from molewright.bank.definitions import Bank, LaboratoryFault
from molewright.draw.chosen import Draw
from molewright.experiment.procedure import Add
from molewright.further_parts.faults.faulty_bench import titrated
from molewright.plausibility.flask import last_flask
from molewright.plausibility.solutes import Solutes


def is_there(bank: Bank, draw: Draw, fault: LaboratoryFault) -> bool:
    """Whether every list of a fault has one member that is there; a list that is left out asks for nothing."""
    procedure = draw.variant.procedure
    last = procedure.titrations[-1]
    if fault.burette and last.titrant.species not in fault.burette:
        return False
    if fault.used and draw.indicator not in fault.used:
        return False
    if fault.solid and not _came_down(draw).intersection(fault.solid):
        return False
    told = " ".join(op.what for op in procedure.every(Add) if op.vessel == last.vessel)
    if fault.added and fault.added not in told:
        return False
    found = set(titrated(last)).intersection(fault.flask)
    return bool(found or not fault.flask) and _strong_enough(bank, draw, fault, found)


def _came_down(draw: Draw) -> set[str]:
    """The solids that reactions before the titration leave."""
    return {
        member.formula.text
        for reaction in draw.variant.procedure.equations
        for member in reaction.right
        if member.state == "s"
    }


def _strong_enough(bank: Bank, draw: Draw, fault: LaboratoryFault, found: set[str]) -> bool:
    """Whether one of these is there in the strength that a fault needs, when the last titration begins."""
    if fault.at_least is None:
        return True
    flask = last_flask(draw.variant.procedure, draw.truth, Solutes(bank).held)
    if flask is None:
        return False
    return any(flask.amounts.get(one, 0.0) / flask.volume_cm3 * 1000 >= fault.at_least for one in found)
