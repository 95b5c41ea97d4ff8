"""A question and a level come in; its parts go out: one for all (exam), one a step (structured), with blanks (scaffolded)."""

from __future__ import annotations

import re
from typing import Literal

from molewright.chem.units import Unit
from molewright.derivation.worked import MarkPoint, WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.nodes.blocks import Block, Paragraph, Part, QuestionBlock, Working
from molewright.nodes.inline import Inline, Line, Maths, Sign, Text
from molewright.question.check import Question
from molewright.sheet.answer_space import height_mm, lines_to_write
from molewright.sheet.equations import first_reactions, reactions
from molewright.sheet.further_parts import before, further_labels, further_parts
from molewright.sheet.own_words import own_line
from molewright.sheet.picture import Picture
from molewright.sheet.reasons import shared_ratios
from molewright.sheet.reminder import reminder
from molewright.sheet.stem import stem
from molewright.sheet.worked_steps import given_steps
from molewright.sheet.writer import Writer

Level = Literal["scaffolded", "structured", "exam"]
LEVELS: tuple[Level, ...] = ("scaffolded", "structured", "exam")

_PRECISION = re.compile(
    "significant figure|decimal place|whole number|s\\.f\\.|d\\.p\\."
)  # a demand that says how exactly
_LABELLED = ("atomic mass", "pH", "pKa")
"""What stands by its symbol before the rule of an answer, for it has no unit that would tell it."""
_OPEN_STEPS = 2  # of a scaffolded chain, left without a frame: support fades from the end


def question_block(writer: Writer, number: int, level: Level, hints: bool = False) -> QuestionBlock:
    """The printed question; what is worked out for the pupil opens its calculation. `hints` stand below that level too."""
    question = writer.question
    told = (
        first_reactions(writer) if level == "exam" else reactions(writer)
    )  # exam style leaves the simple ones to the pupil
    calculation = [*given_steps(writer), *_parts(writer, level, hints)] if question.points else []
    further = further_parts(writer, labels_after(writer, level), level == "scaffolded")
    return QuestionBlock(
        number=number,
        stem=stem(
            writer,
            told,
            complete_table=bool(question.points) and _titres_open(question),
            easy=level == "scaffolded",
        ),
        parts=(*further[: before(writer)], *calculation, *further[before(writer) :]),
        marks=question.marks,
        reminder=reminder(writer),
        bookmark=f"Question {number}",  # its kind would name the method, which a later part may ask for
    )


def calculation_block(writer: Writer, number: int) -> QuestionBlock:
    """The question as it is printed in exam style without the parts after its calculation."""
    return QuestionBlock(
        number=number,
        stem=stem(writer, first_reactions(writer), complete_table=bool(writer.question.points)),
        parts=tuple(_parts(writer, "exam") if writer.question.points else ()),
        marks=len(writer.question.points),
    )


def labels(writer: Writer, level: Level) -> dict[int, str]:
    """For every mark point the label of the part it stands in: "(a)", or "" for a question of one part."""
    points = writer.question.points
    table = bool(writer.question.draw.runs)
    letters = [f"({chr(ord('a') + before(writer) + place)})" for place in range(max(2, len(points)))]
    single = letters[0] if writer.question.further_parts else ""
    if level == "exam":
        if not table:
            return {point.number: single for point in points}
        return {point.number: letters[1] if point.steps else letters[0] for point in points}
    if len(points) == 1:
        return {points[0].number: single}
    return {point.number: letters[index] for index, point in enumerate(points)}


def calculation_parts(writer: Writer, level: Level) -> tuple[str, ...]:
    """The labels of the parts over which the marks of the calculation are spread, the mean titre's among them."""
    return tuple(dict.fromkeys(labels(writer, level).values()))


def named_parts(parts: tuple[str, ...]) -> str:
    """Labels in a row as they are read: "", "(a)", "(a) and (b)" or "(a) to (d)"."""
    return (
        parts[0] if len(parts) == 1 else f"{parts[0]} {'and' if len(parts) == 2 else 'to'} {parts[-1]}" if parts else ""
    )


def labels_after(writer: Writer, level: Level) -> tuple[str, ...]:
    """The labels of the parts that come after the calculation."""
    return further_labels(writer, len(calculation_parts(writer, level)))


def _titres_open(question: Question) -> bool:
    """Whether the titres are for the pupil to find: not where their mean is worked out."""
    return all(point.steps for point in question.done)


