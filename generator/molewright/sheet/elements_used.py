"""A question comes in; the elements whose relative atomic masses its solutions need go out, for the front of the paper.

What is needed is read from the lines of working: those of the calculation, and those of every further part.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.chem.formula import parse_formula
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import FurtherPart, Lettered, Piece, Quotient, Reckoning, Said, Solved
from molewright.question.check import Question


def elements_used(question: Question) -> set[str]:
    """The symbols of the elements in every formula whose molar mass is used and told by nothing but its formula."""
    used = {name for step in question.worked.steps if step.relation for name in step.relation.names}
    for part in question.further_parts:
        used.update(_of_part(part))
    formulae = (question.system.variables[name].subject for name in question.system.fixed if name in used)
    return {symbol for formula in formulae for symbol, _ in parse_formula(formula).atoms}


def _of_part(part: FurtherPart) -> Iterator[Name]:
    for point in part.points:
        for line in point.lines:
            yield from _of_piece(line)
    for line in part.explained:
        yield from _of_piece(line)


def _of_piece(piece: Piece) -> Iterator[Name]:
    """The quantities of a piece of working, those above and below a line among them."""
    match piece:
        case Solved(relation=relation):
            yield from relation.names
        case Lettered(name=name):
            yield name
        case Said(slots=slots):
            for _, held in slots:
                yield from _of_piece(held)
        case Reckoning(pieces=held) | tuple(held):
            for one in held:
                yield from _of_piece(one)
        case Quotient(top=top, bottom=bottom):
            yield from _of_piece((*top, *bottom))
        case _:
            return
