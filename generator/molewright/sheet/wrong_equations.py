"""A part that asks for an equation comes in; its common wrong answers go out as the scheme prints them: fault, marks, what follows."""

from __future__ import annotations

from molewright.answer.equations import AskedEquation
from molewright.further_parts.pieces import FurtherPart, WrongEquation
from molewright.nodes.blocks import Cell
from molewright.nodes.inline import Inline, Line, Text
from molewright.sheet.equations import equation
from molewright.sheet.writer import Writer


def wrong_equation_rows(writer: Writer, part: FurtherPart, label: str) -> list[tuple[Cell, ...]]:
    """One row a wrong equation: as it is written, what is wrong and where it leads, the marks of the part."""
    if part.equation is None:
        return []
    where = f" in {label}" if label else ""
    return [
        (
            Cell((_written(part.equation.asked, wrong),)),
            Cell(((*((Text(f"Part {label}: "),) if label else ()), *wrong_equation_line(writer, wrong)),)),
            Cell(((Text(f"{wrong.marks} of {part.marks}{where}"),),), align="centre"),
        )
        for wrong in part.equation.wrong
    ]


def wrong_equation_line(writer: Writer, wrong: WrongEquation) -> Line:
    """What is wrong in an equation, and the answer that it leads to, with all marks of the calculation."""
    if wrong.leads_to is None:
        return writer.words.line("wrong equation", fault=wrong.fault)
    answer: Inline = writer.numbers.amount(wrong.leads_to, bold=True)
    return writer.words.line("wrong equation leads", fault=wrong.fault, answer=answer)


def _written(asked: AskedEquation, wrong: WrongEquation) -> Line:
    return (Text(asked.written(wrong.reaction)),) if asked.demand == "ratio" else (equation(wrong.reaction),)
