"""A question comes in; its opening goes out: the scene, what was done, the equations and the burette readings."""

from __future__ import annotations

from molewright.chem.reaction import Reaction
from molewright.nodes.blocks import Block, Paragraph
from molewright.sheet.equations import hidden, reactions, told_equation
from molewright.sheet.own_words import own_stem, tells_equation
from molewright.sheet.telling.ways import Opening, Way, opened
from molewright.sheet.titre_table import titre_table
from molewright.sheet.writer import Writer


def stem(
    writer: Writer, equations: tuple[Reaction, ...], complete_table: bool, easy: bool = False
) -> tuple[Block, ...]:
    """The blocks of a stem: what was done, these of the equations, and the table of readings where there is one.

    `easy`: told in a way that a weaker reader copes with, unless another is asked for.
    """
    draw = writer.question.draw
    own = own_stem(writer)
    opening = Opening(way=Way(telling="prose"), blocks=own) if own else opened(writer, easy)
    blocks: list[Block] = list(opening.blocks)
    told = reactions(writer)
    ionic = any(member.formula.charge for reaction in told for member in reaction.terms)
    every = ionic or len(draw.variant.procedure.titrations) > 1  # nobody is asked to find an ionic equation
    if own and tells_equation(writer):
        equations, every = (), False
    asked = hidden(writer)
    for reaction in told if every else equations:
        if reaction in asked:
            continue
        blocks.append(Paragraph((told_equation(writer, reaction),), "centred"))
    if draw.runs:
        place = 1 if opening.readings_first else len(blocks)
        blocks.insert(place, titre_table(writer, filled=not complete_table))
    return tuple(blocks)
