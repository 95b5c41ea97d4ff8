"""A reaction of a question comes in; the lines that put it together from two half-equations go out, for worked solutions."""

from __future__ import annotations

from molewright.chem.half_equations import Halves
from molewright.chem.reaction import Reaction
from molewright.nodes.blocks import Block, Paragraph, Together
from molewright.nodes.inline import Chem, Inline, Text
from molewright.sheet.equations import equation, told_equation, with_states
from molewright.sheet.writer import Writer

_INDENT_MM = 6.0


def full_equation(writer: Writer, reaction: Reaction) -> Block:
    """The equation; where the banks hold its half-equations, both of them before it, and how their electrons cancel."""
    whole = Paragraph((told_equation(writer, reaction),), "centred")
    halves = writer.bank.halves_of(reaction)
    if halves is None:
        return whole
    lines = [
        Paragraph(
            writer.words.line(f"half {kind}", equation=equation(half, with_states(writer)), times=str(times)),
            indent_mm=_INDENT_MM,
        )
        for kind, half, times in (
            ("reduction", halves.reduction, halves.reduction_times),
            ("oxidation", halves.oxidation, halves.oxidation_times),
        )
    ]
    return Together((Paragraph(writer.words.line("half lead")), *lines, Paragraph(_cancelled(writer, halves)), whole))


def _cancelled(writer: Writer, halves: Halves) -> tuple[Inline, ...]:
    """What is lost and gained, what else stands on both sides, and by what every number is divided."""
    key = "half electron" if halves.electrons == 1 else "half electrons"
    line = writer.words.line(key, number=str(halves.electrons))
    if halves.cancelled:
        species: list[Inline] = []
        for one in halves.cancelled:
            species += [*([Text(" and ")] if species else []), Chem(one)]
        line = (*line, Text(" "), *writer.words.line("half both sides", species=tuple(species)))
    if halves.divisor > 1:
        line = (*line, Text(" "), *writer.words.line("half divided", divisor=str(halves.divisor)))
    return line
