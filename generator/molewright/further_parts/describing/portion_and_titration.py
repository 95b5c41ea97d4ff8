"""A calculation comes in; parts go out that have a portion taken, or a titration done, described step by step. Solves nothing.

What is described are the procedure's own pipette, burette and indicator. The reason for a step is the cause of the fault that is
made without it, and its effect on the titre is that of the fault performed on these numbers.
"""

from __future__ import annotations

from molewright.bench.perform import BenchFault
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, Measure, Titrate
from molewright.experiment.titres import CONCORDANT_CM3, READING_CM3
from molewright.further_parts.curves.colours import colours, self_coloured
from molewright.further_parts.faults.effect import effect, told
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Piece,
    Said,
    Strong,
    said,
    writing_lines,
)


def ask_portion(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """How a portion is taken with the pipette."""
    last = _only_titration(calculation)
    volume = _portion(calculation, last)
    if volume is None:
        raise Refusal("describe portion", "no portion is taken with a pipette")
    points = (
        FurtherPoint(
            (said("describe rinse pipette", bottle=said("solution of the portion")),),
            "pipette rinsed with the solution",
            (said("guide rinse"), *_reason(calculation, "rinse the pipette")),
        ),
        FurtherPoint(
            (said("describe fill pipette"),), "bottom of the meniscus on the mark", (said("guide fill pipette"),)
        ),
        FurtherPoint(
            (said("describe run out", volume=Strong(volume)),),
            "run out into a conical flask, its tip against the wall",
            (
                said("guide run out"),
                *_reason(calculation, "touch the wall"),
                *_reason(calculation, "rinse the flask with water", "guide rinsed flask"),
            ),
        ),
        FurtherPoint(
            (said("describe last drop"),),
            "last drop not blown out",
            _reason(calculation, "leave the last drop", "guide blown out"),
        ),
    )
    demand = said("describe portion", volume=volume)
    return (_part("describe portion", demand, points, "hint describe portion"),)


def ask_titration(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """How the titration is done, from the rinsing of the burette to the mean of the titres."""
    last = _only_titration(calculation)
    titrant = Bottle(last.titrant.name)
    point = "top" if self_coloured(calculation.bank, last.titrant) else "bottom"
    points = [
        FurtherPoint(
            (said("describe rinse burette", bottle=titrant),),
            "burette rinsed with the titrant",
            (said("guide rinse"), *_reason(calculation, "rinse the burette")),
        ),
        FurtherPoint(
            (said("describe jet"),),
            "funnel removed, jet filled",
            (
                said("guide jet"),
                *_reason(calculation, "fill the jet", "guide bubble"),
                *_reason(calculation, "take out the funnel", "guide funnel"),
            ),
        ),
        FurtherPoint(
            (said("describe readings", point=point, step=Quantity(half_up(READING_CM3, 2), Unit.CM3)),),
            "readings at eye level",
            (said(f"guide readings {point}"), *_reason(calculation, "read at eye level", "guide eye level")),
        ),
        FurtherPoint((said("describe swirl"),), "swirled, over a white tile", (said("guide swirl"),)),
        FurtherPoint(
            (_end(calculation),),
            "drop by drop near the end point",
            (said("guide drops"), *_reason(calculation, "add drop by drop", cause=said("cause overshot"))),
        ),
    ]
    if _repeated(calculation, last):
        limit = Quantity(half_up(CONCORDANT_CM3, 2), Unit.CM3)
        points.append(
            FurtherPoint(
                (said("describe repeat", limit=limit),),
                f"repeated until two titres are within {half_up(CONCORDANT_CM3, 2)} cm³",
                (said("guide repeat"), *_reason(calculation, "leave out the rough titre", "guide rough")),
            )
        )
    demand = said("describe titration", titrant=titrant)
    return (_part("describe titration", demand, tuple(points), "hint describe titration"),)


def _part(kind: str, demand: Said, points: tuple[FurtherPoint, ...], hint: str) -> FurtherPart:
    return FurtherPart(kind=kind, demand=demand, points=points, space=(writing_lines(len(points)),), hint=said(hint))


def _only_titration(calculation: Calculation) -> Titrate:
    """The titration, where there is one. Raises Refusal for none and for several: nobody would know which is meant."""
    found = calculation.draw.variant.procedure.titrations
    if len(found) != 1:
        raise Refusal("describe", "there is not just one titration")
    return found[0]


def _portion(calculation: Calculation, last: Titrate) -> Quantity | None:
    """The printed volume that is pipetted for the titration."""
    for operation in calculation.draw.variant.procedure.operations:
        match operation:
            case Aliquot(into=into, apparatus="pipette") if into == last.vessel:
                return calculation.draw.given.get(quantities.volume_taken(into))
            case Measure(vessel=vessel, apparatus="pipette", excess=False) if vessel == last.vessel:
                return calculation.draw.given.get(operation.volume)
            case _:
                pass
    return None


def _repeated(calculation: Calculation, last: Titrate) -> bool:
    """Whether there are several portions to titrate: not where the whole sample is in the flask."""
    return not calculation.draw.variant.procedure.weighs_into(last.vessel)


def _end(calculation: Calculation) -> Piece:
    before, after = colours(calculation)
    if before and after:
        return said("describe drops", before=before, after=after)
    return said("describe drops plain")


def _reason(
    calculation: Calculation, step: str, wording: str = "guide reason titre", cause: Said | None = None
) -> tuple[Said, ...]:
    """Why a step matters: the cause of the fault that is made without it, and what it does to the titre."""
    fault = calculation.bank.fault_without(step)
    if fault is None or calculation.draw.ask.quantity.kind == "titre":
        return ()
    try:
        found = effect(calculation, fault).titre
    except BenchFault:
        return ()  # the experiment cannot be done with it: there is no effect to tell
    if found == "none":
        return ()
    return (said(wording, cause=cause or told(calculation, fault.cause), effect=f"too {_SIZE[found]}"),)


_SIZE = {"higher": "large", "lower": "small"}
