"""A reaction that goes to the end comes in; what is used up, left over and formed goes into what was found so far."""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.reaction import Reaction
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import React
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found
from molewright.experiment.relations.variables import product, total

_Used = list[tuple[Name, Fraction]]


def react(found: Found, act: React) -> None:
    """What reacting to the end adds: amounts used up and left over of what is in excess, and products."""
    contents = found.vessel(act.vessel).contents
    if act.excess and act.excess not in contents:
        raise Mistake(
            f"{act.excess} is said to be in excess in '{act.vessel}', where none was measured",
            expected="a measured reagent",
        )
    used: _Used = []
    spent: list[tuple[str, Reaction]] = []
    for reaction in act.reactions:
        limiting = _limiting(found, reaction, act)
        source = contents[limiting]()
        if act.excess:
            used.append((source, reaction.ratio(act.excess, limiting)))
        spent.append((limiting, reaction))
    if act.excess:
        _leave(found, act, _summed(found, used, tuple(limiting for limiting, _ in spent), act.vessel))
    for limiting, reaction in spent:
        form_products(found, act.vessel, limiting, reaction)
    for limiting, _ in spent:
        contents.pop(limiting, None)


def _limiting(found: Found, reaction: Reaction, act: React) -> str:
    there = found.vessel(act.vessel)
    present = reaction.meeting(act.excess, there.contents)
    if len(present) != 1 or (act.excess and not reaction.has(act.excess)):
        raise Mistake(
            f"in '{act.vessel}' the reaction {reaction} cannot go to the end as described",
            expected=f"one reactant of it measured or weighed{' beside ' + act.excess if act.excess else ''}",
            do=f"{there.told} Name the one in excess.",
        )
    return present[0]


def _summed(found: Found, used: _Used, of: tuple[str, ...], vessel: str) -> _Used:
    """Amounts that react in the same ratio and make up a whole sample as one amount; others unchanged."""
    held = tuple(name for name, _ in used)
    if len(used) != 2 or used[0][1] != used[1][1] or found.mixture(held) is None:
        return used
    both = " and ".join(of)
    summed = found.new(quantities.amount(both, vessel, "both"), both, "both", vessel, several=of)
    found.suppose(held, summed)
    return [(summed, used[0][1])]


def _leave(found: Found, act: React, used: _Used) -> None:
    contents = found.vessel(act.vessel).contents
    start = contents[act.excess]()
    spent, left = (
        found.new(quantities.amount(act.excess, act.vessel, stage), act.excess, stage, act.vessel)
        for stage in ("reacted", "left over")
    )
    reaction = act.reactions[0]
    if len(used) == 1:
        found.relations.append(product("ratio", used[0][1], spent, (used[0][0],), reaction=reaction))
    else:
        found.relations.append(total("total", spent, tuple(used), reaction))
    found.relations.append(total("balance", spent, ((left, Fraction(-1)), (start, Fraction(1)))))
    if act.told:
        more = found.new(quantities.excess_share(act.excess), act.excess)
        found.relations.append(product("excess", Fraction(1, 100), left, (spent, more)))
    contents[act.excess] = lambda: left
    found.vessel(act.vessel).parts.pop(act.excess, None)


def form_products(found: Found, vessel: str, limiting: str, reaction: Reaction) -> None:
    """Put what a reaction forms into its vessel, by the amount of what limits it."""
    source = found.vessel(vessel).contents[limiting]
    for member in reaction.right:
        made = member.formula.text
        ratio = reaction.ratio(made, limiting)

        def formed(made: str = made, ratio: Fraction = ratio) -> Name:
            name = quantities.amount(made, vessel, "formed")
            if name in found.variables:
                name = found.unused(quantities.brought_by(name, limiting))
            found.new(name, made, "formed", vessel)
            found.relations.append(product("ratio", ratio, name, (source(),), reaction=reaction))
            return name

        found.put(vessel, made, formed)
