"""A question's procedure comes in; the sentences that tell it go out, a list for each stage of the work."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import assert_never

from molewright.chem.formula import ELEMENTS
from molewright.chem.masses import element_name
from molewright.experiment import quantities
from molewright.experiment.driving_off import making_of
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
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.saturating import TellProduct
from molewright.nodes.inline import Inline, Line, Text
from molewright.sheet.telling.metering import constants, tell_reading
from molewright.sheet.telling.portions import make_up, measure, take_aliquot
from molewright.sheet.telling.story import Register, Row, Story
from molewright.sheet.telling.titrating import after_what_was_seen, titrate
from molewright.sheet.telling.weighing import weigh
from molewright.sheet.writer import Writer

GOES_ON = re.compile(r"\b(was|were)\b")  # what is added, where more is told of it in whole sentences


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What was done, told: the sentences of each stage, what stands beside jottings or in a table, what there were no words for."""

    stages: tuple[tuple[Line, ...], ...]
    remarks: tuple[Line, ...]
    rows: tuple[Row, ...]
    lacking: tuple[str, ...]


def tell(writer: Writer, register: Register = "", titre_told: bool = False) -> Told:
    """The sentences in order, by stages: what follows a titration and is no part of it starts a new one.

    `titre_told`: the result of the last titration was told before.
    """
    story = Story(writer, register, titre_told)
    stages: list[list[Line]] = []
    titrated = False
    for index, operation in enumerate(story.operations):
        if titrated and isinstance(operation, Weigh | Measure):
            stages.append(story.sentences)
            story.sentences = []
        titrated = isinstance(operation, Titrate)
        story.before, story.after = story.operations[:index], story.operations[index + 1 :]
        _tell(story, operation)
    _volume_strength(story)
    _factor(story)
    constants(story)
    stages.append(story.sentences)
    return Told(
        stages=tuple(map(tuple, stages)),
        remarks=tuple(story.remarks),
        rows=tuple(story.rows),
        lacking=tuple(story.lacking),
    )


def _tell(story: Story, act: Operation) -> None:
    match act:
        case Weigh():
            weigh(story, act)
        case Measure():
            measure(story, act)
        case MakeUp():
            make_up(story, act)
        case Aliquot():
            take_aliquot(story, act)
        case Titrate():
            titrate(story, act)
        case ReadPH() | TellProduct():
            tell_reading(story, act)
        case Strength():
            _strength_wanted(story, act)
        case Settle():
            story.tell("settled")
        case Part():
            pass  # the scene and the part's name tell of what the whole is made up
        case Dissolve() | Add() | Warm():
            _prepare(story, act)
        case React() | Pass() | Remove() | GasVolume() | Change():
            _happen(story, act)
        case _:
            assert_never(act)


def _prepare(story: Story, act: Dissolve | Add | Warm) -> None:
    """What is done to the contents of a vessel before they react."""
    match act:
        case Dissolve():
            crushed = any(isinstance(op, Weigh) and op.pieces for op in story.before)
            key = "dissolve crushed" if crushed else "dissolve partly" if story.residue else "dissolve"
            story.tell(key, solvent=act.solvent)
        case Add():
            _add(story, act)
        case Warm():
            story.tell("warm each" if story.in_portions(act.vessel) else "warm", to=act.to)
        case _:
            assert_never(act)


def _add(story: Story, act: Add) -> None:
    """What is added in plenty; to what, where the last thing was put elsewhere."""
    what, comma, why = act.what.partition(", ")
    last = story.before[-1] if story.before else None
    if story.in_portions(act.vessel):
        key = "add to each"
    elif isinstance(last, Measure) and last.vessel != act.vessel and story.procedure.weighs_into(act.vessel):
        key = "add to the sample"
    else:
        key = "add"
    # what goes on in words of its own is no jotting: "..., and the bottle was closed and shaken"
    goes_on = key != "add to the sample" and GOES_ON.search(why)
    story.tell(f"{key} and then" if goes_on else key, what=what, why=comma + why)


def _happen(story: Story, act: React | Pass | Remove | GasVolume | Change) -> None:
    """What happens in a vessel: seen, and told with the next thing that is done."""
    match act:
        case React():
            story.seen = _seen(story, act)
        case Pass():
            _drive_over(story, act)
        case Remove():
            _leave(story, act)
        case GasVolume():
            _gas(story, act)
        case Change():
            pass  # a mistake of somebody's is told by its further part, never by the stem
        case _:
            assert_never(act)


