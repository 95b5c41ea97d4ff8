"""A question that was drawn comes in; its worked solution goes out: stem, picture, every step with its reason, a check."""

from __future__ import annotations

from collections.abc import Iterator

from molewright.chem.reaction import Reaction
from molewright.further_parts.pieces import Reacting
from molewright.nodes.blocks import Block, Heading, Paragraph, Together
from molewright.nodes.inline import Text
from molewright.sheet.equations import reactions, told_equation
from molewright.sheet.flow import flow_blocks
from molewright.sheet.further_parts import before, further_worked
from molewright.sheet.half_equation_lines import full_equation
from molewright.sheet.parts import Level, ask_line, labels_after, picture_of
from molewright.sheet.stem import stem
from molewright.sheet.titre_table import titre_table
from molewright.sheet.worked_steps import worked_steps
from molewright.sheet.writer import Writer


def worked_solution(writer: Writer, number: int, level: Level, one_by_one: bool = False) -> list[Block]:
    """The worked solution of a question. Its picture stands with the first thing that is worked out, and never alone.

    Where steps are opened `one_by_one`, what holds later results, the completed picture and an equation that is asked for, stands last.
    """
    heading = Heading(2, (Text(f"Question {number}"),))
    if writer.question.shown is not None:
        return [Together((heading, Paragraph(writer.words.line("example above"))))]
    further, first = further_worked(writer, labels_after(writer, level)), before(writer)
    steps = worked_steps(writer) if writer.question.points else []
    worked = [*further[:first], *steps, *further[first:]]
    opening, *later = worked or [Together(())]
    ended = tuple(_ending(writer, level)) if one_by_one else ()
    pictures = tuple(block for block in _pictures(writer, level) if block not in ended)
    return [
        Together((heading, *_told(writer, level))),
        Together((*pictures, *(opening.blocks if isinstance(opening, Together) else (opening,)))),
        *later,
        *((Together(ended),) if ended else ()),
    ]


def _ending(writer: Writer, level: Level) -> Iterator[Block]:
    """What stands above the steps on a sheet and tells what only they find."""
    if level == "scaffolded":
        yield from picture_of(writer, blank=False).flow()
    elif writer.question.draw.runs:  # it tells the mean of the titres in the table
        yield from flow_blocks(writer)
    asked = {piece.reaction for piece in _asked_equations(writer)}
    yield from (full_equation(writer, reaction) for reaction in reactions(writer) if reaction in asked)


def _told(writer: Writer, level: Level) -> Iterator[Block]:
    """The stem once more with what is asked, but for what is shown below it: equations, and the table of readings."""
    below = [Paragraph((told_equation(writer, reaction),), "centred") for reaction in reactions(writer)]
    readings = titre_table(writer, filled=True) if writer.question.draw.runs else None
    for block in stem(writer, (), complete_table=False, easy=level == "scaffolded"):
        if block not in below and block != readings:
            yield block
    if writer.question.points:
        yield Paragraph(ask_line(writer))


def _pictures(writer: Writer, level: Level) -> Iterator[Block]:
    """Where pupils had the picture to complete, the same picture complete."""
    yield from (picture_of(writer, blank=False).flow() if level == "scaffolded" else ()) or flow_blocks(writer)
    told = _worked_out(writer)
    yield from (full_equation(writer, reaction) for reaction in reactions(writer) if reaction not in told)


def _worked_out(writer: Writer) -> set[Reaction]:
    """The equations that a part works out below; one that is put together from half-equations stands above it."""
    found = {piece.reaction for piece in _asked_equations(writer)}
    return {one for one in found if writer.bank.halves_of(one) is None}


def _asked_equations(writer: Writer) -> Iterator[Reacting]:
    """Every equation that a part asks for."""
    parts = (part for part in writer.question.further_parts if part.equation is not None)
    pieces = (piece for part in parts for point in part.points for piece in point.lines)
    yield from (piece for piece in pieces if isinstance(piece, Reacting))
