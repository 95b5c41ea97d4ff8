"""A question comes in; its opening goes out: the scene, what was done, the equations and the burette readings."""

from __future__ import annotations

from molewright.chem.reaction import Reaction
from molewright.nodes.blocks import Block, Paragraph
from molewright.nodes.inline import Inline, Line, Text
from molewright.sheet.equations import equation, reactions
from molewright.sheet.telling.procedure import tell
from molewright.sheet.titre_table import titre_table
from molewright.sheet.wording import joined
from molewright.sheet.writer import Writer


def stem(writer: Writer, equations: tuple[Reaction, ...], complete_table: bool) -> tuple[Block, ...]:
    """The blocks of a stem: prose, these of the equations, and the table of readings where there is one."""
    draw = writer.question.draw
    first, *later = tell(writer)
    blocks: list[Block] = [Paragraph(_running([(Text(draw.context.opening),), *first]))]
    blocks += [Paragraph(_running(stage)) for stage in later]
    told = reactions(writer)
    ionic = any(member.formula.charge for reaction in told for member in (*reaction.left, *reaction.right))
    every = ionic or len(draw.variant.procedure.titrations) > 1  # nobody is asked to find an ionic equation
    for reaction in told if every else equations:
        blocks.append(Paragraph((equation(reaction),), "centred"))
    if draw.runs:
        blocks.append(titre_table(writer, filled=not complete_table))
    return tuple(blocks)


def _running(sentences: list[Line]) -> Line:
    line: list[Inline] = []
    for sentence in sentences:
        if line:
            line.append(Text(" "))
        line.extend(sentence)
    return joined(line)
