"""A reading of a pH meter, or a saturated solution, comes in; the sentences that tell it go out: what was read, and the constants."""

from __future__ import annotations

from molewright.experiment import acidity, quantities
from molewright.experiment.metering import ReadPH
from molewright.experiment.saturating import TellProduct
from molewright.sheet.meter_stages import stage_of
from molewright.sheet.telling.story import Story


def tell_reading(story: Story, act: ReadPH | TellProduct) -> None:
    """Tell what was read, or what the solution is saturated with."""
    if isinstance(act, ReadPH):
        read_ph(story, act)
    else:
        saturated(story, act)


def read_ph(story: Story, act: ReadPH) -> None:
    """Tell which pH was read, where it is not asked for, and the constants."""
    at = stage_of(story.procedure, act)
    reading = story.given(acidity.ph_in(act.vessel), "row pH", at=story.say(f"pH at {at}"))
    if reading is not None:
        story.tell(f"pH read {at}", reading=reading)
    elif acidity.ph_in(act.vessel) in story.draw.given:
        story.tell(f"pH read {at} hidden")


def saturated(story: Story, act: TellProduct) -> None:
    """Tell which solid it was, and what it was shaken with."""
    salt = story.species(act.solution.solute)
    if act.beside is None:
        story.remark("saturated in water", salt=salt)
        return
    substance = story.writer.bank.substances[act.beside.solute]
    strength = story.writer.numbers.given(quantities.concentration(act.beside.name))
    liquid = substance.solution or substance.name
    story.remark("saturated in", salt=salt, strength=strength or "", liquid=liquid)


def constants(story: Story) -> None:
    """What is told at the end: which pH is worked out and what for, and the constants."""
    for act in story.procedure.meters:
        if acidity.ph_in(act.vessel) not in story.draw.given:
            story.remark(f"pH wanted {stage_of(story.procedure, act)}")
        _constants(story, act)


def _constants(story: Story, act: ReadPH) -> None:
    """The acid constant, or its pKa, and the ionic product of water, where they are told."""
    for name, key in (
        (acidity.acid_constant(act.family), "acid constant"),
        (acidity.pka(act.family), "pKa"),
        (acidity.ION_PRODUCT, "ion product"),
    ):
        number = story.writer.numbers.given(name)
        if number is not None:
            story.remark(f"told {key}", number=number, acid=_weak_acid(story, act))


def _weak_acid(story: Story, act: ReadPH) -> str:
    """A weak acid by the name of its family, an ion with its article; "" where the pH is that of a strong acid or alkali."""
    return next((acid.with_article for acid in story.writer.bank.acids.values() if acid.formula == act.family), "")
