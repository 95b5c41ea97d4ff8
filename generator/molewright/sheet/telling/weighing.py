"""A weighing comes in; its sentences are added to the story: how it was weighed, and what is told of its composition."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.experiment import quantities
from molewright.experiment.procedure import Operation, Pass, React, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.nodes.inline import Amount, Chem, Inline, Line, Text
from molewright.sheet.telling.story import Story
from molewright.sheet.wording import count_word


def weigh(story: Story, act: Weigh) -> None:
    """Tell a weighing, and what is said of the sample's composition."""
    writer = story.writer
    noun: str | Line = writer.samples.noun(act)
    pure = (
        act.pure and noun != writer.samples.name()
    )  # no mixture, nor a substance whose name would give the answer away
    if noun == writer.bank.name_of(act.contents[0].substance) and noun != writer.samples.name():
        noun = _chemical(story, act, act.contents[0].substance)
    slots: dict[str, str | Inline | Line] = {"noun": noun}
    if act.brought_by:
        slots |= {"by": act.brought_by, "mass": _mass(story, act, "row mass") or ""}
        key = "weigh brought" if slots["mass"] else "weigh brought hidden"
    elif act.pieces:
        key = _pieces(story, act, slots)
    elif act.by_difference:
        key = _by_difference(story, act, slots)
    else:
        mass = _mass(story, act, "row mass")
        slots["mass"] = mass or ""
        # a beaker would do neither for a titration nor for driving a gas over, nor hold fumes back
        key = "weigh pure" if pure else "weigh flask" if stays(story.operations, act) else "weigh"
        key += "" if mass else " hidden"
    story.tell(key, **slots)
    _composition(story, act)


def _mass(story: Story, act: Weigh, row: str) -> Amount | None:
    noun = story.writer.samples.noun(act)
    return story.given(quantities.mass(act.sample), row, noun=noun) if act.weighed else None


def _pieces(story: Story, act: Weigh, slots: dict[str, str | Inline | Line]) -> str:
    """What is weighed in pieces, and counted."""
    number = story.draw.given.get(quantities.pieces(act.pieces))
    counted = int(number.number) if number else 0
    slots["number"] = count_word(counted)
    slots["pieces"] = act.pieces if counted == 1 else f"{act.pieces}s"
    mass = _mass(story, act, "row mass" if counted == 1 else "row total mass")
    slots["mass"] = mass or ""
    return "weigh pieces" if mass else "weigh pieces counted" if not act.weighed else "weigh pieces hidden"


def _by_difference(story: Story, act: Weigh, slots: dict[str, str | Inline | Line]) -> str:
    """What is weighed in a bottle that is weighed again when it has been tipped out."""
    noun = story.writer.samples.noun(act)
    full = story.given(quantities.bottle_mass(act.sample, False), "row bottle full", noun=noun)
    emptied = story.given(quantities.bottle_mass(act.sample, True), "row bottle emptied", noun=noun)
    slots["full"], slots["emptied"] = full or "", emptied or ""
    return "weigh by difference" if full or emptied else "weigh by difference hidden"


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
    if act.subscript:
        known = _told(story, quantities.subscript(act.subscript))
        story.tell("formula with x", sample=writer.samples.name(), formula=act.subscript)
        if known:
            story.tell("formula with x known", number=known)
    elif act.pure and len(act.contents) > 1:
        both = (writer.bank.name_of(content.substance) for content in act.contents)
        story.tell("holds both", sample=writer.samples.name(), both=" and ".join(both))
    for content in act.contents:
        slots: dict[str, str | Inline | Line] = {
            "sample": writer.samples.name() if scene else "the solid",
            "analyte": writer.bank.name_of(content.substance),
            "piece": act.pieces,
        }
        share = _told(story, quantities.percentage(content.substance, act.sample))
        within = _told(story, quantities.mass_within(content.substance, act.sample))
        molar = _told(story, quantities.molar_mass(content.substance))
        each = _told(story, quantities.mass_each(content.substance, act.pieces)) if act.pieces else None
        if share:
            story.tell("holds", percentage=share, **slots)
        if each:
            story.tell("holds each", mass_each=each, **slots)
        if within:
            story.tell("holds mass", mass_within=within, **slots)
        if molar:
            story.tell("molar mass given", molar_mass=molar, **slots)


def _told(story: Story, name: Name) -> Amount | None:
    """What is told of a composition."""
    if story.writer.numbers.given(name) is None:
        return None
    first, *rest = story.writer.names.the(story.writer.question.system.variables[name])
    what = (Text(first.text.removeprefix("the ")), *rest) if isinstance(first, Text) else (first, *rest)
    return story.given(name, "row other", what=what)