def _parts(writer: Writer, level: Level, hints: bool = False) -> list[Part]:
    worked = writer.question.worked
    named = labels(writer, level)
    parts: list[Part] = []
    if level == "exam":
        if writer.question.draw.runs:
            parts.append(_mean_part(writer, named[worked.points[0].number]))
        label = named[worked.points[-1].number]
        points = worked.points[len(parts) :]
        height = height_mm(lines_to_write(writer, points))
        parts.append(Part(label, ask_line(writer), _answer(writer, height), len(points)))
        return parts
    where = {step.variable.name: named[point.number] for point in worked.points for step in point.steps}
    frame = level == "scaffolded"
    picture = picture_of(writer, blank=True)
    last = len(worked.points) - 1
    where_first = next((index for index, point in enumerate(worked.points) if point.steps), last)
    for index, point in enumerate(worked.points):
        label = named[point.number]
        if frame and point.steps:
            parts += picture.before_part({step.variable.name for step in point.steps}, first=where_first == index)
        if not point.steps:
            parts.append(_mean_part(writer, label))
        else:
            framed = frame and index <= last - _OPEN_STEPS
            parts.append(_step_part(writer, point, label, where, framed, frame or hints, index == last))
    return parts


def picture_of(writer: Writer, blank: bool) -> Picture:
    """The picture of a question at the scaffolded level, with blanks for the pupil or complete."""
    question = writer.question
    named = labels(writer, "scaffolded")
    where = {
        part.reads: label
        for part, label in zip(question.further_parts, labels_after(writer, "scaffolded"), strict=True)
        if part.reads is not None
    }
    for point in question.worked.points if question.points else ():
        if not point.steps:
            where[question.draw.variant.procedure.titrations[-1].titre] = named[point.number]
        where |= {step.variable.name: named[point.number] for step in point.steps}
    return Picture(writer=writer, parts=where, blank=blank)


def ask_line(writer: Writer) -> Line:
    """The demand of the whole question: what to calculate, and to how many figures."""
    worked = writer.question.worked
    asked = worked.steps[-1].variable
    task = writer.question.draw.context.task
    if task:
        own = own_line(writer, task)
        return own if _PRECISION.search(task) else (*own, Text(" "), *_precision(writer))
    line = writer.say("ask", the=writer.names.the(asked, asked=True))
    return (*line, Text(" "), *_precision(writer), *_unit_told(writer))


def _unit_told(writer: Writer) -> Line:
    """What the unit of the answer means, where that has to be said; after a space."""
    key = f"unit told {writer.question.worked.answer.unit.text}"
    return (Text(" "), *writer.words.line(key)) if writer.words.has(key) else ()


def _precision(writer: Writer) -> Line:
    asked = writer.question.worked.steps[-1].variable
    if asked.whole:
        return writer.words.line("whole number")
    if asked.simple:
        return writer.words.line("simplest ratio", **writer.names.ratio_of(asked))
    if asked.logarithmic:
        return writer.words.line("decimal places", places=str(writer.question.worked.answer.places))
    return writer.words.line("figures", figures=str(writer.question.draw.ask.figures))


def _mean_part(writer: Writer, label: str) -> Part:
    return Part(
        label,
        writer.say("mean", limit=writer.numbers.concordant()),
        (Working(height_mm=height_mm(1), rule_mm=45.0, unit=writer.numbers.unit(Unit.CM3)),),
        1,
    )


def _answer(writer: Writer, height: float) -> tuple[Working, ...]:
    """The space for the answer."""
    worked = writer.question.worked
    asked = worked.steps[-1].variable
    label: Line = (Text("x", italic=True), Text(" =")) if asked.kind in ("water", "subscript") else ()
    if asked.simple:
        label = writer.words.line("label ratio", **writer.names.ratio_of(asked))
    if asked.kind not in _LABELLED:
        return (Working(height_mm=height, rule_mm=65.0, unit=writer.numbers.unit(worked.answer.unit), label=label),)
    value: Line = (Maths((*writer.symbols.of(asked), Sign("="))),)
    return (Working(height_mm=height, rule_mm=65.0, label=value),)


