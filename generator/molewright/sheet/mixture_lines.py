"""A question with two unknown amounts comes in; the lines of its two equations go out, for mark scheme and worked solutions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from molewright.derivation.simultaneous import TwoUnknowns, mixture, two_unknowns
from molewright.derivation.worked import MarkPoint, WorkedStep
from molewright.experiment.quantities import Name
from molewright.nodes.inline import Line
from molewright.sheet.two_equations import two_equations
from molewright.sheet.writer import Writer

CHAIN = ("supposed", "extra", "difference", "heavier")
"""The relations of a chain of single steps that stands for two equations."""


def mixture_points(writer: Writer) -> list[MarkPoint]:
    """The mark points that the two equations and their solution stand for."""
    return chained(writer.question.points)


def chained(points: Sequence[MarkPoint]) -> list[MarkPoint]:
    """Those of some mark points that are steps of such a chain."""
    return [
        point
        for point in points
        if any(step.relation is not None and step.relation.kind in CHAIN for step in point.steps)
    ]


def mixture_lines(writer: Writer) -> tuple[Line, ...]:
    """The two equations of a mixture whose main route is a chain of single steps; none for any other question."""
    relations = tuple(step.relation for step in writer.question.worked.steps if step.relation is not None)
    found = mixture(writer.question.system, relations, _values(writer))
    return _lines(writer, found)


def together_lines(writer: Writer, step: WorkedStep) -> tuple[Line, ...]:
    """The two equations behind a step that several relations yield only together; none for any other step."""
    if step.relation is not None:
        return ()
    before = _values(writer)
    for later in writer.question.worked.steps[writer.question.worked.steps.index(step) :]:
        before.pop(later.variable.name, None)
    return _lines(writer, two_unknowns(writer.question.system, before, step.variable.name))


def _values(writer: Writer) -> dict[Name, Fraction]:
    found = {step.variable.name: step.exact for step in writer.question.worked.steps}
    return {**writer.question.given, **found}


def _lines(writer: Writer, found: TwoUnknowns | None) -> tuple[Line, ...]:
    if found is None:
        return ()
    variables = writer.question.system.variables
    return two_equations(
        found, lambda name: writer.symbols.of(variables[name]), writer.numbers.written, _printed(writer)
    )


def _printed(writer: Writer) -> Mapping[Fraction, str]:
    """Numbers of the question as they are printed, by their exact value: 0.950, not 0.95."""
    given = {quantity.in_base: quantity.number_text for quantity in writer.question.draw.given.values()}
    fixed = {
        writer.question.given[name]: writer.numbers.written(name).number_text for name in writer.question.system.fixed
    }
    return {**fixed, **given}
