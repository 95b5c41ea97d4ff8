"""The marked papers of one class come in, one a level; the class report goes out as a sheet.

It tells what to teach again first, totals, facility, marks, and what the teacher should look at.
"""

from __future__ import annotations

from collections.abc import Sequence

from molewright.marking.facility import Experiment, PartShare, QuestionShare, Share, facility
from molewright.marking.marked import MarkedClass
from molewright.marking.misunderstood import Misunderstood, misunderstood
from molewright.marking.report_cells import NO_BREAK, cell, counted, level_told, line, mean
from molewright.marking.report_equations import equations_told
from molewright.marking.report_look import to_look_at
from molewright.marking.report_marks import marks_tables
from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Sheet, Table, Together
from molewright.nodes.figures import CountChart, CountRow

MOST_THINGS = 8  # told with pupils' names
MOST_FIRST = 3  # told with what to say again
_BANDS = 10  # of ten per cent each
_PERCENT = 100


def class_report(classes: Sequence[MarkedClass]) -> Sheet:
    """The report of a class: on one paper, or on those of its levels together."""
    first = classes[0]
    title = f"{first.title}, class report"
    experiments = facility(classes)
    blocks: list[Block] = [
        Heading(1, line(f"{first.title}: class report")),
        Paragraph(line(_summary(classes)), "note"),
        *(Paragraph(line(f"Please check: {note}."), "note") for marked in classes for note in marked.misfits),
        *_misunderstood(misunderstood(classes)),
        *equations_told(classes),
        *_totals(classes),
        *_facility_bars(experiments),
        Heading(2, line("Marks")),
        *marks_tables(classes),
        *_facility_table(experiments, len(classes) > 1),
        *to_look_at(classes),
    ]
    return Sheet(
        title=title,
        subject="Titration calculations",
        kind="report",
        code=first.code,
        blocks=tuple(blocks),
        header=title,
    )


def _summary(classes: Sequence[MarkedClass]) -> str:
    """One paragraph: papers, pupils, marks, mean, what is pending, who is absent."""
    told = [_of_one(marked, len(classes) > 1) for marked in classes]
    if len(classes) > 1:
        told.insert(0, f"{counted(sum(len(one.pupils) for one in classes), 'pupil')} at {len(classes)} levels.")
    waiting = sum(pupil.waiting for marked in classes for pupil in marked.pupils)
    if waiting:
        told.append(f"Pending, for the teacher to give: {counted(waiting, 'mark')}, shown as (+1) behind the marks.")
    absent = [name for marked in classes for name in marked.absent]
    if absent:
        told.append(f"No answers from {', '.join(absent)}.")
    return " ".join(told)


def _of_one(marked: MarkedClass, several: bool) -> str:
    marks = mean([pupil.total for pupil in marked.pupils])
    who = f"{level_told(marked.record.level)}, paper {marked.code}" if several else f"Paper {marked.code}"
    whole = sum(marked.out_of.values())
    return (
        f"{who[:1].upper()}{who[1:]}: {counted(len(marked.pupils), 'pupil')}, {counted(whole, 'mark')}, mean {marks}."
    )


# ------------------------------------------------------------------ what is misunderstood


def _misunderstood(things: Sequence[Misunderstood]) -> list[Block]:
    if not things:
        return []
    heading = tuple(cell(text) for text in ("What to teach again, first things first", "Pupils", "Marks lost", "Who"))
    rows = tuple(
        (_thing(one, number), cell(str(one.pupils), "centre"), cell(str(one.marks), "centre"), _who(one))
        for number, one in enumerate(things[:MOST_THINGS], 1)
    )
    blocks: list[Block] = [
        Heading(2, line("What is misunderstood")),
        Table(
            widths=(0.5, 0.08, 0.08, 0.34),
            heading=heading,
            rows=rows,
            summary="What is misunderstood, by how many pupils, and the marks that it cost",
        ),
    ]
    rest = [f"{one.words} ({one.pupils})" for one in things[MOST_THINGS:]]
    if rest:
        blocks.append(Paragraph(line(f"Also seen: {'; '.join(rest)}."), "note"))
    return blocks


