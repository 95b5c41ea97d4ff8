"""Marked classes come in; what is wrong in the equations that pupils wrote goes out, in plain words: for the report and for a pupil."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.marking.report_cells import cell, counted, line
from molewright.nodes.blocks import Block, Heading, Table
from molewright.papers.answers import place_named

MOST_ROWS = 12


def equations_told(classes: Sequence[MarkedClass]) -> list[Block]:
    """A row for each fault at each place, the commonest first; none where no equation was wrong."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for marked in classes:
        for pupil in marked.pupils:
            for place, fault in _faults(pupil):
                kind, _, more = fault.partition(":")
                found.setdefault((place, kind), []).append((pupil.name, more.strip()))
    ordered = sorted(found.items(), key=lambda pair: (-len(pair[1]), pair[0]))[:MOST_ROWS]
    if not ordered:
        return []
    rows = tuple(
        (
            cell(place, bold=True),
            cell(f"{kind}, as: {held[0][1]}" if held[0][1] else kind),
            cell(str(len(held)), "centre"),
            cell(", ".join(dict.fromkeys(name for name, _ in held))),
        )
        for (place, kind), held in ordered
    )
    heading = tuple(cell(text) for text in ("Q", "What is wrong in the equation", "Pupils", "Who"))
    table = Table(
        widths=(0.08, 0.5, 0.08, 0.34),
        heading=heading,
        rows=rows,
        summary="What is wrong in the equations, and in whose",
    )
    return [Heading(2, line("Equations")), table]


def own_equations_told(pupil: MarkedPupil) -> str:
    """What is wrong in the equations of one pupil; "" where nothing is."""
    told = [f"question {place}: {fault}" for place, fault in _faults(pupil)]
    more = f" and in {counted(len(told) - 2, 'more part')}" if len(told) > 2 else ""
    return f"{'. '.join(told[:2])}{more}." if told else ""


def _faults(pupil: MarkedPupil) -> Iterator[tuple[str, str]]:
    """Where a pupil's equations are wrong, and what is wrong first in each."""
    for one in pupil.answers:
        if one.equation:
            yield place_named(one.row.question, one.part), one.equation.partition(";")[0]