def _step_part(
    writer: Writer, point: MarkPoint, label: str, where: dict[Name, str], framed: bool, scaffolded: bool, final: bool
) -> Part:
    step = point.steps[-1]
    demand = _demand(writer, point, step, label, where)
    if final:
        demand = (*demand, Text(" "), *_precision(writer), *_unit_told(writer))
    blocks: list[Block] = []
    hints = _hints(writer, point, final) if scaffolded else ()
    if hints:
        blocks.append(Paragraph(writer.words.line("hint", hint=hints)))
    if framed:
        blocks += [
            Paragraph((writer.lines.working(one, final=final and one is step, gaps=True),), indent_mm=6.0)
            for one in point.steps
        ]
    elif final:
        blocks += _answer(writer, height_mm(lines_to_write(writer, (point,))))
    else:
        height = height_mm(lines_to_write(writer, (point,)))
        blocks.append(Working(height_mm=height, rule_mm=65.0, unit=writer.numbers.unit(step.shown.unit)))
    return Part(label, demand, tuple(blocks), 1)


def _demand(writer: Writer, point: MarkPoint, step: WorkedStep, label: str, where: dict[Name, str]) -> Line:
    own = {one.variable.name for one in point.steps}
    inputs = [
        name for one in point.steps if one.relation for name in one.relation.names if name in where and name not in own
    ]
    earlier = list(dict.fromkeys(where[name] for name in inputs if where[name] != label))
    the = writer.names.the(step.variable, asked=step is writer.question.worked.steps[-1])
    if not earlier:
        return writer.say("calculate", the=the)
    *others, last = sorted(earlier)
    text = f"answers to parts {', '.join(others)} and {last}" if others else f"answer to part {last}"
    return writer.say("calculate using", answers=text, the=the)


def _hints(writer: Writer, point: MarkPoint, final: bool) -> Line:
    """A hint for every step of a mark point that needs thought: a 1:1 step at its end must not hide the scaling before it.

    The last step's answer may be wanted in a smaller unit than it comes out in, which is said as well.
    """
    thought = [step for step in point.steps if step.earns] or [point.steps[-1]]
    lines = list(dict.fromkeys(hint(writer, step) for step in thought if step.relation is not None))
    lines += [smaller_unit(writer)] if final and smaller_unit(writer) else []
    return tuple(piece for line in lines for piece in ((Text(" "), *line) if line is not lines[0] else line))


def hint(writer: Writer, step: WorkedStep) -> Line:
    """What kind of step this is, in words, for the scaffolded level."""
    relation = step.relation
    assert relation is not None
    kind = {"mass within": "mass", "molar mass": "molar", "left over": "left over"}.get(
        step.variable.kind, step.variable.kind
    )
    if relation.kind == "balance" and writer.names.in_a_portion(step.variable):
        return writer.words.line("hint balance portion")
    if relation.kind == "total" and relation.reaction is not None:
        key = "hint total shared" if step.variable.name == relation.names[0] else "hint total rest shared"
        return writer.words.line(key, 0, ratios=shared_ratios(writer, relation))
    if relation.kind in ("total", "volumes") and step.variable.name != relation.names[0]:
        return writer.words.line("hint total rest")
    for key in (f"hint {relation.kind} {kind}", f"hint {relation.kind} {step.variable.stage}", f"hint {relation.kind}"):
        if writer.words.has(key):
            return writer.words.line(key, 0, **_hint_slots(writer, relation))
    if relation.kind == "balance":
        return writer.words.line("hint balance total")
    return writer.words.line("hint total")


def smaller_unit(writer: Writer) -> Line:
    """How the answer gets into the unit that it is asked in, where that is not the unit in which it comes out; else ()."""
    worked = writer.question.worked
    out, asked = worked.steps[-1].shown.unit, worked.answer.unit
    if out == asked:
        return ()
    times = out.factor / asked.factor
    return writer.words.line(
        "hint unit", first=writer.numbers.unit(out), second=writer.numbers.unit(asked), number=str(times)
    )


def _hint_slots(writer: Writer, relation: Relation) -> dict[str, str | Inline | Line]:
    slots: dict[str, str | Inline | Line] = {}
    if relation.kind in ("ratio", "contains"):
        slots["left"] = writer.lines.ratio(relation)
    if relation.kind == "each":
        slots["piece"] = writer.samples.piece()
    if relation.kind == "scale":
        slots["whole"] = writer.numbers.given(relation.names[2]) or Text("the flask")
        slots["part"] = writer.numbers.given(relation.names[3]) or Text("the portion")
    return slots
