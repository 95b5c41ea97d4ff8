"""A question comes in; its other right routes go out as rows of the mark scheme, each naming only what differs from the main one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up
from molewright.derivation.chains import Step
from molewright.derivation.routes.search import Route, differing
from molewright.derivation.worked import WorkedStep, shown_value
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System
from molewright.nodes.blocks import Cell
from molewright.nodes.inline import Inline, Line, Maths, Sign, Text
from molewright.sheet.further_parts import mark_name
from molewright.sheet.mixture_lines import chained, mixture_lines, mixture_points
from molewright.sheet.right_side import right_side
from molewright.sheet.writer import Writer


def route_rows(writer: Writer) -> list[tuple[Cell, ...]]:
    """A short row for each other right route that holds with these numbers and is left to the pupil."""
    routes = writer.question.prepared.routes.routes
    held = (route for route in routes if route.holds(writer.question.given) and _left_open(writer, route))
    return [_or_row(writer, route) for route in held] + _equations_row(writer)


def _row(lines: tuple[Line, ...], points: Sequence[str], told: Line) -> tuple[Cell, ...]:
    return (
        Cell(((Text("or", bold=True),),)),
        Cell(lines),
        Cell(((Text(", ".join(points), bold=True),),), align="centre"),
        Cell((told,)),
    )


def _equations_row(writer: Writer) -> list[tuple[Cell, ...]]:
    """Two simultaneous equations as another right route to the amounts in a mixture."""
    lines = mixture_lines(writer)
    if not lines or chained(writer.question.done):
        return []
    points = [mark_name(writer, point.number) for point in mixture_points(writer)]
    return [_row(lines, points, writer.words.line("or two equations"))]


def _or_row(writer: Writer, route: Route) -> tuple[Cell, ...]:
    """Another right route: what it finds that the main one does not, and the marks that its steps stand for."""
    prepared = writer.question.prepared
    kept = {(step.target, step.relation) for step in route.steps}
    own = {step.target for step in prepared.plan.steps if (step.target, step.relation) not in kept}
    points = [
        mark_name(writer, point.number)
        for point in writer.question.worked.points
        if any(step.variable.name in own for step in _paid(point.steps))
    ]
    key = f"or {route.family}"
    if writer.words.has(f"{key} total") and _adds(prepared.routes.system, route):
        key += " total"
    return _row(_what_differs(writer, route), points, writer.words.line(key))


def _what_differs(writer: Writer, route: Route) -> tuple[Line, ...]:
    """The line of a route that is one line; of a longer one the quantities that the main route does not find, and their values.

    Where it finds nothing else than the main one, its lines of working tell it: one for each titration, where each has its own.
    """
    prepared = writer.question.prepared
    values = prepared.routes.values(writer.question.given, route)
    steps = differing(prepared.plan, route)
    on_the_way = [step.target for step in prepared.plan.steps]
    new = [step for step in steps if step.target not in on_the_way]
    if len(steps) == 1:
        return ((_working(writer, steps[0], values),),)
    if not new:
        return tuple(
            (_working(writer, step, values),) for step in sorted(steps, key=lambda one: on_the_way.index(one.target))
        )
    line: list[Inline] = []
    for step in new:
        line += [*([Text("; ")] if line else []), _value(writer, step, values)]
    return (tuple(line),)


def _paid(steps: tuple[WorkedStep, ...]) -> tuple[WorkedStep, ...]:
    """The steps that a mark is for: without a 1:1 step that only goes with another."""
    return tuple(step for step in steps if step.earns) or steps


def _left_open(writer: Writer, route: Route) -> bool:
    """Whether a route goes another way only over steps that are left to the pupil."""
    if not writer.question.done:
        return True
    prepared = writer.question.prepared
    kept = {(step.target, step.relation) for step in route.steps}
    own = {step.target for step in prepared.plan.steps if (step.target, step.relation) not in kept}
    done = {step.variable.name for point in writer.question.done for step in point.steps}
    return not own & done


def _adds(system: System, route: Route) -> bool:
    """Whether a route puts what reacted and what is left over together: the reagent is what is asked for."""
    balances = [step for step in route.steps if system.relations[step.relation].kind == "balance"]
    return any(system.relations[step.relation].adds_to(step.target) for step in balances)


def _value(writer: Writer, step: Step, values: Mapping[Name, Fraction]) -> Maths:
    """What a step of a route finds, without how."""
    system = writer.question.prepared.routes.system
    found = writer.numbers.amount(_found(writer, system, step, values), bold=True)
    return Maths((*writer.symbols.of(system.variables[step.target]), Sign("="), found))


def _working(writer: Writer, step: Step, values: Mapping[Name, Fraction]) -> Maths:
    """A step of a route as a line of working."""
    system = writer.question.prepared.routes.system

    def written(name: Name) -> Quantity:
        if (
            name in writer.question.draw.given
            or name in writer.numbers.steps
            or name not in values
            or name in system.fixed
        ):
            return writer.numbers.written(name)
        return shown_value(system.variables[name], values[name])

    relation = system.relations[step.relation]
    numbers = right_side(relation, step.target, written)
    if (
        relation.factor == 1 and relation.form == "product" and len(relation.names) == 2
    ):  # 1:1, so no arithmetic to show
        other = next(name for name in relation.names if name != step.target)
        numbers = writer.symbols.of(system.variables[other])
    found = writer.numbers.amount(_found(writer, system, step, values), bold=True)
    return Maths((*writer.symbols.of(system.variables[step.target]), Sign("="), *numbers, Sign("="), found))


def _found(writer: Writer, system: System, step: Step, values: Mapping[Name, Fraction]) -> Quantity:
    """A value of a route as it is printed: one titre less another to their own places, anything else to its figures."""
    shown = shown_value(system.variables[step.target], values[step.target])
    relation = system.relations[step.relation]
    given = [writer.question.draw.given.get(name) for name in relation.names if name != step.target]
    if relation.form == "product" or not all(given):
        return shown
    places = max(len(quantity.number_text.partition(".")[2]) for quantity in given if quantity is not None)
    return Quantity(half_up(values[step.target], places), shown.unit)