def _drive_over(story: Story, act: Pass) -> None:
    """A gas that is driven over: out of a mixture, or out of a sample of which nobody says what was put to it."""
    making, story.seen = making_of(story.procedure, act), ()
    gas = story.species(act.species)
    if making is None or not making.alone:
        story.tell("drive over", gas=gas)
        return
    samples = story.writer.samples
    sample = samples.name() if samples.of_the_scene(making.weighed) else "the solid"
    if making.source in ELEMENTS:
        story.tell("drive over of an element", gas=gas, sample=sample, element=element_name(making.source))
    else:
        story.tell("drive over of a sample", gas=gas, sample=sample)


def _leave(story: Story, act: Remove) -> None:
    """A gas that is boiled off, or a solid that is filtered off."""
    if not act.by_boiling:
        told = story.sentence("filter off", solid=story.species(act.species))
        story.sentences.append(after_what_was_seen(story, told) if story.seen else told)
        return
    gases = {acid.gas for acid in story.writer.bank.acids.values()}
    by_seen = act.species not in gases and any(_tells_of(story, op, act) for op in story.before)
    if by_seen:  # "After boiling until damp red litmus held in the steam stayed red"
        return
    story.seen = ()
    if story.after and isinstance(story.after[0], MakeUp | Aliquot | Titrate):
        story.seen = story.say("boiled off", gas=story.species(act.species))
    else:
        story.tell("boil off", gas=story.species(act.species))


def _gas(story: Story, act: GasVolume) -> None:
    """A gas whose volume is told, or asked for."""
    volume, molar = (story.writer.numbers.given(one) for one in (act.volume, quantities.MOLAR_VOLUME))
    key = "lead in" if act.led_in else "collect gas"
    slots: dict[str, str | Inline | Line] = {"gas": story.species(act.species)}
    if volume is not None:
        slots["volume"] = volume
    story.seen = ()
    story.tell(key if volume is not None else f"{key} hidden", **slots)
    if molar is not None:
        story.remark("molar volume told", molar=molar, conditions=gas_conditions(story.writer))


def _tells_of(story: Story, op: Operation, act: Remove) -> bool:
    """Whether what was seen in a reaction tells that a gas left which it gave."""
    if not isinstance(op, React) or op.vessel != act.vessel:
        return False
    entry = story.writer.bank.entry_of(op.reactions[0])
    return entry is not None and bool(entry.seen) and op.reactions[0].has(act.species)


def _seen(story: Story, act: React) -> Line:
    entry = story.writer.bank.entry_of(act.reactions[0])
    if entry and entry.seen:
        return (Text(entry.seen),)
    return story.say("reacted") if act.excess else ()


def _strength_wanted(story: Story, act: Strength) -> None:
    strength = story.writer.bottles.strength(act.solution)
    if strength is not None:
        story.tell("strength wanted", strength=strength)


def _volume_strength(story: Story) -> None:
    """What volume strength means and what a mole of gas fills, where that is asked for."""
    molar = story.writer.numbers.given(quantities.MOLAR_VOLUME)
    if molar is None:
        return
    solution = next((one for one in story.procedure.solutions() if one.breakdown is not None), None)
    if solution is None:
        return  # the volume of a gas is told by its own line
    if quantities.volume_strength(solution.name) == story.draw.ask.quantity:
        slots: dict[str, str | Inline | Line] = {
            "gas": story.species(solution.gas),
            "molar": molar,
            "conditions": gas_conditions(story.writer),
        }
        story.remark("volume strength told", sample=story.writer.samples.name(), **slots)


def _factor(story: Story) -> None:
    """What is counted as so many times the mass of another substance."""
    for act in story.procedure.weighings:
        factor = story.writer.numbers.given(quantities.factor(act.counted_as)) if act.counted_as else None
        if factor is not None:
            part = act.elements[0] if act.elements else act.contents[0].substance
            name = Text(element_name(part)) if part in ELEMENTS else story.species(part)
            story.remark("factor told", counted=act.counted_as, factor=factor, part=name)


def gas_conditions(writer: Writer) -> Line:
    """At what temperature and pressure a gas has the molar volume that is told, after a space; () where no words tell it."""
    told = writer.question.draw.given[quantities.MOLAR_VOLUME]
    key = f"gas conditions {told.number_text}"
    return (Text(" "), *writer.say(key)) if writer.words.has(key) else ()
