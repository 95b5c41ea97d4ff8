"""A marked class comes in; the class report goes out as a sheet: marks, slips, what the teacher should look at, one line a pupil."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction

from molewright.chem.quantity import half_up
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil, named
from molewright.marking.next_aim import feedback
from molewright.marking.table import name_of, slip_words
from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Sheet, Table, Together
from molewright.nodes.figures import CountChart, CountRow
from molewright.nodes.inline import Line, Text

QUESTIONS_A_TABLE = 10
MOST_BARS = 14
MOST_LISTED = 200
_PRINTABLE = re.compile("[ -~¡-ſΑ-ω⁰¹²³⁴-⁹⁺⁻₀-₉−×·–—’]")
_NO_BREAK = "\u00a0"


def class_report(marked: MarkedClass) -> Sheet:
    """The report of a class on one paper."""
    blocks: list[Block] = [
        Heading(1, _line(f"{marked.title}: class report")),
        Paragraph(_line(_summary(marked)), "note"),
        *(Paragraph(_line(f"Please check: {note}."), "note") for note in marked.misfits),
        *_marks(marked),
        *_slips(marked),
        *_to_look_at(marked),
        *_feedback(marked),
    ]
    title = f"{marked.title}, class report"
    return Sheet(
        title=title,
        subject="Titration calculations",
        kind="report",
        code=marked.code,
        blocks=tuple(blocks),
        header=title,
    )


def _line(text: str, bold: bool = False) -> Line:
    return (Text(text, bold),) if text else ()


def _cell(text: str, align: str = "left", bold: bool = False) -> Cell:
    return Cell((_line(text, bold),), align=align)  # type: ignore[arg-type]


def _summary(marked: MarkedClass) -> str:
    whole = sum(marked.out_of.values())
    count = len(marked.pupils)
    mean = Fraction(sum(pupil.total for pupil in marked.pupils), count)
    told = (
        f"Paper {marked.code}. {count} {'pupil' if count == 1 else 'pupils'}, {whole} marks, mean {half_up(mean, 1)}."
    )
    waiting = [pupil.waiting for pupil in marked.pupils]
    if any(waiting):
        told += f" Pending, for the teacher to give: {sum(waiting)} marks, {_mean(waiting)} a pupil; shown as (+1) behind the marks."
    if marked.absent:
        told += f" No answers from {', '.join(marked.absent)}."
    return told


# ------------------------------------------------------------------ marks


def _marks(marked: MarkedClass) -> list[Block]:
    numbers = list(marked.out_of)
    *full, last = [numbers[at : at + QUESTIONS_A_TABLE] for at in range(0, len(numbers), QUESTIONS_A_TABLE)]
    return [
        Heading(2, _line("Marks")),
        *(_marks_table(marked, piece, total=False) for piece in full),
        _marks_table(marked, last, total=True),
    ]


def _marks_table(marked: MarkedClass, numbers: list[int], total: bool) -> Table:
    heading = [_cell("No."), _cell("Pupil")]
    heading += [_cell(f"Q{number}{_NO_BREAK}/{marked.out_of[number]}", "centre") for number in numbers]
    whole = sum(marked.out_of.values())
    rows = []
    for pupil in marked.pupils:
        row = [_cell(str(pupil.number), "right"), _cell(pupil.name)]
        row += [_cell(_mark(pupil, number), "centre") for number in numbers]
        rows.append((*row, *((_cell(_and_pending(str(pupil.total), pupil.waiting), "centre", True),) if total else ())))
    last = [_cell(""), _cell("mean", bold=True)]
    last += [_cell(_mean_mark(marked, number), "centre") for number in numbers]
    if total:
        heading.append(_cell(f"Total{_NO_BREAK}/{whole}", "centre"))
        waiting = [pupil.waiting for pupil in marked.pupils]
        told = _and_pending(_mean([pupil.total for pupil in marked.pupils]), sum(waiting) and _mean(waiting))
        last.append(_cell(told, "centre", True))
    widths = (0.06, 0.3, *(0.08 for _ in numbers), *((0.12,) if total else ()))
    return Table(
        widths=widths,
        heading=tuple(heading),
        rows=(*rows, tuple(last)),
        whole=False,
        summary="Marks of each pupil in each question",
    )


def _mark(pupil: MarkedPupil, number: int) -> str:
    return _and_pending(str(pupil.marks[number]), pupil.pending[number]) if number in pupil.marks else "–"


def _and_pending(marks: str, pending: int | str) -> str:
    """Marks with those that are pending behind them: "2 (+1)"."""
    return f"{marks}{_NO_BREAK}(+{pending})" if pending else marks


def _mean_mark(marked: MarkedClass, number: int) -> str:
    """The mean of a question, with the mean of what is pending in it."""
    waiting = [pupil.pending.get(number, 0) for pupil in marked.pupils]
    mean = _mean([pupil.marks.get(number, 0) for pupil in marked.pupils])
    return _and_pending(mean, sum(waiting) and _mean(waiting))


def _mean(marks: list[int]) -> str:
    return str(half_up(Fraction(sum(marks), len(marks)), 1))


# ------------------------------------------------------------------ slips


def slip_counts(marked: MarkedClass) -> list[tuple[str, int]]:
    """How many pupils made each slip, as far as an answer tells: of several possible ones the commonest is counted."""
    counts: Counter[str] = Counter()
    for pupil in marked.pupils:
        counts.update({key for one in pupil.answers for keys in one.explained.keys[:1] for key in keys})
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))


def _slips(marked: MarkedClass) -> list[Block]:
    counts = slip_counts(marked)
    if not counts:
        return []
    shown, rest = counts[:MOST_BARS], counts[MOST_BARS:]
    rows = [CountRow(_line(name_of(marked, key)), count) for key, count in shown]
    alt = "Pupils by slip. " + "; ".join(f"{name_of(marked, key)}: {count}" for key, count in shown)
    blocks: list[Block] = [CountChart(tuple(rows), _line("Pupils who made each slip"), alt)]
    if rest:
        names = ", ".join(f"{name_of(marked, key)} ({count})" for key, count in rest)
        blocks.append(Paragraph(_line(f"Also seen: {names}."), "note"))
    return [Together((Heading(2, _line("Slips")), blocks[0])), *blocks[1:]]


# ------------------------------------------------------------------ for the teacher


def _to_look_at(marked: MarkedClass) -> list[Block]:
    rows: list[tuple[Cell, ...]] = []
    wrong = 0
    for pupil in marked.pupils:
        for one in pupil.answers:
            why = _why(marked, one)
            if not why:
                continue
            wrong += 1
            if len(rows) < MOST_LISTED:
                rows.append(
                    (
                        _cell(str(one.row.line), "right"),
                        _cell(pupil.name),
                        _cell(named(one.row.question, one.row.part), "centre"),
                        _cell(_shown(one.row.answer)),
                        _cell(one.right),
                        _cell(why),
                    )
                )
    if not rows:
        return []
    heading = tuple(_cell(text) for text in ("Line", "Pupil", "Q", "As written", "Right", "Why it needs a look"))
    table = Table(
        widths=(0.07, 0.18, 0.07, 0.18, 0.17, 0.33),
        heading=heading,
        rows=tuple(rows),
        whole=False,
        summary="Answers to look at",
    )
    blocks: list[Block] = [
        Heading(2, _line("Answers to look at")),
        Paragraph(_line("Marks here are the least that the answer itself shows; working may earn more."), "note"),
        table,
    ]
    if wrong > len(rows):
        blocks.append(Paragraph(_line(f"And {wrong - len(rows)} more: see the marked table."), "note"))
    return blocks


def _why(marked: MarkedClass, one: MarkedAnswer) -> str:
    """Why a person should look at an answer; "" where number and slip say enough."""
    if one.verdict == "teacher's mark":
        return ""
    if one.verdict == "not read":
        return f"not read: {one.note}"
    if "unit" in one.note:
        return one.note
    if one.verdict == "for the teacher" or "teacher" in one.note:
        return one.note
    if one.verdict == "wrong":
        return one.note or "no known slip gives it"
    if len({slip.marks for slip in one.explained.slips}) > 1:  # which slip it was decides the marks
        return f"may be: {slip_words(marked, one, 2)}"
    return ""


def _shown(answer: str) -> str:
    """An answer as written, short enough for a cell; letters that the sheet's type may not have are left to the marked table."""
    plain = "".join(letter if _PRINTABLE.fullmatch(letter) else "?" for letter in answer.replace(_NO_BREAK, " "))
    return plain if len(plain) <= 40 else f"{plain[:39]}…"


def _feedback(marked: MarkedClass) -> list[Block]:
    heading = (_cell("No."), _cell("Pupil"), _cell("Next step"))
    rows = tuple(
        (_cell(str(pupil.number), "right"), _cell(pupil.name), _cell(feedback(pupil, marked)))
        for pupil in marked.pupils
    )
    return [
        Heading(2, _line("One line for each pupil")),
        Table(widths=(0.06, 0.26, 0.68), heading=heading, rows=rows, whole=False, summary="Feedback for each pupil"),
    ]
