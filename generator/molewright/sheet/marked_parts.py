"""A question comes in; what a marker needs of each part goes out: its value, what is accepted, marks, the likeliest wrong answers.

The marking sheet and the sheet of answers are both made from these, so that no two sheets tell a part differently.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from molewright.answer.printed import Step
from molewright.answer.spans import Span, right_by_itself, right_spans
from molewright.answer.written import LEAST_FIGURES
from molewright.bank.definitions import Slip
from molewright.chem.quantity import TIMES, Quantity, half_up, to_figures
from molewright.chem.units import NO_BREAK
from molewright.derivation.worked import MarkPoint, WorkedStep, shown_value
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of
from molewright.experiment.relations.variables import BareRelation
from molewright.further_parts.pieces import FurtherPart
from molewright.nodes.inline import Line, Text
from molewright.sheet.further_parts import answers_apart, before, ends_of, further_answers
from molewright.sheet.parts import Level, calculation_parts, labels, labels_after, named_parts
from molewright.sheet.worked_steps import answer_line
from molewright.sheet.writer import Writer
from molewright.sheet.wrong_table import kept, named_causes, wrong_number
from molewright.slips.mistaken_route import Applied
from molewright.slips.written_down import how_often, would_be_written
from molewright.slips.wrong_answers import APART, WrongAnswer, distance

_BETWEEN = f"{NO_BREAK}{TIMES}{NO_BREAK}10"

Place = tuple[int, int]
"""Where a part stands among those of its question, the same at every level: before the calculation, at a mark point of it, after."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelyWrong:
    """A wrong answer without its unit, the marks it keeps ("3", of so many), and the mistake that most probably led to it."""

    number: str
    kept: str
    of: int
    key: str
    why: str
    parts: str = ""  # those that the marks are of, where it is not the part alone: "(a) to (c)"
    reading: bool = False  # made in the mean of the titres, which has a part of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPart:
    """One part of a question as it is marked. `accepted` has no unit: it is that of the value; () where the words decide.

    `wrong` are all that somebody would write, the likeliest first; a sheet prints some of them. `answers` are those of the value
    one by one, as far as they are several.
    """

    place: Place
    label: str  # "(b)", "" for a question of one part
    value: Line
    accepted: Line
    marks: int
    wrong: tuple[LikelyWrong, ...] = ()
    answers: tuple[Line, ...] = ()


def marked_parts(writer: Writer, level: Level) -> list[MarkedPart]:
    """Every part that earns marks, in the order of the page; none of a question whose whole solution is printed."""
    if writer.question.shown is not None:
        return []
    further = _further(writer, level)
    first = before(writer)
    return [*further[:first], *_of_the_calculation(writer, level), *further[first:]]


# ------------------------------------------------------------------ the calculation


def _of_the_calculation(writer: Writer, level: Level) -> list[MarkedPart]:
    question = writer.question
    if not question.points:
        return []
    named = labels(writer, level)
    groups: dict[str, list[MarkPoint]] = {}
    for point in question.points:
        groups.setdefault(named[point.number], []).append(point)
    last = question.points[-1]
    on_the_way = any(points[-1].steps for points in list(groups.values())[:-1])
    right = _right(writer) if on_the_way else {}
    found = []
    for label, points in groups.items():
        point = points[-1]
        wrong: tuple[LikelyWrong, ...]
        if point is last:
            value, accepted = answer_line(writer), _final_accepted(writer)
            wrong = _final_wrong(writer, level, apart=any(not one[-1].steps for one in groups.values()))
        elif point.steps:
            step = point.steps[-1]
            value = (writer.numbers.amount(step.shown, bold=True),)
            accepted = _step_accepted(right[step.variable.name], step)
            wrong = _step_wrong(writer, points, step.shown)
        else:
            mean = question.draw.given[question.draw.variant.procedure.titrations[-1].titre]
            value, accepted = (writer.numbers.amount(mean, bold=True),), _mean_accepted(mean)
            wrong = _step_wrong(writer, points, mean)
        found.append(
            MarkedPart(
                place=(1, point.number), label=label, value=value, accepted=accepted, marks=len(points), wrong=wrong
            )
        )
    return found


