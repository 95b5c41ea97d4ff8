"""A question comes in; its mark scheme goes out: a row a mark point, what to allow beside it, exact answer and accepted range."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up, simplest_ratio
from molewright.derivation.derive import Step
from molewright.derivation.routes.search import Route, differing
from molewright.derivation.worked import MarkPoint, WorkedStep, shown_value
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System
from molewright.experiment.titres import chosen
from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import (
    Inline,
    Line,
    Maths,
    Sign,
    Text,
)
from molewright.sheet.further_parts import before, further_rows, further_wrong_rows, mark_name
from molewright.sheet.mixture_lines import chained, mixture_lines, mixture_points, together_lines
from molewright.sheet.parts import Level, calculation_parts, labels, labels_after, named_parts
from molewright.sheet.right_side import right_side
from molewright.sheet.worked_steps import mean_line, molar_line
from molewright.sheet.writer import Writer
from molewright.slips.wrong_answers import WrongAnswer

WIDTHS = (0.12, 0.47, 0.08, 0.33)
MOST_WRONG = 9
_FULL = {1: " one", 2: " both"}
HEADING = ("Part", "What earns a mark", "Point", "For the marker")


def scheme_rows(writer: Writer, number: int, level: Level) -> list[tuple[Cell, ...]]:
    """The rows of one question's mark points, in order."""
    named = labels(writer, level)
    further = further_rows(writer, number, labels_after(writer, level))
    if not writer.question.points:
        return further
    earned = {step.variable.name: point.number for point in writer.question.worked.points for step in point.steps}
    shown = ""
    rows: list[tuple[Cell, ...]] = []
    for point in writer.question.points:
        label = f"{number}{named[point.number]}"
        rows.append(_row(writer, point, label if label != shown else "", earned, level))
        shown = label
    first = sum(part.marks for part in writer.question.further_parts[: before(writer)])
    routes = writer.question.prepared.routes.routes
    held = (route for route in routes if route.holds(writer.question.given) and _left_open(writer, route))
    others = [_or_row(writer, route) for route in held] + _equations_row(writer)
    return [*further[:first], *rows, *others, *further[first:]]


def _equations_row(writer: Writer) -> list[tuple[Cell, ...]]:
    """Two simultaneous equations as another right route to the amounts in a mixture."""
    lines = mixture_lines(writer)
    if not lines or chained(writer.question.done):
        return []
    points = ", ".join(mark_name(writer, point.number) for point in mixture_points(writer))
    return [
        (
            Cell(((Text("or", bold=True),),)),
            Cell(lines),
            Cell(((Text(points, bold=True),),), align="centre"),
            Cell((writer.words.line("or two equations"),)),
        )
    ]


def _or_row(writer: Writer, route: Route) -> tuple[Cell, ...]:
    """Another right route: its steps that the main one does not have, and the marks they stand for."""
    prepared = writer.question.prepared
    values = prepared.routes.values(writer.question.given, route)
    lines = tuple(
        (_route_line(writer, prepared.routes.system, step, values),) for step in differing(prepared.plan, route)
    )
    kept = {(step.target, step.relation) for step in route.steps}
    own = {step.target for step in prepared.plan.steps if (step.target, step.relation) not in kept}
    points = [
        point.number
        for point in writer.question.worked.points
        if any(step.variable.name in own for step in _paid(point))
    ]
    key = f"or {route.family}"
    if writer.words.has(f"{key} total") and _adds(prepared.routes.system, route):
        key += " total"
    return (
        Cell(((Text("or", bold=True),),)),
        Cell(lines),
        Cell(((Text(", ".join(mark_name(writer, number) for number in points), bold=True),),), align="centre"),
        Cell((writer.words.line(key),)),
    )


def _left_open(writer: Writer, route: Route) -> bool:
    """Whether a route goes another way only over steps that are left to the pupil."""
    if not writer.question.done:
        return True
    prepared = writer.question.prepared
    kept = {(step.target, step.relation) for step in route.steps}
    own = {step.target for step in prepared.plan.steps if (step.target, step.relation) not in kept}
    done = {step.variable.name for point in writer.question.done for step in point.steps}
    return not own & done


def _adds(system: System, route: Route) -> bool:
    """Whether a route puts what reacted and what is left over together: the reagent is what is asked for."""
    balances = [step for step in route.steps if system.relations[step.relation].kind == "balance"]
    return any(system.relations[step.relation].adds_to(step.target) for step in balances)


def _route_line(writer: Writer, system: System, step: Step, values: Mapping[Name, Fraction]) -> Maths:
    def written(name: Name) -> Quantity:
        if (
            name in writer.question.draw.given
            or name in writer.numbers.steps
            or name not in values
            or name in system.fixed
        ):
            return writer.numbers.written(name)
        return shown_value(system.variables[name], values[name])

    relation = system.relations[step.relation]
    found = _found(writer, system, step, values)
    numbers = right_side(relation, step.target, written)
    if (
        relation.factor == 1 and relation.form == "product" and len(relation.names) == 2
    ):  # 1:1, so no arithmetic to show
        other = next(name for name in relation.names if name != step.target)
        numbers = writer.symbols.of(system.variables[other])
    return Maths(
        (
            *writer.symbols.of(system.variables[step.target]),
            Sign("="),
            *numbers,
            Sign("="),
            writer.numbers.amount(found, bold=True),
        )
    )


