"""A calculation and the titres that a fault gives come in; the words that lead from titre to answer go out.

The derivation is gone through with the wrong titres, and every step is compared with the right one: so it is found, and never typed
for a kind of question, where an amount is subtracted and the answer turns round.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Literal

from molewright.derivation.derive import derive
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.conditions import is_back, unknown_in_burette
from molewright.further_parts.pieces import Bottle, Calculation, Named, Piece, said

Direction = Literal["higher", "lower", "none"]

TURNING = frozenset({"back", "burette", "water", "molar"})
"""Kinds of question in which the answer falls where the titre rises."""

TOLD_WHOLE = frozenset({"water", "molar"})
"""Kinds whose own sentence leads to the answer, whatever is subtracted on the way."""


def direction(found: Fraction, right: Fraction) -> Direction:
    """Whether a number is higher or lower than the right one."""
    return "higher" if found > right else "lower" if found < right else "none"


def link(calculation: Calculation, titres: Mapping[Name, Fraction], answer: Direction) -> list[Piece]:
    """From the titres as read to where the answer moves, in words; nothing where no titre moves."""
    moved = {name: direction(read, calculation.given[name]) for name, read in titres.items()}
    moved = {name: way for name, way in moved.items() if way != "none"}
    if not moved:
        return []
    last = calculation.draw.variant.procedure.titrations[-1].titre
    wrong = derive(calculation.system, calculation.worked.plan, {**calculation.given, **titres}).values
    if len(moved) > 1:
        return [said("fault link cancels" if answer == "none" else f"fault link every {moved[last]}")]
    if last not in moved:
        return list(_by_strength(calculation, wrong))
    return [said(f"fault link {kind(calculation)} {moved[last]}"), *_subtracted(calculation, wrong)]


def guide(calculation: Calculation, titre: Direction, answer: Direction, of_last: bool) -> str:
    """Whether the answer moves with the titre or against it, and why; "flask" where only ecf is to be said."""
    if not of_last:
        return "strength"
    own = "back molar" if kind(calculation) == "back" and _divides(calculation) else kind(calculation)
    if "none" in (titre, answer):
        return "flask"
    if (titre == answer) != (own in TURNING):
        return own
    return "subtracted" if own == "flask" else "back subtracted" if own == "back" else "flask"


def kind(calculation: Calculation) -> str:
    """In which way the answer hangs on the titre: it rises with it (flask), falls (burette), or counts what is left (back)."""
    if is_back(calculation.draw):
        return "back"
    if unknown_in_burette(calculation.draw):
        return "burette"
    if calculation.draw.ask.quantity.kind == "water":
        return "water"
    return "molar" if _divides(calculation) else "flask"


def _divides(calculation: Calculation) -> bool:
    """Whether the amount that is found divides a mass: the answer falls where the amount rises."""
    return calculation.draw.ask.quantity.kind in ("water", "molar mass", "atomic mass")


def _by_strength(calculation: Calculation, wrong: Mapping[Name, Fraction]) -> Iterator[Piece]:
    """A first titration that finds the strength of the titrant of the last."""
    titrant = calculation.draw.variant.procedure.titrations[-1].titrant.name
    for step in calculation.worked.steps:
        if step.variable.name in (quantities.concentration(titrant), quantities.mass_concentration(titrant)):
            way = direction(wrong[step.variable.name], step.exact)
            if way != "none":
                yield said(f"fault link strength {way}", titrant=Bottle(titrant))


def _subtracted(calculation: Calculation, wrong: Mapping[Name, Fraction]) -> Iterator[Piece]:
    """The sums in which what moved is taken away from something; what is left over of a reagent is told already."""
    if kind(calculation) in TOLD_WHOLE:
        return
    right = {step.variable.name: step.exact for step in calculation.worked.steps}
    for step in calculation.worked.steps:
        name, relation = step.variable.name, step.relation
        if relation is None or relation.form != "sum" or (relation.kind == "balance" and is_back(calculation.draw)):
            continue
        way = direction(wrong[name], right[name])
        taken = [one for one in relation.names if one != name and one in right
                 and direction(wrong[one], right[one]) not in ("none", way)]  # fmt: skip
        if way != "none" and taken:
            yield said(f"fault link subtracted {way}", part=Named(taken[0]), rest=Named(name))