def _right(writer: Writer) -> dict[Name, Span]:
    """For every step what marking takes for right whatever stands before it."""
    question = writer.question
    steps = (*(step for point in question.done for step in point.steps), *question.worked.steps)
    texts = texts_of([*question.given, *(step.variable.name for step in steps)])
    read = {
        texts[part.reads]: Span(*(Quantity(end, part.unit).in_base for end in part.accepted))
        for part in question.further_parts
        if part.reads is not None and part.accepted is not None
    }
    chain = tuple(_bare(step, texts) for step in question.worked.steps)
    spans = right_spans(chain, {texts[name]: exact for name, exact in question.given.items()}, read)
    bare = {step.finds: right_by_itself(step, spans[step.finds]) for step in chain}
    return {step.variable.name: bare[texts[step.variable.name]] for step in question.worked.steps}


def _bare(step: WorkedStep, texts: dict[Name, str]) -> Step:
    """A step as marking works it again: with the texts of its quantities, which stand in the record."""
    relation = step.relation
    bare = None
    if relation is not None:
        quantities = tuple((texts[name], power) for name, power in relation.quantities)
        bare = BareRelation(form=relation.form, quantities=quantities, factor=relation.factor)
    return Step(
        finds=texts[step.variable.name], unit=step.variable.unit, exact=step.exact, relation=bare, also=step.also
    )


def _step_accepted(span: Span, step: WorkedStep) -> Line:
    """The least and the largest number of three figures that marking takes for right on the way."""
    low, high = (
        Quantity(to_figures(end, LEAST_FIGURES), step.shown.unit, step.shown.scientific)
        for end in (span.low / step.shown.unit.factor, span.high / step.shown.unit.factor)
    )
    return between(low, high)


def _mean_accepted(mean: Quantity) -> Line:
    """A mean is right as it is, with or without the nought at its end."""
    text = mean.number_text
    return (Text(f"{text} or {text[:-1]}" if text.endswith("0") else text),)


def _final_accepted(writer: Writer) -> Line:
    accepted = writer.question.worked.accepted
    if accepted.type == "ratio":
        return (Text(accepted.told),)
    line = between(accepted.low, accepted.high)
    if accepted.before:
        told = writer.words.line(
            "mark before rounding", low=accepted.before[0].number_text, high=accepted.before[1].number_text
        )
        return (*line, Text(" "), *told)
    return line


def between(low: Quantity, high: Quantity) -> Line:
    """A range without its unit; a power of ten that both ends share stands once."""
    if low.number == high.number:
        return (Text(low.number_text),)
    least, cut, power = low.number_text.partition(_BETWEEN)
    most, _, other = high.number_text.partition(_BETWEEN)
    if cut and power == other:
        return (Text(f"({least}{NO_BREAK}to{NO_BREAK}{most}){_BETWEEN}{power}"),)
    return (Text(f"{low.number_text} to {high.number_text}"),)


# ------------------------------------------------------------------ wrong answers


def _final_wrong(writer: Writer, level: Level, apart: bool) -> tuple[LikelyWrong, ...]:
    """The likely wrong answers to the last part. With `apart` the mean has a part of its own, where its mistakes are told."""
    marks = writer.question.worked.marks
    parts = calculation_parts(writer, level)
    return tuple(
        LikelyWrong(
            number=wrong_number(writer, wrong),
            kept=kept(wrong),
            of=marks,
            key=wrong.slips[0].key,
            why=_causes(writer, wrong),
            parts=named_parts(parts) if len(parts) > 1 else "",
        )
        for wrong in writer.likely_wrong
        if not (apart and wrong.slips[0].kind == "mean")
    )


def _causes(writer: Writer, wrong: WrongAnswer) -> str:
    """The likeliest mistake; all of them where they do not keep the same marks."""
    names = named_causes(writer, wrong)
    return names[0] if wrong.marks == wrong.most else " or ".join(names)


