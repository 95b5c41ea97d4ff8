"""A question comes in; its mark scheme goes out: a row a mark point, what to allow beside it, exact answer and accepted range.

What holds for every question stands once at the front of the scheme (`scheme key` in wording.yaml), and in no row.
"""

from __future__ import annotations

from molewright.chem.quantity import Quantity, simplest_ratio
from molewright.derivation.worked import MarkPoint, WorkedStep
from molewright.experiment.relations.variables import Relation
from molewright.experiment.titres import chosen
from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import Inline, Line, Text
from molewright.sheet.further_parts import before, further_rows, mark_name
from molewright.sheet.mixture_lines import together_lines
from molewright.sheet.other_routes import route_rows
from molewright.sheet.parts import Level, labels, labels_after
from molewright.sheet.worked_steps import mean_line, molar_line
from molewright.sheet.writer import Writer

WIDTHS = (0.07, 0.48, 0.08, 0.37)
HEADING = ("Part", "What earns a mark", "Point", "For the marker")


def scheme_rows(writer: Writer, number: int, level: Level) -> list[tuple[Cell, ...]]:
    """The rows of one question's mark points, in order."""
    named = labels(writer, level)
    further = further_rows(writer, number, labels_after(writer, level))
    if not writer.question.points:
        return further
    shown = ""
    rows: list[tuple[Cell, ...]] = []
    for point in writer.question.points:
        label = f"{number}{named[point.number]}"
        rows.append(_row(writer, point, label if label != shown else ""))
        shown = label
    first = sum(part.marks for part in writer.question.further_parts[: before(writer)])
    return [*further[:first], *rows, *route_rows(writer), *further[first:]]


def scheme_table(rows: list[tuple[Cell, ...]], number: int) -> Table:
    """The rows of a question as a table with the scheme's heading; a further page says whose they are."""
    heading = tuple(
        Cell(((Text(text),),), head=True, align="centre" if text == "Point" else "left") for text in HEADING
    )
    return Table(
        widths=WIDTHS,
        heading=heading,
        rows=tuple(rows),
        whole=False,
        summary=f"Mark points of question {number}",
        continued=(Text(f"Question {number} continued"),),
    )


def _row(writer: Writer, point: MarkPoint, label: str) -> tuple[Cell, ...]:
    last = point is writer.question.worked.points[-1]
    if point.steps:
        working: tuple[Line, ...] = tuple(
            line
            for step in point.steps
            for line in (
                *together_lines(writer, step),
                (writer.lines.working(step, final=last and step is point.steps[-1]),),
            )
        )
        guidance = _guidance(writer, point)
    else:
        working, guidance = (mean_line(writer),), [_mean_guidance(writer)]
    if last:
        guidance += _final_guidance(writer)
    return (
        Cell(((Text(label, bold=True),),)),
        Cell(working),
        Cell(((Text(mark_name(writer, point.number), bold=True),),), align="centre"),
        Cell(tuple(guidance) or ((Text(""),),)),
    )


def _mean_guidance(writer: Writer) -> Line:
    runs = writer.question.draw.runs
    used = chosen(runs)
    names = (
        " and ".join(str(index) for index in used)
        if len(used) < 3
        else ", ".join(str(i) for i in used[:-1]) + f" and {used[-1]}"
    )
    outside = [index for index, run in enumerate(runs) if not run.rough and index not in used]
    others = f"; run {outside[0]} is not concordant" if outside else ""
    mean = writer.question.draw.given[writer.question.draw.variant.procedure.titrations[-1].titre].number_text
    short = f" {mean[:-1]} is right too." if mean.endswith("0") else ""
    return writer.words.line("guide mean", used=names, others=others, short=short)


def _guidance(writer: Writer, point: MarkPoint) -> list[Line]:
    """What belongs to the steps of this mark point alone."""
    told = [_kind_line(writer, step, step.relation) for step in point.steps if step.relation is not None and step.earns]
    return [line for line in told if line]


def _kind_line(writer: Writer, step: WorkedStep, relation: Relation) -> Line:
    """What the guidance says of a kind of step; nothing where it says nothing, or cannot for this one."""
    key = _balance_key(writer, step, relation) if relation.kind == "balance" else f"guide {relation.kind}"
    if not writer.words.has(key):
        return ()
    slots = _kind_slots(writer, step, relation)
    return () if slots is None else writer.words.line(key, 0, **slots)


def _balance_key(writer: Writer, step: WorkedStep, relation: Relation) -> str:
    key = "guide balance"
    if any(op.like for op in writer.question.draw.variant.procedure.measures):
        key = "guide balance blank"
    elif writer.names.planned():
        return ""
    elif writer.names.in_a_portion(step.variable):
        key = "guide balance portion"
    total = f"{key} total"
    return total if relation.adds_to(step.variable.name) and writer.words.has(total) else key


def _kind_slots(writer: Writer, step: WorkedStep, relation: Relation) -> dict[str, str | Inline | Line] | None:
    """What fills the guidance to a kind of step; None where something of it is not told in this question."""
    match relation.kind:
        case "ratio" | "contains":
            return {"left": writer.lines.ratio(relation)}
        case "scale":
            whole, part = (writer.question.draw.given.get(name) for name in relation.names[2:4])
            if whole is None or part is None:
                return None
            amount = writer.numbers.amount
            return {"whole": amount(whole), "part": amount(part), "times": _times(whole, part)}
        case "molar mass":
            molar = molar_line(writer, relation)
            return {"molar": molar} if molar else None
        case "each":
            number = writer.question.draw.given.get(relation.names[2])
            return {"number": number.number_text if number else "the number", "piece": writer.samples.piece()}
        case "concentration" if step.variable.kind != "amount":
            return None
        case _:
            return {}


def _times(whole: Quantity, part: Quantity) -> str:
    return format((whole.number / part.number).normalize(), "f")


def _final_guidance(writer: Writer) -> list[Line]:
    worked = writer.question.worked
    low, high = worked.accepted.low, worked.accepted.high
    lines: list[Line] = []
    asked = worked.steps[-1].variable
    if asked.settled or low.number == high.number:
        lines.append(writer.words.line("guide one", low=writer.numbers.answer()))
        if worked.accepted.before:
            first, last = worked.accepted.before
            lines.append(writer.words.line("guide before rounding", low=first.number_text, high=last.number_text))
    else:
        number = Text(low.number_text, bold=True)
        lines.append(writer.words.line("guide range", low=number, high=writer.numbers.amount(high, bold=True)))
    lines.append(writer.words.line("guide exact", exact=writer.numbers.exact_text().number_text))
    if asked.simple:
        lines.append(writer.words.line("guide ratio order", **writer.names.ratio_of(asked)))
        if simplest_ratio(worked.exact).denominator != 1:
            one = format(worked.answer.number.normalize(), "f")
            lines.append(writer.words.line("guide ratio to one", one=one))
    return lines
