"""A question with a reagent in excess comes in; total = reacted + left over goes out as a bar."""

from __future__ import annotations

from molewright.experiment.quantities import Name
from molewright.nodes.figures import BarFigure, BarPiece
from molewright.nodes.inline import Chem, Inline, Line, Text
from molewright.sheet.writer import Writer


def bar(writer: Writer) -> BarFigure | None:
    """Total = reacted + left over, for a question with a reagent in excess."""
    for step in writer.question.worked.steps:
        if step.relation is None or step.relation.kind != "balance":
            continue
        spent, left, total = step.relation.names
        exact = {step.variable.name: step.exact for step in writer.question.worked.steps}
        if not all(name in exact for name in (spent, left, total)):
            return None
        variables = writer.question.system.variables
        share = float(exact[spent] / exact[total])
        species = variables[total].subject

        def label(words: str, name: Name) -> Line:
            pieces: tuple[Inline, ...] = (Text(f"{words}: "), writer.numbers.amount(writer.numbers.steps[name].shown))
            return pieces

        return BarFigure(
            (Chem(species), Text(" "), *label("added", total)),
            (BarPiece(share, label("reacted", spent), hatched=True), BarPiece(1 - share, label("left over", left))),
            "The amount added is the amount that reacted and the amount left over.",
        )
    return None
