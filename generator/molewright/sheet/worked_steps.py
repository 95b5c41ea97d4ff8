"""A question comes in; its steps worked out line by line go out: for worked solutions, and where a step is shown to the pupil."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.chem.masses import mass_sum
from molewright.chem.quantity import half_up
from molewright.derivation.worked import MarkPoint
from molewright.experiment.relations.variables import Relation
from molewright.experiment.titres import chosen
from molewright.nodes.blocks import Block, Paragraph, Part, Together
from molewright.nodes.inline import Inline, Line, Maths, MathsItem, Over, Sign, Symbol, Text
from molewright.sheet.common_sense import common_sense
from molewright.sheet.excess_bar import bar
from molewright.sheet.further_parts import worked_parts
from molewright.sheet.mixture_lines import mixture_lines, together_lines
from molewright.sheet.reasons import formula, reason, reason_of_the_mean
from molewright.sheet.titre_table import titre_table
from molewright.sheet.wording import capitalised, joined
from molewright.sheet.writer import Writer


def worked_steps(writer: Writer) -> list[Block]:
    """Every step of the calculation with its number and its reason, then the answer and how it is seen to make sense."""
    question = writer.question
    blocks = _numbered(writer, (*question.done, *question.worked.points))
    equations = mixture_lines(writer)
    if equations:
        shown: list[Block] = [Paragraph(one, indent_mm=6.0) for one in equations]
        blocks.append(Together((Paragraph(writer.words.line("another way by equations")), *shown)))
    answer = Paragraph((Text("Answer: ", bold=True), *answer_line(writer), Text(" ("), *_asked(writer), Text(")")))
    *before_it, last = blocks
    return [*before_it, Together((*last.blocks, answer, check_paragraph(writer)))]


def check_paragraph(writer: Writer) -> Paragraph:
    """How the answer is seen to make sense."""
    told: list[Inline] = [Text(writer.words.text("check lead"), bold=True)]
    for line in common_sense(writer):
        told += [Text(" "), *line]
    return Paragraph(joined(told))


def given_steps(writer: Writer) -> list[Part]:
    """What is worked out for the pupil before the steps that are left open, without a mark."""
    question = writer.question
    found = [*worked_parts(writer, question.read), *_numbered(writer, question.done)]
    return shown_to_the_pupil(found, writer.words.line("steps given"))


def shown_to_the_pupil(found: Sequence[Block], lead: Line) -> list[Part]:
    """Worked steps on a question paper: the first below what leads to them, each on one page."""
    return [Part("", () if at else lead, (block,), alone=True) for at, block in enumerate(found)]


def _numbered(writer: Writer, points: tuple[MarkPoint, ...]) -> list[Together]:
    """The steps of these mark points, numbered from 1."""
    worked = writer.question.worked
    blocks: list[Together] = []
    number = 0
    for point in points:
        if not point.steps:
            number += 1
            lead = _lead(number, writer.words.line("mean step"), reason_of_the_mean(writer))
            table = titre_table(writer, filled=True, used=chosen(writer.question.draw.runs))
            blocks.append(Together((lead, table, Paragraph(mean_line(writer), indent_mm=6.0))))
        for step in point.steps:
            number += 1
            final = step is worked.steps[-1]
            lines: list[Block] = [
                _lead(number, capitalised(writer.names.the(step.variable, asked=final)), reason(writer, step)),
                Paragraph((writer.lines.working(step, final=final),), indent_mm=6.0),
            ]
            lines[1:1] = [Paragraph(one, indent_mm=6.0) for one in together_lines(writer, step)]
            if step.relation is not None and step.relation.kind == "molar mass":
                molar = molar_line(writer, step.relation)
                if molar:
                    lines.insert(1, Paragraph(molar, "note", indent_mm=6.0))
            if step.relation is not None and step.relation.kind == "balance":
                lines += [amounts for amounts in (bar(writer),) if amounts]
            blocks.append(Together(tuple(lines)))
    return blocks


def _lead(number: int, found: Line, why: Line) -> Paragraph:
    """What a step finds, and why it is done so."""
    told: list[Inline] = [Text(f"Step {number}. ", bold=True), *found, *([Text(". "), *why] if why else [Text(".")])]
    return Paragraph(joined(told))


def mean_line(writer: Writer) -> Line:
    """The mean of the concordant titres as a line of working."""
    runs = writer.question.draw.runs
    used = chosen(runs)
    titration = writer.question.draw.variant.procedure.titrations[-1]
    mean = writer.question.draw.given[titration.titre]
    top: list[MathsItem] = []
    for index in used:
        top += [*([Sign("+")] if top else []), Text(str(half_up(runs[index].titre, 2)))]
    return (
        Maths(
            (
                Text("mean titre"),
                Sign("="),
                Over(tuple(top), (Text(str(len(used))),)),
                Sign("="),
                writer.numbers.amount(mean, bold=True),
            )
        ),
    )


def molar_line(writer: Writer, relation: Relation) -> Line:
    """The molar mass with its sum: M(CaCO₃) = 40.1 + 12.0 + (3 × 16.0) = 100.1."""
    for name in relation.names:
        variable = writer.question.system.variables[name]
        if variable.kind == "molar mass" and name in writer.question.system.fixed:
            sum_text = mass_sum(variable.subject, writer.question.masses)
            return (Symbol("M", variable.subject), Text(f" = {sum_text}"))
    return ()


def answer_line(writer: Writer) -> Line:
    """The answer as it stands in the key: "94.9 % CaCO₃"."""
    asked = writer.question.worked.steps[-1].variable
    line: Line = (writer.numbers.answer(),)
    if asked.kind == "oxidation state":
        return (Text("+", bold=True), *line)
    return (*line, Text(" "), *formula(asked)) if asked.kind == "percentage" else line


def _asked(writer: Writer) -> Line:
    return writer.names.the(writer.question.worked.steps[-1].variable, asked=True)
