"""A procedure comes in; the quantities in it and the relations between them go out, operation by operation. Nothing is solved here."""

from __future__ import annotations

from typing import assert_never

from molewright.errors import Mistake
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Change,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Part,
    Pass,
    Procedure,
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.relations.acidity import read_ph
from molewright.experiment.relations.found_so_far import Found
from molewright.experiment.relations.measured import aliquot, gas_volume, make_up, measure, part_of, solution_strength
from molewright.experiment.relations.reacted import react
from molewright.experiment.relations.saturated import tell_product
from molewright.experiment.relations.settled import settle
from molewright.experiment.relations.titrated import titrate
from molewright.experiment.relations.variables import System
from molewright.experiment.relations.weighed import weigh
from molewright.experiment.saturating import TellProduct


def relate(procedure: Procedure, unknown: frozenset[str] = frozenset()) -> System:
    """The quantities and relations of a procedure. `unknown`: substances whose molar mass is not to be taken from the formula.

    Raises Mistake where an operation cannot be done as described (nothing to titrate, an aliquot of an unknown volume).
    """
    found = Found(procedure, unknown)
    for operation in procedure.operations:
        _follow(found, operation)
    return found.system


def _follow(found: Found, operation: Operation) -> None:
    match operation:
        case Weigh():
            weigh(found, operation)
        case Measure():
            measure(found, operation)
        case React() | Settle():
            _turn(found, operation)
        case Remove():
            found.vessel(operation.vessel).contents.pop(operation.species, None)
        case Pass():
            _drive_over(found, operation)
        case GasVolume():
            gas_volume(found, operation)
        case MakeUp():
            make_up(found, operation.vessel)
        case Aliquot():
            aliquot(found, operation)
        case Titrate():
            titrate(found, operation)
        case ReadPH() | Strength() | Part() | TellProduct():
            _tell(found, operation)
        case Dissolve() | Add() | Warm() | Change():
            pass
        case _:
            assert_never(operation)


def _tell(found: Found, act: ReadPH | Strength | Part | TellProduct) -> None:
    """What is told of a solution that is there already."""
    match act:
        case ReadPH():
            read_ph(found, act)
        case TellProduct():
            tell_product(found, act)
        case Strength():
            solution_strength(found, act.solution)
        case Part():
            part_of(found, act)
        case _:
            assert_never(act)


def _turn(found: Found, act: React | Settle) -> None:
    if isinstance(act, Settle):
        settle(found, act)
    else:
        react(found, act)


def _drive_over(found: Found, act: Pass) -> None:
    held = found.vessel(act.vessel).contents.pop(act.species, None)
    if held is None:
        raise Mistake(f"no {act.species} in '{act.vessel}' to drive over")
    found.put(act.into, act.species, held)
