"""A draw comes in; the conditions of banks/faults.yaml that hold for it go out, read from its procedure and the bank.

Where a procedure has two titrations or two flasks, nothing is said of "the pipette" or "the flask": nobody could tell which.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import Bank, LaboratoryFault
from molewright.draw.chosen import Draw
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Procedure, Titrate
from molewright.further_parts.faults.acid_and_alkali import AcidsAndAlkalis
from molewright.further_parts.faults.what_is_there import is_there


def conditions(bank: Bank, draw: Draw) -> frozenset[str]:
    """The words of `needs` that hold for a question, whatever indicator a fault speaks of."""
    chemistry = AcidsAndAlkalis(bank)
    return frozenset((
        *_setting(draw), *_handling(bank, draw), *_material(bank, draw), *chemistry.conditions(draw)
    ))  # fmt: skip


def faults_with_their_conditions(bank: Bank, draw: Draw) -> tuple[LaboratoryFault, ...]:
    """The faults of the bank of which every condition holds for a question."""
    held, chemistry = conditions(bank, draw), AcidsAndAlkalis(bank)
    used = {one.indicator for one in bank.faults}
    held_with = {name: held.union(chemistry.with_indicator(draw, name)) for name in used}
    possible = (one for one in bank.faults if held_with[one.indicator].issuperset(one.needs))
    return tuple(one for one in possible if is_there(bank, draw, one))


def unknown_in_burette(draw: Draw) -> bool:
    """Whether the strength of the titrant is what is asked for."""
    return draw.ask.quantity in draw.variant.procedure.titrations[-1].titrant.strengths


def is_back(draw: Draw) -> bool:
    """Whether a reagent is there in known excess: added, or made from what was added (iodine from iodate)."""
    return draw.variant.procedure.in_excess


def in_excess(draw: Draw) -> tuple[Measure, ...]:
    """The reagents that are added in known excess."""
    return draw.variant.procedure.reagents


def reagent_asked(draw: Draw) -> bool:
    """Whether the strength of the reagent in excess is what is asked for."""
    return any(draw.ask.quantity in op.solution.strengths for op in in_excess(draw))


def _setting(draw: Draw) -> Iterator[str]:
    back = is_back(draw)
    yield "back" if back else "direct"
    if unknown_in_burette(draw):
        if not back:
            yield "unknown in burette"
    else:
        yield "not standardised"
        if not back:
            yield "unknown in flask"
    if back and all(any(name in draw.given for name in op.solution.strengths) for op in in_excess(draw)):
        yield "reagent known"


def _handling(bank: Bank, draw: Draw) -> Iterator[str]:
    procedure = draw.variant.procedure
    last = procedure.titrations[-1]
    if len(procedure.titrations) == 1:
        yield from _single_titration(procedure, last)
    if not procedure.runs_on:
        yield "run of its own"
    if len(procedure.made_up) == 1:
        yield "made up"
    yield from _weighing(draw)
    if _is_standard(draw):
        yield "standard weighed"
    if draw.ask.quantity.kind == "water":
        yield "hydrate"
    if draw.indicator:
        yield "colour indicator"
    indicator = bank.indicators.get(draw.indicator)
    if indicator is not None and indicator.bottled is not None and indicator.bottled.form == "acid":
        yield "indicator kept as an acid"
    in_burette = bank.redox.get(last.titrant.species)
    if in_burette is None or not in_burette.dark:
        yield "clear titrant"


def _single_titration(procedure: Procedure, last: Titrate) -> Iterator[str]:
    portions = procedure.portions_into(last.vessel)
    poured = {act.apparatus for act in procedure.poured_into(last.vessel)}
    if {act.apparatus for act in portions} | poured == {"pipette"}:
        yield "pipette"
        if {act.vessel for act in portions} & {act.vessel for act in procedure.made_up}:
            yield "portion of the flask"
    if not procedure.weighs_into(last.vessel):
        yield "several runs"
    yield "one titration"


def _weighing(draw: Draw) -> Iterator[str]:
    weighed = draw.variant.procedure.weighings
    if len(weighed) == 1 and weighed[0].weighed and quantities.mass(weighed[0].sample) in draw.given:
        yield "weighed"
        if draw.ask.quantity.kind in ("percentage", "impurity") and len(weighed[0].contents) == 1:
            yield "percentage asked"


def _material(bank: Bank, draw: Draw) -> Iterator[str]:
    """What the bank says of how the material is weighed; nothing said is a powder."""
    material = bank.materials.get(draw.variant.roles.get("material", ""))
    if material is None or material.solid:
        yield "grains weighed"
    if material is None or material.damp:
        yield "can be damp"


def _is_standard(draw: Draw) -> bool:
    """Whether the one pure solid that is weighed tells the strength of a solution, and is not itself what is asked about."""
    pure = draw.variant.procedure.standards
    asked = draw.ask.quantity
    return (
        len(pure) == 1
        and quantities.mass(pure[0].sample) in draw.given
        and asked.kind in ("concentration", "mass concentration", "mass in volume", "percentage", "impurity")
        and asked.place != pure[0].sample
    )
