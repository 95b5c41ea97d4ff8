"""A question comes in; the equations of its experiment go out, as reactions and as nodes."""

from __future__ import annotations

from molewright.chem.reaction import Reaction, Species
from molewright.experiment import quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.procedure import React, Titrate
from molewright.nodes.inline import Chem, Equation, Gap, Maths, MathsItem, Sign, Term, Text
from molewright.sheet.writer import Writer

ARROW = "\N{RIGHTWARDS ARROW}"
_BLANK_MM = 9.0  # for a number of one or two figures


def equation(reaction: Reaction, states: bool = True) -> Equation:
    """A reaction as a node, with or without its state symbols."""

    def side(members: tuple[Species, ...]) -> tuple[Term, ...]:
        return tuple(
            Term("" if m.coefficient == 1 else str(m.coefficient), m.formula.text, m.state if states else "")
            for m in members
        )

    return Equation(side(reaction.left), side(reaction.right), both_ways=reaction.both_ways)


def told_equation(writer: Writer, reaction: Reaction) -> Equation:
    """A reaction of the experiment as it is told: with state symbols where every equation of the question has them, else none has."""
    return equation(reaction, with_states(writer))


def with_states(writer: Writer) -> bool:
    """Whether every equation of the experiment has its state symbols, so that all of them are told."""
    return writer.once(_all_with_states)


def _all_with_states(writer: Writer) -> bool:
    return all(member.state for reaction in reactions(writer) for member in reaction.terms)


def with_blanks(reaction: Reaction) -> Maths:
    """A reaction with a blank for each of its numbers."""

    def side(members: tuple[Species, ...]) -> list[MathsItem]:
        found: list[MathsItem] = []
        for at, one in enumerate(members):
            found += [*([Sign("+")] if at else []), Gap(_BLANK_MM), Chem(one.formula.text, one.state)]
        return found

    return Maths((*side(reaction.left), Text(f" {ARROW} "), *side(reaction.right)))


def hidden(writer: Writer) -> frozenset[Reaction]:
    """The reactions whose equations a part of the question asks for, so that they are printed nowhere on its paper."""
    parts = (part.equation for part in writer.question.further_parts if part.equation is not None)
    return frozenset(reaction for part in parts for reaction in part.hides)


def reactions(writer: Writer) -> tuple[Reaction, ...]:
    """The equations of the experiment, each once, in the order of the procedure."""
    return writer.once(_reactions)


def _reactions(writer: Writer) -> tuple[Reaction, ...]:
    found: dict[Reaction, None] = {}
    for operation in writer.question.draw.variant.procedure.operations:
        if isinstance(operation, React | Titrate):
            found.update(dict.fromkeys(operation.reactions))
        elif isinstance(operation, Settle):
            found[operation.reaction] = None
    for solution in writer.question.draw.variant.procedure.solutions():
        if (
            solution.breakdown is not None
            and quantities.volume_strength(solution.name) == writer.question.draw.ask.quantity
        ):
            found[solution.breakdown] = None
    return tuple(found)


def first_reactions(writer: Writer) -> tuple[Reaction, ...]:
    """The equations of what reacts first: more than one where several substances react at once."""
    for operation in writer.question.draw.variant.procedure.operations:
        if isinstance(operation, Settle):
            return (operation.reaction,)
        if isinstance(operation, React | Titrate) and operation.reactions:
            return operation.reactions
    return reactions(writer)[:1]