def _step_wrong(writer: Writer, points: list[MarkPoint], right: Quantity) -> tuple[LikelyWrong, ...]:
    """The likely wrong answers to a part on the way: what the mistakes made in it give there. Its mark is lost."""
    last = points[-1].steps[-1] if points[-1].steps else None
    found: dict[str, list[Slip]] = {}
    for applied in writer.question.prepared.slips.applied:
        wrong = _given_by(writer, applied, right, last) if _made_in(applied, points, writer) else None
        if wrong is not None and wrong.number != right.number:
            found.setdefault(wrong.number_text, []).append(applied.slip)
    answers = Counter(slip.key for slips in found.values() for slip in slips)
    ordered = sorted(found.items(), key=lambda pair: (-how_often(pair[1], answers), pair[1][0].key))
    return tuple(
        LikelyWrong(
            number=number,
            kept="0",
            of=len(points),
            key=slips[0].key,
            why=writer.numbers.in_units(slips[0].name),
            reading=last is None,
        )
        for number, slips in ordered
    )


def _made_in(applied: Applied, points: list[MarkPoint], writer: Writer) -> bool:
    """Whether a mistake is first made in the steps of these mark points, or in their mean."""
    if not applied.finds or applied.slip.kind == "answer" or applied.slip.often == "low":
        return False
    first = min(find.index for find in applied.finds)
    if first < 0:
        return not any(point.steps for point in points)
    target = writer.question.prepared.plan.steps[first].target
    return any(step.variable.name == target for point in points for step in point.steps)


def _given_by(writer: Writer, applied: Applied, right: Quantity, last: WorkedStep | None) -> Quantity | None:
    """What a mistake has a pupil write down for this part; None where it would not be written, or not be seen to be wrong."""
    question = writer.question
    table = question.prepared.slips
    titre = table.surroundings.titre
    name = last.variable.name if last is not None else titre
    try:
        course = table.course(applied, question.mistakes.right)
    except (ZeroDivisionError, OverflowError):
        return None
    if name is None or name not in course:
        return None
    if last is None:
        wrong = Quantity(half_up(course[name], right.places), right.unit)
    else:
        wrong = shown_value(last.variable, course[name], right.figures)
    if not would_be_written(wrong, right, question.system.variables[name]):
        return None
    if last is None:
        return wrong
    apart = distance(float(wrong.exact), float(right.exact), last.variable.logarithmic) >= APART
    return wrong if apart else None


# ------------------------------------------------------------------ further parts


def _further(writer: Writer, level: Level) -> list[MarkedPart]:
    """The parts that are not the calculation, each at its place before or after it."""
    found = []
    for at, (part, label) in enumerate(zip(writer.question.further_parts, labels_after(writer, level), strict=True)):
        found.append(
            MarkedPart(
                place=(0 if part.first else 2, at),
                label=label,
                value=further_answers(writer, part),
                answers=answers_apart(writer, part),
                accepted=_further_accepted(writer, part),
                marks=part.marks,
                wrong=tuple(_further_wrong(writer, part)),
            )
        )
    return found


def _further_accepted(writer: Writer, part: FurtherPart) -> Line:
    """What is accepted of a part: what a guidance says of it in short, and the range of its last number."""
    keys = dict.fromkeys(f"marking {said.key}" for point in part.points for said in point.guidance)
    told = [writer.words.line(key) for key in keys if writer.words.has(key)]
    if part.accepted is not None:
        told.append(between(*ends_of(part)))
    return tuple(piece for at, line in enumerate(told) for piece in ((Text("; "), *line) if at else line))


def _further_wrong(writer: Writer, part: FurtherPart) -> Iterable[LikelyWrong]:
    for asked, wrong_one in ((part.equation.asked, one) for one in part.equation.wrong) if part.equation else ():
        text = asked.written(wrong_one.reaction)
        yield LikelyWrong(number=text, kept=str(wrong_one.marks), of=part.marks, key=text, why=wrong_one.fault)
    for wrong in part.wrong:
        key, name = wrong.slips[0]
        yield LikelyWrong(
            number=wrong.answer.number_text,
            kept=str(wrong.marks),
            of=part.marks,
            key=key,
            why=writer.numbers.in_units(name),
        )
