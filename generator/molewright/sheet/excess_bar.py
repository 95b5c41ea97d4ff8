"""A question with a reagent in excess comes in; total = reacted + left over goes out as a bar, complete or with blanks."""

from __future__ import annotations

from collections.abc import Callable

from molewright.experiment.quantities import Name
from molewright.nodes.figures import BarFigure, BarPiece
from molewright.nodes.inline import Chem, Line, Text
from molewright.sheet.writer import Writer

_NOT_TO_SCALE = 0.6  # the share of what reacted in a bar that must not tell it


def bar_names(writer: Writer) -> tuple[Name, ...]:
    """What reacted, what is left over and the total, where all of them are found in steps; () where there is no such bar."""
    for step in writer.question.worked.steps:
        if step.relation is not None and step.relation.kind == "balance":
            spent, left, total = step.relation.names
            found = all(name in writer.numbers.steps for name in (spent, left, total))
            return (spent, left, total) if found else ()
    return ()


def bar(writer: Writer, blanks: Callable[[Name], Line] | None = None) -> BarFigure | None:
    """Total = reacted + left over, for a question with a reagent in excess.

    `blanks` gives what stands for each amount where a pupil is to find it; the pieces are then in one proportion for all.
    """
    names = bar_names(writer)
    if not names:
        return None
    spent, left, total = names
    steps = writer.numbers.steps
    share = _NOT_TO_SCALE if blanks else float(steps[spent].exact / steps[total].exact)

    def label(words: str, name: Name) -> Line:
        told = blanks(name) if blanks else (writer.numbers.amount(steps[name].shown),)
        return (Text(f"{words}: "), *told)

    species = writer.question.system.variables[total].subject
    return BarFigure(
        (Chem(species), Text(" "), *label("added", total)),
        (BarPiece(share, label("reacted", spent), hatched=True), BarPiece(1 - share, label("left over", left))),
        "" if blanks else "The amount added is the amount that reacted and the amount left over.",
    )
