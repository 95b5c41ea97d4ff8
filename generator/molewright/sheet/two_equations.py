"""A question with two unknown amounts comes in; the lines of its two equations go out, for mark scheme and worked solutions."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.derivation.simultaneous import TwoUnknowns, mixture, two_unknowns
from molewright.derivation.worked import MarkPoint, WorkedStep
from molewright.nodes.tree import Line
from molewright.sheet.voice import Voice
from molewright.sheet.working_lines import two_equations

CHAIN = ("supposed", "extra", "difference", "heavier")
"""The relations of a chain of single steps that stands for two equations."""


def mixture_points(voice: Voice) -> list[MarkPoint]:
    """The mark points that the two equations and their solution stand for."""
    return [
        point
        for point in voice.question.points
        if any(step.relation is not None and step.relation.kind in CHAIN for step in point.steps)
    ]


def mixture_lines(voice: Voice) -> tuple[Line, ...]:
    """The two equations of a mixture whose main route is a chain of single steps; none for any other question."""
    relations = tuple(step.relation for step in voice.question.worked.steps if step.relation is not None)
    found = mixture(voice.question.system, relations, _values(voice))
    return _lines(voice, found)


def together_lines(voice: Voice, step: WorkedStep) -> tuple[Line, ...]:
    """The two equations behind a step that several relations yield only together; none for any other step."""
    if step.relation is not None:
        return ()
    before = _values(voice)
    for later in voice.question.worked.steps[voice.question.worked.steps.index(step) :]:
        before.pop(later.variable.name, None)
    return _lines(voice, two_unknowns(voice.question.system, before, step.variable.name))


def _values(voice: Voice) -> dict[str, Fraction]:
    found = {step.variable.name: step.exact for step in voice.question.worked.steps}
    return {**voice.question.given, **found}


def _lines(voice: Voice, found: TwoUnknowns | None) -> tuple[Line, ...]:
    if found is None:
        return ()
    variables = voice.question.system.variables
    return two_equations(found, voice.symbol(variables[found.x]), voice.symbol(variables[found.y]), _printed(voice))


def _printed(voice: Voice) -> Mapping[Fraction, str]:
    """Numbers of the question as they are printed, by their exact value: 0.950, not 0.95."""
    given = {quantity.in_base: quantity.number_text for quantity in voice.question.draw.given.values()}
    fixed = {voice.question.given[name]: voice.written(name).number_text for name in voice.question.system.fixed}
    return {**fixed, **given}
