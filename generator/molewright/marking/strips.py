"""The marked papers of one class come in; the sheet of feedback strips goes out: one a pupil, to cut along the rules and hand back.

A strip tells its own pupil's marks, one thing done well and one to look at again, and nothing of anybody else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from molewright.answer.printed import Point, PrintedQuestion
from molewright.chem.formula_scripts import with_scripts
from molewright.marking.facility import facility
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil
from molewright.marking.next_aim import focus, next_step
from molewright.marking.report_cells import NO_BREAK, and_pending, as_written, counted, line, sign_of
from molewright.marking.report_equations import own_equations_told
from molewright.nodes.blocks import Cell, Heading, Paragraph, Sheet, Table
from molewright.nodes.inline import Line, Text
from molewright.order.pupils import key_of
from molewright.papers.answers import place_named

_Hardness = Mapping[tuple[int, int], int]
"""How many in a hundred of the class earned a mark point, by question and point: what few could do is worth telling."""


def feedback_strips(classes: Sequence[MarkedClass]) -> Sheet:
    """The strips of a class, sorted by name."""
    first = classes[0]
    strips = []
    for marked in classes:
        hardness = _hardness(marked)
        strips += [(pupil.name, _strip(marked, pupil, hardness, len(classes) > 1)) for pupil in marked.pupils]
    strips.sort(key=lambda pair: (key_of(pair[0]), pair[0]))
    table = Table(
        widths=(0.26, 0.74),
        heading=(),
        rows=tuple(strip for _, strip in strips),
        whole=False,
        summary="One row a pupil: marks, what was done well, what to look at again",
    )
    title = f"{first.title}: feedback"
    return Sheet(
        title=title,
        subject="Titration calculations",
        kind="report",
        code=first.code,
        blocks=(Heading(1, line(title)), Paragraph(line("Cut along the rules between the names."), "note"), table),
        header=title,
    )


def _hardness(marked: MarkedClass) -> _Hardness:
    return {
        (one.number, point.number): point.share.percent or 0
        for one in facility([marked])
        for level in one.levels
        for part in level.parts
        for point in part.points
    }


def _strip(marked: MarkedClass, pupil: MarkedPupil, hardness: _Hardness, several: bool) -> tuple[Cell, Cell]:
    sign = sign_of(marked.record.level) if several else ""
    whole = sum(marked.out_of.values())
    total = f"{and_pending(str(pupil.total), pupil.waiting)} of {whole}"
    each = " · ".join(
        f"Q{number}{NO_BREAK}{and_pending(str(pupil.marks.get(number, 0)), pupil.pending.get(number, 0))}/{most}"
        for number, most in marked.out_of.items()
    )
    left = (
        line(pupil.name, bold=True),
        line(marked.title),
        (*line(f"{sign} · " if sign else ""), Text(total, bold=True)),
    )
    later = "; (+) is with your teacher" if pupil.waiting else ""
    label, said = look_again(marked, pupil)
    equations = own_equations_told(pupil)
    right: tuple[Line, ...] = (
        (Text("Marks: ", True), Text(f"{each}{later}.")),
        (Text("Done well: ", True), Text(done_well(marked, pupil, hardness))),
        (Text(f"{label}: ", True), Text(said)),
        *(((Text("Your equation: ", True), Text(equations)),) if equations else ()),
    )
    return Cell(left), Cell(right)


# ------------------------------------------------------------------ what was done well


def done_well(marked: MarkedClass, pupil: MarkedPupil, hardness: _Hardness) -> str:
    """One true thing: a whole question, the mark point that fewest others earned, a value carried on, or that it was begun."""
    questions = {one.number: one for one in marked.record.paper(pupil.version).questions}
    full = [number for number, marks in pupil.marks.items() if marks == questions[number].marks]
    if full:
        best = min(full, key=lambda number: (_of_question(questions[number], hardness), -number))
        whole = questions[best].marks
        return f"all of question {best}, {_sought(questions[best])}: {whole}{NO_BREAK}of{NO_BREAK}{whole}."
    earned = list(_earned(pupil, questions))
    if earned:
        number, point, one = min(earned, key=lambda each: (hardness.get((each[0], each[1].number), 0), -each[0]))
        carried = " You went on rightly from your own value." if one.verdict == "carried forward" else ""
        return f"in question {place_named(number, point.part)} you found the {_found(point)}.{carried}"
    words = next((one for one in pupil.answers if one.marks), None)
    if words is not None:
        return f"{counted(words.marks, 'mark')} in question {place_named(words.row.question, words.part)}."
    begun = sorted({one.row.question for one in pupil.answers if one.verdict != "no answer"})
    return (
        f"you wrote an answer to question {begun[0]}: that is where to begin."
        if begun
        else "your paper is in: begin with question 1."
    )


def _of_question(question: PrintedQuestion, hardness: _Hardness) -> int:
    """The share of the class in the hardest point of a question."""
    return min((hardness.get((question.number, point.number), 0) for point in question.points), default=0)


def _earned(pupil: MarkedPupil, questions: Mapping[int, PrintedQuestion]) -> Iterator[tuple[int, Point, MarkedAnswer]]:
    """Every mark point that a pupil has, with the answer that earned it."""
    for one in pupil.answers:
        for point in questions[one.row.question].points:
            if point.number in one.earned:
                yield one.row.question, point, one


def _found(point: Point) -> str:
    return with_scripts(f"mean {point.finds}" if point.mean else point.finds)


def _sought(question: PrintedQuestion) -> str:
    return f"the {with_scripts(question.asked)}" if question.asked else question.topic


# ------------------------------------------------------------------ what to look at again


def look_again(marked: MarkedClass, pupil: MarkedPupil) -> tuple[str, str]:
    """One mistake in plain words, with the line of the working where it was made; without a known one, what comes next."""
    chosen = focus(pupil, marked)
    if not chosen.slip or chosen.shown is None:
        return "Next", next_step(pupil, marked) or "nothing until your teacher has marked the rest."
    shown = chosen.shown
    question = next(one for one in marked.record.paper(pupil.version).questions if one.number == shown.row.question)
    lost = sorted(shown.stands_for - shown.earned - shown.waiting) or sorted(shown.explained.loses)
    point = next((one for one in question.points if lost and one.number == lost[0]), None)
    at = f"question {place_named(question.number, point.part if point else shown.part)}"
    if point:
        at += f", the line for the {_found(point)}"
    if shown.row.answer:
        at += f" (your answer: {as_written(shown.row.answer)})"
    name = marked.slip_name(chosen.slip)
    facts = marked.slips.get(chosen.slip)
    again = f" {facts.feedback}" if facts and facts.feedback else ""
    if shown.explained.found != "unique":
        return "Look again", f"{at}. It may be: {name}.{again}"
    times = f" (seen {chosen.times} times)" if chosen.times > 1 else ""
    return "Look again", f"{at}. The mistake: {name}{times}.{again}"
