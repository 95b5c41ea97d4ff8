"""A draw comes in; the conditions of banks/faults.yaml that hold for it go out, read from its procedure and the bank.

Where a procedure has two titrations or two flasks, nothing is said of "the pipette" or "the flask": nobody could tell which.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import Bank, LaboratoryFault
from molewright.draw.draw import Draw
from molewright.experiment import procedure as names
from molewright.experiment.procedure import Add, Aliquot, MakeUp, Measure, Operation, Procedure, React, Weigh
from molewright.further_parts.faults.acid_and_alkali import AcidsAndAlkalis
from molewright.further_parts.faults.faulty_bench import portion_volumes, standards, titrated
from molewright.plausibility.flask import last_flask

DARK = frozenset({"MnO4-", "Cr2O7^2-", "I2"})  # the bottom of their meniscus is hard to see: the top is read on purpose
DARK_IODINE = 1e-3  # mol dm⁻³; a tenth of it is pale yellow; common practice, no source


def conditions(bank: Bank, draw: Draw) -> frozenset[str]:
    """The words of `needs` that hold for a question, whatever indicator a fault speaks of."""
    chemistry = AcidsAndAlkalis(bank)
    return frozenset((
        *_setting(draw), *_handling(draw), *_material(bank, draw), *chemistry.conditions(draw), *_chemistry(draw)
    ))  # fmt: skip


def faults_with_their_conditions(bank: Bank, draw: Draw) -> tuple[LaboratoryFault, ...]:
    """The faults of the bank of which every condition holds for a question."""
    held, chemistry = conditions(bank, draw), AcidsAndAlkalis(bank)
    used = {one.indicator for one in bank.faults}
    held_with = {name: held.union(chemistry.with_indicator(draw, name)) for name in used}
    return tuple(one for one in bank.faults if held_with[one.indicator].issuperset(one.needs))


def unknown_in_burette(draw: Draw) -> bool:
    """Whether the strength of the titrant is what is asked for."""
    return draw.ask.quantity in names.strengths(draw.variant.procedure.titrations[-1].titrant)


def is_back(draw: Draw) -> bool:
    """Whether a reagent is there in known excess: added, or made from what was added (iodine from iodate)."""
    return draw.variant.procedure.in_excess


def in_excess(draw: Draw) -> tuple[Measure, ...]:
    """The reagents that are added in known excess."""
    return tuple(op for op in draw.variant.procedure.operations if isinstance(op, Measure) and op.excess)


def reagent_asked(draw: Draw) -> bool:
    """Whether the strength of the reagent in excess is what is asked for."""
    return any(draw.ask.quantity in names.strengths(op.solution) for op in in_excess(draw))


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
    if back and all(any(name in draw.given for name in names.strengths(op.solution)) for op in in_excess(draw)):
        yield "reagent known"


def _handling(draw: Draw) -> Iterator[str]:
    procedure = draw.variant.procedure
    last = procedure.titrations[-1]
    if len(procedure.titrations) == 1:
        if portion_volumes(procedure) and _pipetted(procedure.operations, last.vessel):
            yield "pipette"
            if any(
                isinstance(op, MakeUp) and op.vessel in _sources(last.vessel, procedure) for op in procedure.operations
            ):
                yield "portion of the flask"
        if not any(isinstance(op, Weigh) and op.vessel == last.vessel for op in procedure.operations):
            yield "several runs"
    if not runs_on(procedure):
        yield "run of its own"
    if sum(isinstance(op, MakeUp) for op in procedure.operations) == 1:
        yield "made up"
    weighed = [op for op in procedure.operations if isinstance(op, Weigh)]
    if len(weighed) == 1 and weighed[0].weighed and names.mass(weighed[0].sample) in draw.given:
        yield "weighed"
        if draw.ask.quantity.startswith("percentage") and len(weighed[0].contents) == 1:
            yield "percentage asked"
    if _is_standard(draw):
        yield "standard weighed"
    if draw.ask.quantity.startswith("water in"):
        yield "hydrate"
    if draw.indicator:
        yield "colour indicator"
    if last.titrant.species not in DARK:
        yield "clear titrant"


def _material(bank: Bank, draw: Draw) -> Iterator[str]:
    """What the bank says of how the material is weighed; nothing said is a powder."""
    material = bank.materials.get(draw.variant.roles.get("material", ""))
    if material is None or material.solid:
        yield "grains weighed"
    if material is None or material.damp:
        yield "can be damp"


def runs_on(procedure: Procedure) -> bool:
    """Whether the last titration goes on, in the same flask, from the end point of one before it."""
    *earlier, last = procedure.titrations
    return any(one.vessel == last.vessel for one in earlier)


def _is_standard(draw: Draw) -> bool:
    """Whether the one pure solid that is weighed tells the strength of a solution, and is not itself what is asked about."""
    pure = standards(draw.variant.procedure)
    asked = draw.ask.quantity
    return (
        len(pure) == 1
        and names.mass(pure[0].sample) in draw.given
        and asked.startswith(("concentration of", "mass concentration of", "mass in 100", "percentage of"))
        and not asked.endswith(f" in {pure[0].sample}")
    )


def _sources(vessel: str, procedure: Procedure) -> set[str]:
    return {op.vessel for op in procedure.operations if isinstance(op, Aliquot) and op.into == vessel}


def _pipetted(operations: tuple[Operation, ...], vessel: str) -> bool:
    kinds = [op.apparatus for op in operations if isinstance(op, Aliquot) and op.into == vessel]
    kinds += [op.apparatus for op in operations if isinstance(op, Measure) and op.vessel == vessel and not op.excess]
    return set(kinds) == {"pipette"}


# ------------------------------------------------------------------ redox, iodine, silver, EDTA


def _strength(species: str, draw: Draw) -> float:
    """The concentration of a species when the last titration begins, in mol dm⁻³."""
    flask = last_flask(draw.variant.procedure, draw.truth)
    return flask.amounts.get(species, 0.0) / flask.volume_cm3 * 1000 if flask is not None else 0.0


def _chemistry(draw: Draw) -> Iterator[str]:
    procedure = draw.variant.procedure
    last = procedure.titrations[-1]
    titrant, there = last.titrant.species, set(titrated(last))
    added = " ".join(op.what for op in procedure.operations if isinstance(op, Add) and op.vessel == last.vessel)
    solids = {
        member.formula.text
        for operation in procedure.operations
        if isinstance(operation, React)
        for reaction in operation.reactions
        for member in reaction.right
        if member.state == "s"
    }
    for words, holds in (
        ("iron(II) in flask", "Fe^2+" in there and len(procedure.titrations) == 1),
        ("ethanedioate in flask", bool(there & {"H2C2O4", "C2O4^2-"})),
        ("iodine in flask", "I2" in there),
        ("acid and iodide in flask", "I2" in there and "acidified potassium iodide" in added),
        ("dark with iodine", "I2" in there and _strength("I2", draw) >= DARK_IODINE),
        ("starch", draw.indicator == "starch"),
        ("manganate(VII) in burette", titrant == "MnO4-"),
        ("thiosulfate in burette", titrant == "S2O3^2-"),
        ("silver chloride in flask", titrant == "SCN-" and "AgCl" in solids),
        ("chromate indicator", titrant == "Ag+" and draw.indicator == "potassium chromate"),
        ("buffer of pH 10", titrant == "H2Y^2-" and "pH 10" in added),
    ):
        if holds:
            yield words
