"""The marked papers of one class come in; the sheets of its workbook go out: marks, facility line by line, what is misunderstood."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from molewright.machine.workbook_tables import table_page
from molewright.machine.workbooks import Page, Value
from molewright.marking.facility import Experiment, Share, facility
from molewright.marking.marked import MarkedClass
from molewright.marking.misunderstood import misunderstood
from molewright.marking.report_look import reason_to_look
from molewright.marking.table import marks_rows, pupils_of
from molewright.papers.answers import place_named


def report_sheets(classes: Sequence[MarkedClass]) -> tuple[Page, ...]:
    """The sheets in the order of the printed report, marks first: they are what is copied into a mark book."""
    heading, rows = marks_rows(classes)
    return (
        table_page("Marks", heading, rows),
        table_page(
            "Facility",
            ("question", "sought", "level", "part", "mark point", "finds", "marks earned", "marks settled", "per cent"),
            [row for one in facility(classes) for row in _shares(one)],
        ),
        table_page(
            "Misunderstood",
            ("what is misunderstood", "pupils", "marks", "surely", "perhaps", "mostly", "as in", "say again"),
            [
                (
                    one.words,
                    one.pupils,
                    one.marks,
                    ", ".join(one.sure),
                    ", ".join(one.perhaps),
                    one.shown,
                    one.where,
                    one.again,
                )
                for one in misunderstood(classes)
            ],
        ),
        table_page(
            "To look at",
            ("pupil", "where", "as written", "right", "why", "note"),
            list(_to_look_at(classes)),
        ),
    )


def _shares(one: Experiment) -> Iterator[tuple[Value, ...]]:
    for level in one.levels:
        yield (one.number, one.asked, level.level, "", None, "the whole question", *_numbers(level.share))
        for part in level.parts:
            if part.part:
                yield (one.number, one.asked, level.level, part.part, None, "the whole part", *_numbers(part.share))
            for point in part.points:
                at = (one.number, one.asked, level.level, part.part, point.number, point.finds)
                yield (*at, *_numbers(point.share))


def _numbers(share: Share) -> tuple[Value, ...]:
    return share.earned, share.settled, share.percent


def _to_look_at(classes: Sequence[MarkedClass]) -> Iterator[tuple[Value, ...]]:
    for _, pupil in pupils_of(classes):
        for one in pupil.answers:
            reason = reason_to_look(one)
            if reason:
                yield pupil.name, place_named(one.row.question, one.part), one.row.answer, one.right, reason, one.note
