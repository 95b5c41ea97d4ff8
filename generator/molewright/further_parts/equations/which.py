"""A procedure and its relations come in; what of its equations may be asked, and of which reactions, goes out. No number matters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, assert_never, get_args

from molewright.bank.definitions import Bank, Variant
from molewright.chem.reaction import Reaction
from molewright.draw.stream import Stream
from molewright.experiment.procedure import React, Titrate
from molewright.experiment.relations.variables import Relation, System
from molewright.further_parts.equations.right_equation import ionic_equation, written_in_ions

EquationKind = Literal[
    "complete equation",
    "equation",
    "equation with states",
    "ionic equation",
    "half-equations",
    "combined half-equations",
    "reacting ratio",
]
EQUATION_KINDS: tuple[EquationKind, ...] = get_args(EquationKind)
"""What may be asked of an equation: numbers for blanks, the whole with or without state symbols, without spectator ions, both
half-equations and what they make together, that from given half-equations, or the ratio alone."""


MARKS: Mapping[EquationKind, int] = {
    "complete equation": 1,
    "equation": 2,  # one for the species, one for the balance
    "equation with states": 3,
    "ionic equation": 2,
    "half-equations": 4,  # one for each, two for what they make together
    "combined half-equations": 2,
    "reacting ratio": 1,
}
"""What the parts of a kind are worth for each reaction (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Reactions that go on at once, of which a kind can be asked, and those that would give them away: all that go on beside them."""

    kind: EquationKind
    reactions: tuple[Reaction, ...]
    hides: tuple[Reaction, ...]


def possible_equations(bank: Bank, variant: Variant, system: System) -> tuple[Asked, ...]:
    """Every kind that can be asked, for every step in which something reacts.

    Not for one of several reactions that go on at once: the others would give it away, and are needed where they are left out.
    """
    steps = [
        act.reactions
        for act in variant.procedure.operations
        if isinstance(act, React | Titrate) and act.reactions and not (isinstance(act, Titrate) and act.sought)
    ]
    return tuple(
        Asked(kind, reactions, _beside(reactions, steps))
        for kind in EQUATION_KINDS
        for reactions in dict.fromkeys(steps)
        if set(_beside(reactions, steps)) == set(reactions)
        and all(_suits(bank, system, kind, reaction) for reaction in reactions)
        and not (kind == "half-equations" and _share_a_half(bank, reactions))
    )


def _share_a_half(bank: Bank, reactions: tuple[Reaction, ...]) -> bool:
    """Whether one half-equation belongs to several reactions, so that it would be asked for twice."""
    pairs = [bank.halves_of(reaction) for reaction in reactions]
    halves = [half for pair in pairs if pair is not None for half in (pair.reduction, pair.oxidation)]
    return len(set(halves)) < len(halves)


def _beside(reactions: tuple[Reaction, ...], steps: Sequence[tuple[Reaction, ...]]) -> tuple[Reaction, ...]:
    """These reactions, and those that go on at once with one of them in any step."""
    others = (one for step in steps if set(step) & set(reactions) for one in step)
    return tuple(dict.fromkeys((*reactions, *others)))


def picked_equation(possible: tuple[Asked, ...], kind: str, stream: Stream) -> Asked | None:
    """One of those of a kind, or of a kind that is picked where none is named; None where it cannot be asked."""
    kinds = tuple(dict.fromkeys(one.kind for one in possible))
    wanted = kind or (stream.branch("kind").pick(kinds) if kinds else "")
    able = [one for one in possible if one.kind == wanted]
    return stream.branch("reaction").pick(able) if able else None


def _suits(bank: Bank, system: System, kind: EquationKind, reaction: Reaction) -> bool:
    halves = bank.halves_of(reaction)
    ions = ionic_equation(bank, reaction)
    match kind:
        case "complete equation":
            return any(one.coefficient > 1 for one in reaction.terms)
        case "equation" | "equation with states":
            return halves is None and not written_in_ions(reaction)
        case "ionic equation":
            return halves is None and (ions is not None or written_in_ions(reaction))
        case "half-equations" | "combined half-equations":
            return halves is not None
        case "reacting ratio":
            return bool(ratios_from(system, reaction)) and ratios_from(system, reaction)[0].factor != 1
        case _:
            assert_never(kind)


def ratios_from(system: System, reaction: Reaction) -> tuple[Relation, ...]:
    """The relations that take their ratio from the coefficients of two reactants."""
    reactants = {one.formula.text for one in reaction.left}
    return tuple(
        relation
        for relation in system.relations
        if relation.kind == "ratio"
        and relation.reaction == reaction
        and {system.variables[name].subject for name in relation.names} <= reactants
    )
