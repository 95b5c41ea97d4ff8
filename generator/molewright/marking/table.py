"""A marked class comes in; a table goes out as CSV that opens safely in a spreadsheet: no cell of it can act as a formula."""

from __future__ import annotations

import csv
import io

from molewright.machine.spreadsheets import safe
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil, named

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
)


def marked_table(marked: MarkedClass) -> bytes:
    """One row for each answer, in the order of the pupils, in UTF-8 with its mark, as spreadsheets want it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADING)
    for pupil in marked.pupils:
        for one in pupil.answers:
            writer.writerow([safe(cell) for cell in _cells(marked, pupil, one)])
    return out.getvalue().encode("utf-8-sig")


def marks_table(marked: MarkedClass) -> bytes:
    """One row for each pupil: the marks of each question and the total, for a mark book; what is pending is in none of them."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    questions = list(marked.out_of)
    writer.writerow(["pupil", *(f"question {number}" for number in questions), "total", "pending", "out of"])
    for pupil in marked.pupils:
        marks = [str(pupil.marks[number]) if number in pupil.marks else "" for number in questions]
        writer.writerow(
            [safe(pupil.name), *marks, str(pupil.total), str(pupil.waiting), str(sum(marked.out_of.values()))]
        )
    return out.getvalue().encode("utf-8-sig")


def _cells(marked: MarkedClass, pupil: MarkedPupil, one: MarkedAnswer) -> list[str]:
    return [
        marked.record.paper(pupil.version).code,
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
    ]


def slip_words(marked: MarkedClass, one: MarkedAnswer, most: int = 4) -> str:
    """What explains an answer, in words: two slips at once joined with "and", several with "or"; "perhaps" where it is not sure."""
    told = [" and ".join(name_of(marked, key) for key in keys) for keys in one.explained.keys[:most]]
    more = len(one.explained.keys) - len(told)
    perhaps = "perhaps " if one.explained.found == "possible" else ""
    return perhaps + " or ".join(told) + (f" or {more} more" if more > 0 else "")


def name_of(marked: MarkedClass, key: str) -> str:
    """A slip by its name; by its key where neither record nor banks know it."""
    return (marked.slips[key].name if key in marked.slips else "") or key


def place_words(one: MarkedAnswer) -> str:
    """Where an answer stands: "question 3(b)"."""
    return f"question {named(one.row.question, one.row.part)}"
