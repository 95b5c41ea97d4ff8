"""The marked papers of a class come in; tables go out as CSV that opens safely in a spreadsheet: no cell of it can act as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

from molewright.machine.spreadsheets import safe
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil
from molewright.marking.misunderstood import behind_answer, could_show
from molewright.papers.answers import place_named

HEADING = (
    "paper code",
    "pupil",
    "question",
    "part",
    "answer",
    "marks",
    "pending",
    "out of",
    "judged",
    "right answer",
    "slip",
    "note",
    "teacher's marks",
    "misunderstood",
    "how sure",
    "could show",
    "all marks",
    "all pending",
    "level",
    "title",
)
SURE, PERHAPS = "sure", "perhaps"
BETWEEN = "; "  # things that are misunderstood, in one cell


def marked_table(classes: Sequence[MarkedClass]) -> bytes:
    """One row for each answer, in the order of the pupils, in UTF-8 with its mark, as spreadsheets want it.

    The mark book is made from these tables alone. What a question could show stands on the first of its rows; "all marks" are those of
    the paper, "all pending" those of the pupil's paper, with parts of which nothing was typed.
    """
    rows = (row for marked in classes for row in _rows(marked))
    return _written(HEADING, rows)


def marks_rows(classes: Sequence[MarkedClass]) -> tuple[tuple[str, ...], list[list[str | int | None]]]:
    """The heading, and one row for each pupil: the marks of each question and the total; what is pending is in none of them."""
    questions = sorted({number for marked in classes for number in marked.out_of})
    several = len(classes) > 1
    heading = ("pupil", *(["level"] if several else []), *(f"question {number}" for number in questions))
    rows: list[list[str | int | None]] = []
    for marked, pupil in pupils_of(classes):
        row: list[str | int | None] = [pupil.name, *([marked.record.level] if several else [])]
        row += [pupil.marks.get(number) for number in questions]
        rows.append([*row, pupil.total, pupil.waiting, sum(marked.out_of.values())])
    return (*heading, "total", "pending", "out of"), rows


def pupils_of(classes: Sequence[MarkedClass]) -> list[tuple[MarkedClass, MarkedPupil]]:
    """Every pupil with the paper that was marked: in the order of the marked class, those of several levels as their answers stand."""
    every = [(marked, pupil) for marked in classes for pupil in marked.pupils]
    if len(classes) == 1:
        return every
    return sorted(every, key=lambda pair: min((one.row.line for one in pair[1].answers), default=0))


def marks_table(classes: Sequence[MarkedClass]) -> bytes:
    """The marks of each pupil, for a mark book."""
    heading, rows = marks_rows(classes)
    return _written(heading, ([safe("" if value is None else str(value)) for value in row] for row in rows))


def _written(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")


def _rows(marked: MarkedClass) -> Iterator[list[str]]:
    could: dict[tuple[str, int], str] = {}
    for pupil in marked.pupils:
        paper = marked.record.paper(pupil.version)
        told: set[int] = set()
        for one in pupil.answers:
            number = one.row.question
            shows = ""
            if number not in told:
                told.add(number)
                at = (pupil.version, number)
                if at not in could:
                    question = next(question for question in paper.questions if question.number == number)
                    could[at] = BETWEEN.join(could_show(marked, question))
                shows = could[at]
            yield [safe(cell) for cell in _cells(marked, pupil, one, paper.code, shows)]


def _cells(marked: MarkedClass, pupil: MarkedPupil, one: MarkedAnswer, code: str, shows: str) -> list[str]:
    things, sure = behind_answer(marked, one)
    return [
        code,
        pupil.name,
        str(one.row.question),
        one.row.part,
        one.row.answer[:200],
        str(one.marks),
        str(one.pending),
        str(one.out_of),
        one.verdict,
        one.right,
        slip_words(marked, one),
        one.note,
        one.row.given,
        BETWEEN.join(things),
        (SURE if sure else PERHAPS) if things else "",
        shows,
        str(sum(marked.out_of.values())),
        str(pupil.waiting),
        marked.record.level,
        marked.title,
    ]


def slip_words(marked: MarkedClass, one: MarkedAnswer, most: int = 4) -> str:
    """What explains an answer, in words: two slips at once joined with "and", several with "or"; "perhaps" where it is not sure."""
    told = [" and ".join(name_of(marked, key) for key in keys) for keys in one.explained.keys[:most]]
    more = len(one.explained.keys) - len(told)
    perhaps = "perhaps " if one.explained.found == "possible" else ""
    return perhaps + " or ".join(told) + (f" or {more} more" if more > 0 else "")


def name_of(marked: MarkedClass, key: str) -> str:
    """A slip by its name; by its key where neither record nor banks know it."""
    return marked.slip_name(key)


def place_words(one: MarkedAnswer) -> str:
    """Where an answer stands: "question 3(b)"."""
    return f"question {place_named(one.row.question, one.row.part)}"