def _paid(point: MarkPoint) -> tuple[WorkedStep, ...]:
    """The steps that a mark is for: without a 1:1 step that only goes with another."""
    return tuple(step for step in point.steps if step.earns) or point.steps


def _found(writer: Writer, system: System, step: Step, values: Mapping[Name, Fraction]) -> Quantity:
    """A value of a route as it is printed: one titre less another to their own places, anything else to its figures."""
    shown = shown_value(system.variables[step.target], values[step.target])
    relation = system.relations[step.relation]
    given = [writer.question.draw.given.get(name) for name in relation.names if name != step.target]
    if relation.form == "product" or not all(given):
        return shown
    places = max(len(quantity.number_text.partition(".")[2]) for quantity in given if quantity is not None)
    return Quantity(half_up(values[step.target], places), shown.unit)


def wrong_table(writer: Writer, number: int, level: Level) -> Table | None:
    """The common wrong answers with the slips behind them and the marks they keep."""
    further = further_wrong_rows(writer, labels_after(writer, level))
    every = writer.question.wrong_answers() if writer.question.points else ()
    found = [wrong for wrong in every if not wrong.hidden and wrong.slips[0].often != "low"]
    if not found and not further:
        return None
    found.sort(key=lambda wrong: (wrong.slips[0].often != "high", not _handy(wrong), wrong.slips[0].key))
    rows: list[tuple[Cell, ...]] = []
    for wrong in found[:MOST_WRONG]:
        names = "; ".join(writer.numbers.in_units(slip.name) for slip in wrong.slips)
        note = f" Impossible: {wrong.impossible}." if wrong.impossible else ""
        rows.append(
            (
                Cell(((writer.numbers.amount(wrong.answer, bold=True),),)),
                Cell(((Text(names[:1].upper() + names[1:] + "." + writer.numbers.in_units(note)),),)),
                Cell(((Text(f"{_kept(wrong)} of {writer.question.worked.marks}"),),), align="centre"),
            )
        )
    rows += further
    parts = named_parts(calculation_parts(writer, level)) if writer.question.points else ""
    kept = writer.words.text("marks kept parts", parts=parts) if parts else writer.words.text("marks kept")
    heading = tuple(Cell(((Text(text),),), head=True) for text in ("Wrong answer", "What probably happened", kept))
    return Table(
        widths=(0.24, 0.58, 0.18),
        heading=heading,
        rows=tuple(rows),
        whole=False,
        summary=f"Common wrong answers to question {number}",
    )


def _kept(wrong: WrongAnswer) -> str:
    return str(wrong.marks) if wrong.marks == wrong.most else f"{wrong.marks} or {wrong.most}"


def _handy(wrong: WrongAnswer) -> bool:
    """Whether the answer is of a size that a pupil might believe."""
    return not wrong.impossible


def scheme_table(rows: list[tuple[Cell, ...]], summary: str) -> Table:
    """The rows as a table with the scheme's heading."""
    heading = tuple(
        Cell(((Text(text),),), head=True, align="centre" if text == "Point" else "left") for text in HEADING
    )
    return Table(widths=WIDTHS, heading=heading, rows=tuple(rows), whole=False, summary=summary)


def _row(writer: Writer, point: MarkPoint, label: str, earned: dict[Name, int], level: Level) -> tuple[Cell, ...]:
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
        guidance = _guidance(writer, point, earned)
    else:
        working, guidance = (mean_line(writer),), [_mean_guidance(writer)]
    if last:
        guidance += _final_guidance(writer, level)
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


def _guidance(writer: Writer, point: MarkPoint, earned: dict[Name, int]) -> list[Line]:
    lines: list[Line] = []
    for step in point.steps:
        if step.relation is not None and step.earns:
            line = _kind_line(writer, step, step.relation)
            if line:
                lines.append(line)
    rests = sorted(
        {
            earned[name]
            for step in point.steps
            if step.relation
            for name in step.relation.names
            if earned.get(name, point.number) < point.number
        }
    )
    if rests:
        lines.append(writer.words.line("guide ecf", points=_points_told([mark_name(writer, one) for one in rests])))
    return lines


def _points_told(names: list[str]) -> str:
    """Mark points in a sentence: "point 2", "points 2 and 4"."""
    *most, last = names
    return f"points {', '.join(most)} and {last}" if most else f"point {last}"


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


def _final_guidance(writer: Writer, level: Level) -> list[Line]:
    worked = writer.question.worked
    low, high = worked.accepted.low, worked.accepted.high
    exact = writer.numbers.exact_text()
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
    lines.append((Text(f"Exact: {exact.number_text}."),))
    if asked.simple:
        lines.append(writer.words.line("guide ratio order", **writer.names.ratio_of(asked)))
        if simplest_ratio(worked.exact).denominator != 1:
            one = format(worked.answer.number.normalize(), "f")
            lines.append(writer.words.line("guide ratio to one", one=one))
    if not asked.settled:
        lines.append(writer.words.line("guide figures", figures=str(writer.question.draw.ask.figures)))
    parts = named_parts(calculation_parts(writer, level))
    marks = str(worked.marks)
    key = f"guide full{' parts' if parts else ''}{_FULL.get(worked.marks, '')}"
    lines.append(writer.words.line(key, marks=marks, parts=parts))
    return lines
