"""The mark scheme of a question: one row a mark point, what to allow beside it, the exact answer and the accepted range."""

from __future__ import annotations

from generator.chem.masses import mass_sum
from generator.chem.quantity import Quantity, half_up
from generator.question.procedure import titre
from generator.question.relations import Relation
from generator.question.titres import chosen
from generator.question.worked import MarkPoint, WorkedStep
from generator.sheet.nodes import Cell, Chem, Inline, Line, Maths, MathsItem, Over, Sign, Symbol, Table, Text
from generator.sheet.parts import Level, labels
from generator.sheet.voice import Voice

WIDTHS = (0.11, 0.48, 0.08, 0.33)
HEADING = ("Question", "Answer and working", "Mark", "Guidance")


def scheme_rows(voice: Voice, number: int, level: Level) -> list[tuple[Cell, ...]]:
    """The rows of one question's mark points, in order."""
    named = labels(voice, level)
    earned = {step.variable.name: point.number for point in voice.question.worked.points for step in point.steps}
    shown = ""
    rows: list[tuple[Cell, ...]] = []
    for point in voice.question.worked.points:
        label = f"{number}{named[point.number]}"
        rows.append(_row(voice, point, label if label != shown else "", earned))
        shown = label
    return rows


def scheme_table(rows: list[tuple[Cell, ...]], summary: str) -> Table:
    """The rows as a table with the scheme's heading."""
    heading = tuple(Cell(((Text(text),),), head=True, align="centre" if text == "Mark" else "left") for text in HEADING)
    return Table(WIDTHS, heading, tuple(rows), whole=False, summary=summary)


def _row(voice: Voice, point: MarkPoint, label: str, earned: dict[str, int]) -> tuple[Cell, ...]:
    last = point is voice.question.worked.points[-1]
    if point.steps:
        working: tuple[Line, ...] = tuple(
            (voice.working(step, final=last and step is point.steps[-1]),) for step in point.steps
        )
        guidance = _guidance(voice, point, earned)
    else:
        working, guidance = (_mean(voice),), [_mean_guidance(voice)]
    if last:
        guidance += _final_guidance(voice)
    return (
        Cell(((Text(label, bold=True),),)),
        Cell(working),
        Cell(((Text(f"M{point.number}", bold=True),),), align="centre"),
        Cell(tuple(guidance) or ((Text(""),),)),
    )


def _mean(voice: Voice) -> Line:
    runs = voice.question.draw.runs
    used = chosen(runs)
    titration = voice.question.draw.variant.procedure.titrations[-1]
    mean = voice.question.draw.given[titre(titration)]
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
                voice.amount(mean, bold=True),
            )
        ),
    )


def _mean_guidance(voice: Voice) -> Line:
    runs = voice.question.draw.runs
    used = chosen(runs)
    names = (
        " and ".join(str(index) for index in used)
        if len(used) < 3
        else ", ".join(str(i) for i in used[:-1]) + f" and {used[-1]}"
    )
    outside = [index for index, run in enumerate(runs) if not run.rough and index not in used]
    others = f"; run {outside[0]} is not concordant" if outside else ""
    mean = voice.question.draw.given[titre(voice.question.draw.variant.procedure.titrations[-1])]
    return voice.words.line("guide mean", used=names, others=others, mean=mean.number_text)


def _guidance(voice: Voice, point: MarkPoint, earned: dict[str, int]) -> list[Line]:
    lines: list[Line] = []
    for step in point.steps:
        if step.relation is not None and step.earns:
            line = _kind_line(voice, step, step.relation)
            if line:
                lines.append(line)
    rests = sorted({
        earned[name] for step in point.steps if step.relation for name in step.relation.names
        if earned.get(name, point.number) < point.number
    })  # fmt: skip
    if rests:
        lines.append(voice.words.line("guide ecf", points=", ".join(f"M{one}" for one in rests)))
    return lines


def _kind_line(voice: Voice, step: WorkedStep, relation: Relation) -> Line:
    key = f"guide {relation.kind}"
    if not voice.words.has(key):
        return ()
    slots: dict[str, str | Inline | Line] = {}
    if relation.kind in ("ratio", "contains"):
        slots["left"] = voice.ratio_line(relation)
    elif relation.kind == "scale":
        whole, part = (voice.question.draw.given.get(name) for name in relation.names[2:4])
        if whole is None or part is None:
            return ()
        slots = {"whole": voice.amount(whole), "part": voice.amount(part), "times": _times(whole, part)}
    elif relation.kind == "molar mass":
        slots["molar"] = molar_line(voice, relation)
        if not slots["molar"]:
            return ()
    elif relation.kind == "each":
        number = voice.question.draw.given.get(relation.names[2])
        slots["number"] = number.number_text if number else "the number"
    elif relation.kind == "concentration" and step.variable.kind != "amount":
        return ()
    return voice.words.line(key, 0, **slots)


def _times(whole: Quantity, part: Quantity) -> str:
    return format((whole.number / part.number).normalize(), "f")


def molar_line(voice: Voice, relation: Relation) -> Line:
    """The molar mass with its sum: M(CaCO₃) = 40.1 + 12.0 + (3 × 16.0) = 100.1."""
    for name in relation.names:
        variable = voice.question.system.variables[name]
        if variable.kind == "molar mass" and name in voice.question.system.fixed:
            sum_text = mass_sum(variable.subject, voice.question.masses)
            return (Symbol("M", variable.subject), Text(f" = {sum_text}"))
    return ()


def _final_guidance(voice: Voice) -> list[Line]:
    worked = voice.question.worked
    low, high = worked.accepted.low, worked.accepted.high
    exact = voice.exact_text()
    lines: list[Line] = []
    if worked.steps[-1].variable.kind == "water" or low.number == high.number:
        lines.append(voice.words.line("guide one", low=voice.amount(low, bold=True)))
    else:
        number = Text(low.number_text, bold=True)
        lines.append(voice.words.line("guide range", low=number, high=voice.amount(high, bold=True)))
    lines.append((Text(f"Exact: {exact.number_text}."),))
    if worked.steps[-1].variable.kind != "water":
        lines.append(voice.words.line("guide figures", figures=str(voice.question.draw.ask.figures)))
    lines.append(voice.words.line("guide full", marks=str(worked.marks)))
    return lines


def answer_line(voice: Voice) -> Line:
    """The answer as it stands in the key: "94.9 % CaCO₃"."""
    asked = voice.question.worked.steps[-1].variable
    line: Line = (voice.amount(voice.question.worked.answer, bold=True),)
    return (*line, Text(" "), Chem(asked.subject)) if asked.kind == "percentage" else line
