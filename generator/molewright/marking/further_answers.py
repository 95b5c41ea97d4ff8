"""An answer to a further part comes in, a number, a name, an equation or words; verdict, marks, what is pending, a note go out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from molewright.answer.equations import judge_equation
from molewright.answer.judge import ON_TOP, Verdict, judge_further
from molewright.answer.own_halves import judge_combined
from molewright.answer.printed import Further, PrintedEquation, PrintedQuestion
from molewright.answer.written import Reading, Unread, Written
from molewright.chem.reaction import Reaction
from molewright.marking.named_answers import judge_name
from molewright.marking.returned_rows import Row
from molewright.marking.typed_answers import Asked, read_answer
from molewright.marking.typed_equations import read_equation

HALVES = 2
Halves: TypeAlias = tuple[Reaction | Unread | None, ...]
"""The two half-equations that a pupil wrote, as they were read; empty where none are asked for."""
OWN_HALVES = "by the pupil's own half-equations"
NOT_READ = "a half-equation before it was not read, and it may follow from that"


@dataclass(frozen=True, slots=True)
class FurtherJudged:
    """What an answer to a further part earns: marks, and those on top of them that only the teacher can give."""

    verdict: Verdict
    marks: int
    pending: int
    note: str = ""


def judge_further_answer(
    question: PrintedQuestion, row: Row, part: Further, own: Reading, halves: Halves = ()
) -> FurtherJudged:
    """An answer to a further part; `own` is the pupil's own final answer, which a name is judged by too.

    `halves` are the pupil's own half-equations, where the part asks for what they make together.
    """
    if part.equation is not None:
        return _equation(row, part, part.equation, halves)
    if part.candidates:
        number = own.number if isinstance(own, Written) else None
        verdict, marks, note = judge_name(row.answer, part.candidates, question.accepted.exact, number)
        note = "; ".join(filter(None, (note, ON_TOP if part.words and verdict != "no answer" else "")))
    else:
        verdict, marks, note = judge_further(part, read_answer(row.answer, Asked(part.unit, part.type)))
    return FurtherJudged(verdict, marks, _with_teacher(part, verdict), note)


def halves_before(question: PrintedQuestion, part: Further, rows: Mapping[str, Row]) -> Halves:
    """The two half-equations that a pupil wrote for the parts before one that puts them together; none before any other part."""
    at = question.further.index(part)
    asked = [(one, one.equation) for one in question.further[max(0, at - HALVES) : at] if one.equation is not None]
    if part.equation is None or part.equation.asked.demand != "full" or len(asked) < HALVES:
        return ()
    if any(equation.asked.demand != "half" for _, equation in asked):
        return ()
    return tuple(equation_of(rows[one.part], equation) if one.part in rows else None for one, equation in asked)


def equation_of(row: Row, equation: PrintedEquation) -> Reaction | Unread | None:
    """The equation, the ratio, or the numbers for blanks that a row holds."""
    return read_equation(" ; ".join((*row.gaps, row.answer)) if row.gaps else row.answer, equation.asked)


def _equation(row: Row, part: Further, equation: PrintedEquation, halves: Halves) -> FurtherJudged:
    read = equation_of(row, equation)
    if read is None:
        return FurtherJudged("no answer", 0, 0)
    if isinstance(read, Unread):
        return FurtherJudged("not read", 0, part.in_all, read.why)
    judged = judge_equation(equation.asked, read)
    if judged.right:
        return FurtherJudged("right", judged.marks, 0)
    if any(isinstance(half, Unread) for half in halves):
        return FurtherJudged("wrong", judged.marks, part.in_all - judged.marks, f"{judged.told}; {NOT_READ}")
    one, other = halves if len(halves) == HALVES else (None, None)
    own = (
        judge_combined(equation.asked, read, (one, other))
        if isinstance(one, Reaction) and isinstance(other, Reaction)
        else None
    )
    if own is None or own.marks <= judged.marks:
        return FurtherJudged("wrong", judged.marks, 0, judged.told)
    if own.right:
        return FurtherJudged("carried forward", own.marks, 0, OWN_HALVES)
    return FurtherJudged("wrong", own.marks, 0, f"{own.told}; {OWN_HALVES}")


def _with_teacher(part: Further, verdict: Verdict) -> int:
    """The marks of a further part that are pending: all if it was not read; else those for words, and of a wrong number all but one."""
    if verdict == "no answer":
        return 0
    working = part.marks - 1 if verdict == "wrong" and part.accepted is not None else 0
    return part.in_all if verdict == "not read" else part.teachers + working
