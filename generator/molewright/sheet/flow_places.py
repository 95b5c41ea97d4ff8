"""A quantity comes in; where in the picture of the experiment it belongs goes out: in which vessel and when, or at which burette."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from molewright.experiment import quantities
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.procedure import MakeUp, Measure, Pass, Remove, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Variable
from molewright.nodes.figures import Apparatus
from molewright.nodes.inline import Chem, Line
from molewright.sheet.telling.weighing import stays
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer

MEASURED_WITH: dict[str, Apparatus] = {"pipette": "pipette", "volumetric flask": "volumetric flask"}


@dataclass(frozen=True, slots=True)
class Place:
    """A box of the picture: the burette of a titration, or a vessel as it is filled first or as it is at the end."""

    vessel: str
    when: Literal["first", "last"] = "first"
    titration: Titrate | None = None


@dataclass(frozen=True, slots=True)
class Filled:
    """What is found of a quantity, as it stands in the picture: a blank, or its value."""

    name: Name
    place: Place
    line: Line


def place_of(writer: Writer, variable: Variable, scaled: bool) -> Place | None:
    """The box of a quantity that can be poured, weighed or read; None for one that is only reckoned.

    `scaled`: it was found from a portion, so that it belongs to the flask that the portion was taken from.
    """
    match variable.kind:
        case "titre":
            return Place(variable.vessel, titration=writer.names.titration(variable))
        case "amount":
            return _of_an_amount(writer, variable, scaled)
        case "volume":
            return Place(variable.vessel, "last" if variable.stage == "made up" else "first")
        case "mass":
            act = writer.samples.weighed(variable)
            return Place(act.vessel) if act is not None else None
        case "concentration":
            return _of_a_solution(writer, variable)
        case _:
            return None


def _of_an_amount(writer: Writer, variable: Variable, scaled: bool) -> Place | None:
    titrations = writer.names.titrations_of(variable)
    if titrations:
        return Place(variable.vessel, titration=titrations[0])
    if not variable.vessel or variable.stage == "electrons":
        return None
    return Place(variable.vessel, "last" if scaled and variable.stage != "portion" else "first")


def _of_a_solution(writer: Writer, variable: Variable) -> Place | None:
    """Where a solution is first met: in a burette, in a vessel that it is poured into, or in the flask where it is made."""
    solution = writer.bottles.of(variable)
    if solution is None:
        return None
    procedure = writer.question.draw.variant.procedure
    if solution.made_in:
        return Place(solution.made_in, "last")
    poured = [act.vessel for act in procedure.measures if solution in (act.solution, *act.others)]
    if poured:
        return Place(poured[0])
    delivered = [act for act in procedure.titrations if act.titrant == solution]
    return Place(delivered[0].vessel, titration=delivered[0]) if delivered else None


def come_or_gone(words: Words, act: Remove | GasVolume) -> Line:
    """What a box tells of a species that leaves its vessel, or of a gas that comes into it."""
    if isinstance(act, GasVolume):
        key = "flow gas led in" if act.led_in else "flow gas collected"
    else:
        key = "flow boiled off" if act.by_boiling else "flow filtered off"
    return words.line(key, species=Chem(act.species))


def apparatus_of(
    writer: Writer, vessel: str, first: Weigh | Measure | None, mixed: bool, filled: bool, titrated: bool
) -> Apparatus | None:
    """What the first box of a vessel is, as the stem tells it; None for what nothing here draws, as a closed bottle.

    `first` is what comes into it first, and `mixed` whether more than that does; `titrated` whether a titration is done in it, or it is
    a receiver.
    """
    procedure, graph = writer.question.draw.variant.procedure, writer.question.draw.archetype.graph
    gives_gas = any(act.vessel == vessel for act in procedure.every(Pass))
    if titrated and graph and vessel in {act.vessel for act in procedure.titrations}:
        return None if graph == "thermometric graph" else "beaker"  # an insulated cup is not drawn
    if any(act.vessel == vessel for act in procedure.settling):
        return None
    if titrated or gives_gas:
        return "conical flask"
    match first:
        case Weigh() if not mixed:
            told = writer.numbers.given(quantities.mass(first.sample))
            return "beaker" if first.pieces and told is None else "balance"
        case Weigh():
            return "conical flask" if stays(procedure.operations, first) else "beaker"
        case Measure() if not mixed:
            return MEASURED_WITH.get(first.apparatus)
        case Measure():  # into a beaker only what is made up to the mark afterwards
            made_up = any(act.vessel == vessel for act in procedure.every(MakeUp))
            return "beaker" if made_up else "conical flask"
        case _:
            return "beaker" if filled else None
