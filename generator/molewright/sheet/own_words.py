"""A stem in a teacher's own words comes in; its paragraphs go out, with the numbers of the question in them and its formulae set.

A number that the question has stands in braces by its name, as "{mass of stone}"; "{number of mass of stone}" leaves its unit out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from molewright.chem.formula_scripts import formulae_among
from molewright.chem.reaction import parse_reaction
from molewright.chem.units import units_set
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import by_text
from molewright.nodes.blocks import Block, Paragraph
from molewright.nodes.inline import Chem, Inline, Line, Text
from molewright.sheet.equations import equation
from molewright.sheet.wording import joined
from molewright.sheet.writer import Writer

SLOT = re.compile(r"\{([^{}]*)\}")
ALONE = "number of "  # before the name of a quantity whose unit stands in the words
_EQUATION = re.compile(r"[^.,;:!?]*(?:->|→)[^.,;:!?]*")


def own_stem(writer: Writer) -> tuple[Block, ...]:
    """The paragraphs; one that is nothing but an equation is set as one."""
    return tuple(_paragraph(writer, text) for text in writer.question.draw.context.words)


def tells_equation(writer: Writer) -> bool:
    """Whether the words hold an equation, so that none is set beside them."""
    return any("->" in text or "→" in text for text in writer.question.draw.context.words)


def _paragraph(writer: Writer, text: str) -> Paragraph:
    if _EQUATION.fullmatch(text):
        try:
            return Paragraph((equation(parse_reaction(text)),), "centred")
        except Mistake:
            pass  # words with an arrow in them
    return Paragraph(own_line(writer, text))


def own_line(writer: Writer, text: str) -> Line:
    """Words with what stands in braces filled in, and formulae and units set."""
    names = by_text(writer.question.draw.given)
    pieces = SLOT.split(text)
    line: list[Inline] = []
    for at, piece in enumerate(pieces):
        line += _number(writer, names, piece) if at % 2 else _set(writer, piece)
    return joined(line)


def _number(writer: Writer, names: dict[str, Name], slot: str) -> Line:
    name = names.get(slot) or names.get(slot.removeprefix(ALONE))
    if name is None:
        raise Mistake(
            f"the words of the scene '{writer.question.draw.context.key}' name {shortened(slot)}, which this question does not tell",
            expected=f"one of: {', '.join(names)}",
            near=nearest(slot, names),
        )
    amount = writer.numbers.given(name)
    assert amount is not None
    return (Text(amount.quantity.number_text),) if slot not in names else (amount,)


def _set(writer: Writer, words: str) -> Iterator[Inline]:
    for piece, formula in formulae_among(words.replace("->", "→")):
        if formula:
            yield Chem(piece)
        elif piece:
            yield Text(writer.numbers.in_units(units_set(piece)))
