"""The marked papers of one class come in; the table of marks goes out, pupil by pupil, in pieces of ten questions."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.marking.report_cells import NO_BREAK, and_pending, cell, mean, sign_of
from molewright.marking.table import pupils_of
from molewright.nodes.blocks import Cell, Table

QUESTIONS_A_TABLE = 10


def marks_tables(classes: Sequence[MarkedClass]) -> list[Table]:
    """The marks of a class; pupils of several levels stand in one table, each with the sign of the level."""
    numbers = sorted({number for marked in classes for number in marked.out_of})
    *full, last = [numbers[at : at + QUESTIONS_A_TABLE] for at in range(0, len(numbers), QUESTIONS_A_TABLE)]
    return [*(_table(classes, piece, total=False) for piece in full), _table(classes, last, total=True)]


def _table(classes: Sequence[MarkedClass], numbers: Sequence[int], total: bool) -> Table:
    several = len(classes) > 1
    rows = [
        (cell(str(place if several else pupil.number), "right"), *_row(marked, pupil, numbers, total, several))
        for place, (marked, pupil) in enumerate(pupils_of(classes), 1)
    ]
    rows += [_means(marked, numbers, total, several) for marked in classes]
    heading = [cell("No."), cell("Pupil"), *([cell("Sheet")] if several else [])]
    heading += [cell(f"Q{number}{NO_BREAK}/{_most(classes, number)}", "centre") for number in numbers]
    if total:
        wholes = [sum(marked.out_of.values()) for marked in classes]
        heading.append(cell(f"Total{NO_BREAK}/{_span(wholes)}", "centre"))
    widths = (0.05, 0.26, *((0.09,) if several else ()), *(0.09 for _ in numbers), *((0.14,) if total else ()))
    return Table(
        widths=widths,
        heading=tuple(heading),
        rows=tuple(rows),
        summary="Marks of each pupil in each question",
    )


def _most(classes: Sequence[MarkedClass], number: int) -> str:
    return _span([marked.out_of[number] for marked in classes if number in marked.out_of])


def _span(marks: Sequence[int]) -> str:
    low, high = min(marks), max(marks)
    return str(low) if low == high else f"{low}–{high}"


def _row(
    marked: MarkedClass, pupil: MarkedPupil, numbers: Sequence[int], total: bool, several: bool
) -> tuple[Cell, ...]:
    row = [cell(pupil.name)]
    if several:
        row.append(cell(sign_of(marked.record.level)))
    row += [cell(_mark(pupil, number), "centre") for number in numbers]
    if total:
        row.append(cell(and_pending(str(pupil.total), pupil.waiting), "centre", True))
    return tuple(row)


def _mark(pupil: MarkedPupil, number: int) -> str:
    return and_pending(str(pupil.marks[number]), pupil.pending[number]) if number in pupil.marks else "–"


def _means(marked: MarkedClass, numbers: Sequence[int], total: bool, several: bool) -> tuple[Cell, ...]:
    row = [cell(""), cell("mean", bold=True), *([cell(sign_of(marked.record.level))] if several else [])]
    row += [cell(_mean_mark(marked, number) if number in marked.out_of else "–", "centre") for number in numbers]
    if total:
        waiting = [pupil.waiting for pupil in marked.pupils]
        told = and_pending(mean([pupil.total for pupil in marked.pupils]), _mean_pending(waiting))
        row.append(cell(told, "centre", True))
    return tuple(row)


def _mean_mark(marked: MarkedClass, number: int) -> str:
    """The mean of a question, with the mean of what is pending in it."""
    waiting = [pupil.pending.get(number, 0) for pupil in marked.pupils]
    return and_pending(mean([pupil.marks.get(number, 0) for pupil in marked.pupils]), _mean_pending(waiting))


def _mean_pending(waiting: list[int]) -> str:
    """The mean of what is pending, "" where it is next to nothing."""
    return "" if 2 * 10 * sum(waiting) < len(waiting) else mean(waiting)
