"""A titration comes in; its sentences are added to the story: what is titrated with what, to which end point, and the titre."""

from __future__ import annotations

from collections.abc import Mapping

from molewright.experiment import quantities
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.procedure import Add, React, Titrate, Warm
from molewright.further_parts.pieces import INDICATOR_CHOICE
from molewright.nodes.inline import Chem, Inline, Line, Text
from molewright.sheet.telling.story import Story
from molewright.sheet.wording import Filling, capitalised, count_word, joined


def titrate(story: Story, act: Titrate) -> None:
    """Tell a titration, what is said of the reaction in it, and its titre."""
    story.tell_strength(act.titrant)
    bottle = story.bottle(act.titrant)
    if story.followed is not None and act.vessel == story.followed.vessel:
        if act is of_last_flask(story.procedure)[0]:  # the curve goes on through all end points
            story.tell(f"titrate {story.draw.archetype.graph}", bottle=bottle)
        return
    if any(isinstance(op, Titrate) and op.vessel == act.vessel for op in story.before):
        further = story.given(
            act.titre, "row further titre", bottle=story.writer.bottles.called(act.titrant, strength=False)
        )
        name = story.procedure.indicator(act, story.draw.indicator)
        key = "titrate on" if name else "titrate on alone"  # manganate(VII) shows its own end point twice
        hidden = further is None and story.register == "table"
        slots: dict[str, Filling] = {"name": name} if name else {"indicator": _indicator(story, act)}
        story.tell(f"{key} hidden" if hidden else key, titre=further or "", bottle=bottle, **slots)
        return
    story.sentences.append(_titrated(story, act, {"bottle": bottle, "indicator": _indicator(story, act)}))
    _tell_change(story, act)
    _tell_titre(story, act)


def _indicator(story: Story, act: Titrate) -> Line:
    """The indicator, or how the end point is seen without one; nothing where the pupil is to choose it."""
    name = story.procedure.indicator(act, story.draw.indicator)
    if name and INDICATOR_CHOICE in story.draw.archetype.further_parts:
        return ()
    has = story.writer.words.has
    for key in (f"with indicator {name} {act.titrant.solute}", f"with indicator {name}"):
        if has(key):
            return (Text(" "), *story.say(key))
    if name:
        return (Text(" "), *story.say("with indicator", indicator=name))
    seen = f"end point {act.titrant.solute}"
    return (Text(" "), *story.say(seen)) if has(seen) else ()


def _titrated(story: Story, act: Titrate, slots: Mapping[str, Filling]) -> Line:
    """The sentence of a titration, by what is in the flask; what was just seen is told with it."""
    formed = _formed(story, act)
    if formed:
        story.seen = ()
        return story.sentence("titrate formed", formed=formed, **slots)
    last = next((op for op in reversed(story.before) if isinstance(op, React)), None)
    left = story.procedure.left_to_use(last) if last is not None else ""
    if story.in_portions(act.vessel):
        if left and (story.seen or (last is not None and last.vessel == act.vessel)):
            sentence = story.sentence("titrate left in each", left=_named(story, left), **slots)
        else:
            sentence = story.sentence("titrate aliquot", **slots)
        return after_what_was_seen(story, sentence) if story.seen else sentence
    if last is not None and any(isinstance(op, React) and op.vessel == act.vessel for op in story.before):
        whole = story.sentence("titrate whole", **slots) if not left else None
        sentence = whole or story.sentence("titrate left", left=_named(story, left), **slots)
        return after_what_was_seen(story, sentence) if story.seen else sentence
    prepared = any(isinstance(op, Add | Warm) and op.vessel == act.vessel for op in story.before)
    return story.sentence("titrate whole" if prepared else "titrate portion", **slots)


def after_what_was_seen(story: Story, sentence: Line) -> Line:
    """A sentence that begins with what was just seen: "When the reaction was complete, ..."."""
    seen, story.seen = story.seen, ()
    return joined([*capitalised(seen), Text(", "), *_lowered(sentence)]) if sentence else ()


def _tell_change(story: Story, act: Titrate) -> None:
    """What the pupil is told of the electrons or the protons that change hands."""
    if act.electrons:
        story.remark("electrons told", ion=Chem(act.titrant.species), number=count_word(act.electrons))
        state = story.draw.given.get(quantities.oxidation_state(act.element, False))
        if state is not None:
            told = Text(f"+{state.number_text}")
            story.remark("oxidation told", ion=Chem(act.sought), element=Chem(act.element), state=told)
    elif act.basicity:
        story.remark("basicity told", sought=story.writer.bank.name_of(act.sought))


def _formed(story: Story, act: Titrate) -> str:
    """The name of what a reaction before set free in the vessel, if that is what is titrated and nothing has used it since."""
    reacted = [op for op in story.before if isinstance(op, React) and op.vessel == act.vessel]
    left = story.procedure.left_to_use
    if reacted and left(reacted[-1]):
        return ""
    made = {
        member.formula.text
        for op in story.before
        if isinstance(op, React) and op.vessel == act.vessel and not left(op)
        for reaction in op.reactions
        for member in reaction.right
    }
    sought = {member.formula.text for reaction in act.reactions for member in reaction.left}
    found = [one for one in sorted(made & sought) if one != "H2O" and one[-1] not in "+-"]
    return story.writer.bank.name_of(found[0]) if found else ""


def _named(story: Story, species: str) -> str | Inline:
    for solution in story.procedure.solutions():
        if solution.species == species:
            substance = story.writer.bank.substances.get(solution.solute)
            return story.writer.bottles.solute(solution) if substance and substance.solution else Chem(species)
    return story.species(species)


def _tell_titre(story: Story, act: Titrate) -> None:
    titre = story.draw.given.get(act.titre)
    if titre is None:
        return
    last = act is story.procedure.titrations[-1]
    if story.titre_told and last:
        return
    if story.draw.runs and last:
        if story.register != "table":  # there the data and the readings are told of together
            story.tell("table follows")
    else:
        once = story.writer.names.single_titre(act)
        bottle = story.writer.bottles.called(act.titrant, strength=False)
        row = ("row titre once" if once else "row titre") + (" named" if act.name else "")
        if sum(one.vessel == act.vessel for one in story.procedure.titrations) > 1:
            row = "row titre to the first"
        amount = story.given(act.titre, row, bottle=bottle, name=act.name)
        if amount is not None:
            bare = act.titre in story.draw.archetype.stated
            key = "whole titre" if once else "mean titre alone" if bare else "mean titre"
            story.tell(key, titre=amount, limit=story.writer.numbers.concordant())
    if act.name == "blank":
        story.tell("blank told")


def _lowered(line: Line) -> Line:
    first = line[0]
    if isinstance(first, Text) and first.text:
        return (Text(first.text[0].lower() + first.text[1:], first.bold, first.italic), *line[1:])
    return line
