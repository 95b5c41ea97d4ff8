"""A measured volume, a made-up flask or an aliquot comes in; its sentence is added to the story."""

from __future__ import annotations

from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, React, Weigh
from molewright.nodes.inline import Text
from molewright.sheet.telling.story import Story
from molewright.sheet.wording import capitalised, joined

DESCRIBED = "describe"  # the further part in which a pupil tells how a solution is made


def measure(story: Story, act: Measure) -> None:
    """Tell that a solution was measured out."""
    writer = story.writer
    share = writer.numbers.given(quantities.excess_share(act.solution.species)) if act.excess else None
    if share is not None:
        story.tell("excess planned", bottle=story.bottle(act.solution), share=share)
        return
    again = act.solution.name in story.named and writer.bottles.is_analysed(act.solution)
    if not again:
        story.tell_strength(act.solution)
    bottle = writer.bottles.called(act.solution, strength=False)
    volume = story.given(act.volume, _row(story, act, again), bottle=bottle)
    key = _measured(story, act, again)
    if story.followed is not None and act.vessel == story.followed.vessel:
        key = f"measure {story.draw.archetype.graph}"
    story.tell(
        key if volume else f"{key} hidden",
        volume=volume or "",
        bottle=story.bottle(act.solution),
        apparatus=act.apparatus,
    )
    if not act.like:
        for other in act.others:
            if writer.bottles.strength(other) is not None:
                sample = writer.bottles.called(act.solution, strength=False)
                story.tell("strength beside", sample=sample, bottle=writer.bottles.dissolved(other))


def _row(story: Story, act: Measure, again: bool) -> str:
    """The name of a measured volume in a table."""
    if sum(one.volume == act.volume for one in story.procedure.measures) > 1:
        return "row measured each"
    if act.excess:
        return "row added"
    return "row bottle" if act.apparatus == "bottle" else "row again" if again and not act.like else "row measured"


def _measured(story: Story, act: Measure, again: bool) -> str:
    """The wording of a measured volume, by what it is measured for and into."""
    each = story.in_portions(act.vessel)
    filled = any(isinstance(op, Weigh | Measure | Aliquot) and _fills(op) == act.vessel for op in story.before)
    if act.excess:
        return "excess each" if each else "excess" if filled or not story.before else "excess receiver"
    if act.apparatus in ("volumetric flask", "bottle"):
        return "measure large" if act.apparatus == "volumetric flask" else "measure bottle"
    if act.like == act.vessel:
        return "measure once more"
    if filled:
        return "measure into each" if each else "measure into"
    there = [op for op in story.after if isinstance(op, MakeUp | Measure | React) and op.vessel == act.vessel]
    if there and isinstance(there[0], MakeUp):
        return "measure"
    if any(isinstance(op, MakeUp) for op in there):
        return "measure beaker"
    return "measure again" if again else "measure portion"


def _fills(act: Weigh | Measure | Aliquot) -> str:
    return act.into if isinstance(act, Aliquot) else act.vessel


def make_up(story: Story, act: MakeUp) -> None:
    """Tell that a solution was made up to the mark, after what was seen to happen."""
    name = story.titration_of(act.vessel)
    described = any(part.kind == DESCRIBED for part in story.writer.question.further_parts)
    row = "row solution" if described else "row made up named" if name else "row made up"
    volume = story.given(quantities.volume_made_up(act.vessel), row, name=name)
    hidden = "" if volume else " hidden"
    if story.residue and any(isinstance(op, Weigh) and op.vessel == act.vessel for op in story.before):
        hidden = f" filtered{hidden}"
    if described:  # telling how would give it away
        diluted = isinstance(story.before[-1], Measure)
        story.tell(f"{'diluted' if diluted else 'made into'}{hidden}", volume=volume or "")
        return
    if story.seen:
        rest = story.sentence(f"make up{hidden}", volume=volume or "", residue=story.residue)
        story.sentences.append(joined([*capitalised(story.seen), Text(", "), *rest]))
        story.seen = ()
    elif isinstance(story.before[-1], Measure | Aliquot):
        story.tell(f"dilute{hidden}", volume=volume or "")
    else:
        story.tell(f"make up alone{hidden}", volume=volume or "", residue=story.residue)


def take_aliquot(story: Story, act: Aliquot) -> None:
    """Tell that portions were taken."""
    on = any(isinstance(op, MakeUp) and op.vessel == act.into for op in story.after)
    name = story.titration_of(act.into)
    row = "row taken on" if on else "row portion named" if name else "row portion"
    volume = story.given(quantities.volume_taken(act.into), row, name=name)
    if on:
        story.tell("aliquot on" if volume else "aliquot on hidden", volume=volume or "", apparatus=act.apparatus)
    elif story.followed is not None and act.into == story.followed.vessel:
        key = f"aliquot {story.draw.archetype.graph}"
        story.tell(key if volume else f"{key} hidden", volume=volume or "")
    elif story.seen and (volume is not None or story.register == "table"):
        hidden = "" if volume else " hidden"
        story.tell(f"aliquot after reaction{hidden}", seen=story.seen, volume=volume or "")
        story.seen = ()
    elif volume is None:
        story.tell("aliquot hidden")
    else:
        story.tell("aliquot", volume=volume)
