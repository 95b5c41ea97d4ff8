"""A mark book comes in; its printed sheet, the sheets of its workbook and its tables go out."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from fractions import Fraction

from molewright.chem.quantity import half_up
from molewright.machine.spreadsheets import safe
from molewright.machine.workbook_tables import table_page
from molewright.machine.workbooks import Page, Value
from molewright.marking.progress import MarkBook, MarkedPaper, Sitting, Trail
from molewright.marking.report_cells import and_pending, cell, line
from molewright.nodes.blocks import Block, Cell, Heading, Items, Paragraph, Sheet, Table

PAPERS_A_TABLE = 8
MOST_THINGS = 12
_TITLE = "Mark book"
_GONE = (
    "Gone: a question in which it would have shown was answered since, and no mark was lost there. Perhaps: the answer fits other "
    "mistakes too; what was perhaps seen once stands in the workbook only."
)


def book_sheet(book: MarkBook) -> Sheet:
    """The printed mark book: the papers, marks over time, what the class misunderstands, and pupil by pupil."""
    blocks: list[Block] = [
        Heading(1, line(_TITLE)),
        Items(tuple(line(f"{number}: {paper.label}") for number, paper in enumerate(book.papers, 1))),
        Heading(2, line("Marks over time")),
        *_marks(book),
        *_class(book),
        *_pupils(book),
    ]
    return Sheet(
        title=_TITLE, subject="Titration calculations", kind="report", code="", blocks=tuple(blocks), header=_TITLE
    )


# ------------------------------------------------------------------ marks


def _marks(book: MarkBook) -> Iterator[Table]:
    for first in range(0, len(book.papers), PAPERS_A_TABLE):
        papers = book.papers[first : first + PAPERS_A_TABLE]
        numbers = range(first + 1, first + 1 + len(papers))
        rows = [
            (cell(name), *(cell(_sat(paper.sittings.get(key)), "centre") for paper in papers))
            for key, name in book.pupils.items()
        ]
        means = (cell("class, in per cent", bold=True), *(cell(_mean(paper), "centre", True) for paper in papers))
        yield Table(
            widths=(0.3, *(min(0.16, 0.7 / len(papers)) for _ in papers)),
            heading=(cell("Pupil"), *(cell(str(number), "centre") for number in numbers)),
            rows=(*rows, means),
            width=min(1.0, 0.3 + 0.16 * len(papers)),
            summary="Marks of each pupil in each paper",
        )


def _sat(one: Sitting | None) -> str:
    return f"{and_pending(str(one.marks), one.pending)} of {one.out_of}" if one else "–"


def _mean(paper: MarkedPaper) -> str:
    """Marks of all who sat it, in per cent of what is settled."""
    settled = sum(one.out_of - one.pending for one in paper.sittings.values())
    return (
        str(half_up(100 * Fraction(sum(one.marks for one in paper.sittings.values()), settled), 0)) if settled else "–"
    )


# ------------------------------------------------------------------ what is misunderstood


def _class(book: MarkBook) -> list[Block]:
    things = book.things()
    if not things:
        return []
    rows = tuple(
        (cell(thing), *(cell(_having(paper, thing), "centre") for paper in book.papers[-PAPERS_A_TABLE:]))
        for thing in things[:MOST_THINGS]
    )
    first = max(0, len(book.papers) - PAPERS_A_TABLE)
    numbers = range(first + 1, len(book.papers) + 1)
    table = Table(
        widths=(0.44, *(0.56 / len(numbers) for _ in numbers)),
        heading=(cell("What is misunderstood"), *(cell(str(number), "centre") for number in numbers)),
        rows=rows,
        summary="How many pupils misunderstood each thing in each paper",
    )
    blocks: list[Block] = [Heading(2, line("The class")), table]
    rest = things[MOST_THINGS:]
    if rest:
        blocks.append(Paragraph(line(f"Also seen: {'; '.join(rest)}."), "note"))
    return blocks


def _having(paper: MarkedPaper, thing: str) -> str:
    """How many pupils have a thing in a paper; "–" where it could not show."""
    states = [one.state(thing) for one in paper.sittings.values()]
    having = sum(state in ("seen", "perhaps") for state in states)
    return str(having) if having or "right" in states else "–"


def _pupils(book: MarkBook) -> list[Block]:
    rows = []
    for key, name in book.pupils.items():
        trails = [trail for trail in book.trails(key) if trail.seen != trail.perhaps or len(trail.seen) > 1]
        still = tuple(line(trail_told(trail)) for trail in trails if not trail.gone)
        gone = tuple(line(trail_told(trail)) for trail in trails if trail.gone)
        if trails:
            rows.append((cell(name, bold=True), Cell(still), Cell(gone)))
    if not rows:
        return []
    table = Table(
        widths=(0.19, 0.43, 0.38),
        heading=(cell("Pupil"), cell("Still to be worked on"), cell("Gone")),
        rows=tuple(rows),
        whole=False,
        summary="What each pupil misunderstood over time",
    )
    return [Heading(2, line("Pupil by pupil")), Paragraph(line(_GONE), "note"), table]


def trail_told(trail: Trail) -> str:
    """A thing over time in words: "the reacting ratio of the equation: seen in 1 and 2, gone in 3"."""
    told = [f"{number}{' (perhaps)' if number in trail.perhaps else ''}" for number in trail.seen]
    listed = told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"
    return f"{trail.thing}: seen in {listed}{f', gone in {trail.gone}' if trail.gone else ''}"


# ------------------------------------------------------------------ tables


def book_sheets(book: MarkBook) -> tuple[Page, ...]:
    """The sheets of the workbook: papers, marks, and what is misunderstood, one row a pupil and thing."""
    numbered = tuple(str(number) for number in range(1, len(book.papers) + 1))
    return (
        table_page("Marks", marks_heading(book), [*marks_rows(book)]),
        table_page("Misunderstood", ("pupil", "what is misunderstood", *numbered, "told"), [*things_rows(book)]),
        table_page("Papers", ("number", "paper", "pupils"), [
            (number, paper.label, len(paper.sittings)) for number, paper in enumerate(book.papers, 1)
        ]),
    )  # fmt: skip


def marks_heading(book: MarkBook) -> tuple[str, ...]:
    """Three columns a paper: marks, pending, out of."""
    told = (f"{number} {what}" for number in range(1, len(book.papers) + 1) for what in ("marks", "pending", "out of"))
    return ("pupil", *told)


def marks_rows(book: MarkBook) -> Iterator[tuple[Value, ...]]:
    """One row a pupil."""
    for key, name in book.pupils.items():
        sat = [paper.sittings.get(key) for paper in book.papers]
        numbers = [value for one in sat for value in ((one.marks, one.pending, one.out_of) if one else (None,) * 3)]
        yield (name, *numbers)


def things_rows(book: MarkBook) -> Iterator[tuple[Value, ...]]:
    """One row for each pupil and thing: what every paper tells of it."""
    for key, name in book.pupils.items():
        for trail in book.trails(key):
            yield (name, trail.thing, *trail.states, trail_told(trail))


def as_csv(heading: Sequence[str], rows: Sequence[Sequence[Value]]) -> bytes:
    """A table that opens safely in a spreadsheet, in UTF-8 with its mark."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading)
    writer.writerows([safe("" if value is None else str(value)) for value in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")
