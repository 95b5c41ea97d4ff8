"""An answer to a further part comes in, a number, a name, an equation or words; verdict, marks, what is pending, a note go out."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.answer.equations import judge_equation
from molewright.answer.judge import ON_TOP, Verdict, judge_further
from molewright.answer.printed import Further, PrintedEquation, PrintedQuestion
from molewright.answer.written import Reading, Unread, Written
from molewright.chem.reaction import Reaction
from molewright.marking.named_answers import judge_name
from molewright.marking.returned_rows import Row
from molewright.marking.typed_answers import Asked, read_answer
from molewright.marking.typed_equations import read_equation


@dataclass(frozen=True, slots=True)
class FurtherJudged:
    """What an answer to a further part earns: marks, and those on top of them that only the teacher can give."""

    verdict: Verdict
    marks: int
    pending: int
    note: str = ""


def judge_further_answer(question: PrintedQuestion, row: Row, part: Further, own: Reading) -> FurtherJudged:
    """An answer to a further part; `own` is the pupil's own final answer, which a name is judged by too."""
    if part.equation is not None:
        return _equation(row, part, part.equation)
    if part.candidates:
        number = own.number if isinstance(own, Written) else None
        verdict, marks, note = judge_name(row.answer, part.candidates, question.accepted.exact, number)
        note = "; ".join(filter(None, (note, ON_TOP if part.words and verdict != "no answer" else "")))
    else:
        verdict, marks, note = judge_further(part, read_answer(row.answer, Asked(part.unit, part.type)))
    return FurtherJudged(verdict, marks, _with_teacher(part, verdict), note)


def equation_of(row: Row, equation: PrintedEquation) -> Reaction | Unread | None:
    """The equation, the ratio, or the numbers for blanks that a row holds."""
    return read_equation(" ; ".join((*row.gaps, row.answer)) if row.gaps else row.answer, equation.asked)


def _equation(row: Row, part: Further, equation: PrintedEquation) -> FurtherJudged:
    read = equation_of(row, equation)
    if read is None:
        return FurtherJudged("no answer", 0, 0)
    if isinstance(read, Unread):
        return FurtherJudged("not read", 0, part.in_all, read.why)
    judged = judge_equation(equation.asked, read)
    return FurtherJudged("right" if judged.right else "wrong", judged.marks, 0, judged.told)


def _with_teacher(part: Further, verdict: Verdict) -> int:
    """The marks of a further part that are pending: all if it was not read; else those for words, and of a wrong number all but one."""
    if verdict == "no answer":
        return 0
    working = part.marks - 1 if verdict == "wrong" and part.accepted is not None else 0
    return part.in_all if verdict == "not read" else part.teachers + working