def _thing(one: Misunderstood, number: int) -> Cell:
    lines = [line(f"{number}. {one.words}", bold=True), line(f"Mostly: {one.shown}, as in {one.where}.")]
    if number <= MOST_FIRST and one.again:
        lines.append(line(f"Say again: {one.again}"))
    return Cell(tuple(lines))


def _who(one: Misunderstood) -> Cell:
    perhaps = f"perhaps: {', '.join(one.perhaps)}" if one.perhaps else ""
    return Cell(tuple(line(text) for text in (", ".join(one.sure), perhaps) if text))


# ------------------------------------------------------------------ totals


def _totals(classes: Sequence[MarkedClass]) -> list[Block]:
    """How the totals are spread, in bands of ten per cent, so that papers of several levels stand on one scale."""
    bands = [0] * _BANDS
    for marked in classes:
        whole = sum(marked.out_of.values())
        for pupil in marked.pupils:
            bands[min(_BANDS - 1, _BANDS * pupil.total // whole if whole else 0)] += 1
    held = [at for at, count in enumerate(bands) if count]
    rows = tuple(CountRow(line(_band(at)), bands[at]) for at in range(held[0], held[-1] + 1))
    told = "; ".join(f"{_band(at)}: {counted(bands[at], 'pupil')}" for at in range(held[0], held[-1] + 1))
    chart = CountChart(rows, line("Pupils by the share of the marks"), f"Pupils by the share of the marks. {told}.")
    return [Together((Heading(2, line("Totals")), chart))]


def _band(at: int) -> str:
    width = _PERCENT // _BANDS
    top = _PERCENT if at == _BANDS - 1 else (at + 1) * width - 1
    return f"{at * width} to {top}{NO_BREAK}%"


# ------------------------------------------------------------------ facility


def _facility_bars(experiments: Sequence[Experiment]) -> list[Block]:
    """A bar for each experiment, the whole class together."""
    shares = [(one, sum((level.share for level in one.levels), Share(0, 0))) for one in experiments]
    rows = tuple(CountRow(line(_sought(one)), share.percent) for one, share in shares if share.percent is not None)
    told = "; ".join(f"question {_sought(one)}: {share.told} %" for one, share in shares)
    if not rows:
        return []
    title = "Facility by question: marks earned of those that are settled, in per cent"
    return [CountChart(rows, line(title), f"{title}. {told}.", most=_PERCENT, sign=f"{NO_BREAK}%")]


def _facility_table(experiments: Sequence[Experiment], several: bool) -> list[Block]:
    """Facility by part and mark point, levels of one experiment one below the other."""
    heading = ["Q", *(["Level"] if several else []), "%", "Parts: their mark points, in %", "Hardest line"]
    widths = (0.05, 0.12, 0.06, 0.4, 0.37) if several else (0.05, 0.06, 0.5, 0.39)
    table = Table(
        widths=widths,
        heading=tuple(cell(text) for text in heading),
        rows=tuple(
            _facility_row(one.number if at == 0 else 0, level, several)
            for one in experiments
            for at, level in enumerate(one.levels)
        ),
        summary="Facility by question, part and mark point",
        keep_rows=frozenset(_continued(experiments)),
    )
    return [Heading(2, line("Facility by part and mark point")), table]


def _continued(experiments: Sequence[Experiment]) -> list[int]:
    """The rows that go on with the experiment of the row above."""
    whole = [at for one in experiments for at in range(len(one.levels))]
    return [index for index, at in enumerate(whole) if at]


def _sought(one: Experiment) -> str:
    return f"{one.number}: {one.asked}" if one.asked else str(one.number)


def _facility_row(number: int, level: QuestionShare, several: bool) -> tuple[Cell, ...]:
    hardest = level.hardest
    told = f"{hardest.finds}: {hardest.share.told}" if hardest else ""
    middle = (cell(level.level),) if several else ()
    parts = " · ".join(_part(one) for one in level.parts)
    return (
        cell(str(number or ""), bold=True),
        *middle,
        cell(level.share.told, "centre", True),
        cell(parts),
        cell(told),
    )


def _part(one: PartShare) -> str:
    """A part with its share, and those of its mark points in order where they say more: "(a) 75: 100, 50"."""
    points = ", ".join(point.share.told for point in one.points)
    if not one.part:
        return points
    label = f"({one.part}){NO_BREAK}{one.share.told}"
    return f"{label}: {points}" if len(one.points) > 1 else label
