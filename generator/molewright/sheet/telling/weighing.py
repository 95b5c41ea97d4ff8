"""A weighing comes in; its sentences are added to the story: how it was weighed, and what is told of its composition."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.experiment import quantities
from molewright.experiment.procedure import Operation, Pass, React, Titrate, Weigh
from molewright.nodes.inline import Chem, Inline, Line, Text
from molewright.sheet.telling.story import Story
from molewright.sheet.wording import count_word


def weigh(story: Story, act: Weigh) -> None:
    """Tell a weighing, and what is said of the sample's composition."""
    writer = story.writer
    mass = writer.numbers.given(quantities.mass(act.sample)) if act.weighed else None
    key = "weigh pure" if act.pure else "weigh"
    noun: str | Line = writer.samples.noun(act)
    if noun == writer.samples.name():  # a mixture, or a substance whose name would give the answer away
        key = "weigh"
    elif noun == writer.bank.name_of(act.contents[0].substance):
        noun = _chemical(story, act, act.contents[0].substance)
    slots: dict[str, str | Inline | Line] = {
        "noun": noun,
        "mass": mass or "",
        "pieces": f"{act.pieces}s",
        "number": "",
    }
    if act.pieces:
        number = story.draw.given.get(quantities.pieces(act.pieces))
        counted = int(number.number) if number else 0
        slots["number"] = count_word(counted)
        slots["pieces"] = act.pieces if counted == 1 else f"{act.pieces}s"
        key = "weigh pieces" if mass else "weigh pieces counted" if not act.weighed else "weigh pieces hidden"
    elif act.by_difference:
        slots["full"], slots["emptied"] = (
            writer.numbers.given(quantities.bottle_mass(act.sample, gone)) or "" for gone in (False, True)
        )
        key = "weigh by difference"
    elif mass is None:
        key += " hidden"
    elif key == "weigh" and stays(story.operations, act):
        key = "weigh flask"  # a beaker would do neither for a titration nor for driving a gas over, nor hold fumes back
    story.tell(key, **slots)
    _composition(story, act)


def stays(operations: Sequence[Operation], act: Weigh) -> bool:
    """Whether what was weighed is titrated where it is, gives off a gas to be caught, or is a liquid that reacts there."""
    own = {content.species for content in act.contents}
    liquid = any(
        member.state == "l" and member.formula.text in own
        for op in operations
        if isinstance(op, React) and op.vessel == act.vessel
        for reaction in op.reactions
        for member in reaction.left
    )
    return liquid or any(isinstance(op, Titrate | Pass) and op.vessel == act.vessel for op in operations)


def _chemical(story: Story, act: Weigh, substance: str) -> str | Line:
    """What is weighed by its name; a pure substance with the formula that the parts call it by, as an apposition."""
    name = story.writer.bank.name_of(substance)
    return (Text(f"{name}, "), Chem(substance), Text(",")) if act.pure and name != substance else name


def _composition(story: Story, act: Weigh) -> None:
    writer = story.writer
    scene = writer.samples.of_the_scene(act)
    if act.pure and len(act.contents) > 1:
        both = (writer.bank.name_of(content.substance) for content in act.contents)
        story.tell("holds both", sample=writer.samples.name(), both=" and ".join(both))
    for content in act.contents:
        slots: dict[str, str | Inline | Line] = {
            "sample": writer.samples.name() if scene else "the solid",
            "analyte": writer.bank.name_of(content.substance),
            "piece": act.pieces,
        }
        share = writer.numbers.given(quantities.percentage(content.substance, act.sample))
        within = writer.numbers.given(quantities.mass_within(content.substance, act.sample))
        molar = writer.numbers.given(quantities.molar_mass(content.substance))
        each = writer.numbers.given(quantities.mass_each(content.substance, act.pieces)) if act.pieces else None
        if share:
            story.tell("holds", percentage=share, **slots)
        if each:
            story.tell("holds each", mass_each=each, **slots)
        if within:
            story.tell("holds mass", mass_within=within, **slots)
        if molar:
            story.tell("molar mass given", molar_mass=molar, **slots)
