"""A derivation with its numbers comes in; steps as they are printed, mark points, the answer and its accepted range go out.

The exact value is carried from step to step; what is printed is rounded, one figure more than the answer. The accepted range
spans full precision and every step rounded to 4 and to 3 figures, over every legitimate route, so that nobody who works
properly is marked wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from molewright.answer.accepted import Accepted, AnswerType, accepted, answer_number
from molewright.bank.definitions import Ask
from molewright.chem.quantity import (
    Quantity,
    figures_to_show,
    half_up,
    in_standard_form,
    last_place,
    places_to_show,
    to_figures,
)
from molewright.chem.reaction import Reaction
from molewright.derivation.derive import Plan, derive, run_rounded
from molewright.derivation.evaluated import evaluate, pairs_of
from molewright.derivation.routes.search import Routes
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.relations.variables import Relation, System, Variable

STEP_FIGURES = 4  # one more than an answer's three
LOGARITHM_PLACES = 2  # of a pH that is an answer, or read from a meter (common practice, no source)
ROUNDINGS = (4, 3)  # figures that a pupil may round every step to and keep full marks (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedStep:
    """One step as printed: the quantity found, by which relation, its exact value and its printed one."""

    variable: Variable
    relation: Relation | None  # None where several relations yield it together
    exact: Fraction
    shown: Quantity
    idle: bool  # a 1:1 step: the same number carried over
    earns: bool  # whether the step is worth a mark of its own


@dataclass(frozen=True, slots=True)
class MarkPoint:
    """What earns one mark: one or several steps, or the mean of the concordant titres (no steps)."""

    number: int
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """A question worked out: steps, mark points, exact answer (base unit), printed answer and accepted range."""

    plan: Plan
    steps: tuple[WorkedStep, ...]
    points: tuple[MarkPoint, ...]
    exact: Fraction
    answer: Quantity
    accepted: Accepted

    @property
    def marks(self) -> int:
        """Marks of the whole question: one for each mark point."""
        return len(self.points)

    @property
    def told(self) -> str:
        """The answer as it is told: "94.9 %", "5 : 2"."""
        return self.accepted.told


def work_out(system: System, the_plan: Plan, given: Mapping[Name, Fraction], ask: Ask, joined: frozenset[str] = frozenset(),
             table: bool = False, routes: Routes | None = None) -> Worked:  # fmt: skip
    """Work a question out. `given` holds every known quantity in base units; `joined` kinds of step share the next one's mark."""
    derivation = derive(system, the_plan, given)
    figures = max(STEP_FIGURES, ask.figures + 1)
    last = system.variables[the_plan.asked]
    if not last.whole and not last.logarithmic:
        figures = figures_to_show(
            derivation.answer, figures, ask.figures
        )  # of every step: else the last line would not be true
    if last.logarithmic:
        figures = places_to_show(derivation.answer, figures - 1, LOGARITHM_PLACES) + 1
    steps = _steps(system, the_plan, derivation.values, figures)
    exact = derivation.answer
    unit = ask.unit or steps[-1].variable.unit
    factor = 1 / unit.factor
    asked = steps[-1].variable
    number = answer_number(type_of(asked), exact * factor, ask.figures, LOGARITHM_PLACES)
    answer = Quantity(number, unit, in_standard_form(exact * factor, unit))
    values = [exact]
    for figures in ROUNDINGS:
        pairs = pairs_of(given)
        run_rounded(system, the_plan.steps, pairs, figures)
        values.append(Fraction(*pairs[the_plan.asked]))
        if routes is not None:
            values += routes.answers(pairs, the_plan.asked, figures)
    right = accepted(type_of(asked), [value * factor for value in values], answer)
    return Worked(
        plan=the_plan, steps=steps, points=_points(steps, joined, table), exact=exact, answer=answer, accepted=right
    )


def type_of(asked: Variable) -> AnswerType:
    """The type of the answer where this quantity is asked for."""
    if asked.logarithmic:
        return "logarithm"
    return "whole number" if asked.whole else "ratio" if asked.simple else "number"


def _steps(
    system: System, the_plan: Plan, values: Mapping[Name, Fraction], figures: int = STEP_FIGURES
) -> tuple[WorkedStep, ...]:
    chain = [
        (step.target, system.relations[step.relation] if step.together is None else None) for step in the_plan.steps
    ]
    direct = not any(relation is not None and relation.kind == "balance" for _, relation in chain)
    found: list[WorkedStep] = []
    used: set[Reaction] = set()
    for target, relation in chain:
        again = relation is not None and relation.reaction in used
        found.append(_step(system.variables[target], relation, direct and not again, values[target], figures))
        if relation is not None and relation.reaction is not None:
            used.add(relation.reaction)
    return tuple(found)


def mark_points(
    system: System, the_plan: Plan, joined: frozenset[str], table: bool
) -> list[tuple[int, tuple[Name, ...]]]:
    """The mark points of a plan without its numbers: their numbers and the quantities that each finds."""
    blank = {step.target: Fraction(1) for step in the_plan.steps}
    steps = _steps(system, the_plan, blank)
    return [
        (point.number, tuple(step.variable.name for step in point.steps)) for point in _points(steps, joined, table)
    ]


def _step(variable: Variable, relation: Relation | None, direct: bool, exact: Fraction, figures: int) -> WorkedStep:
    idle = relation is not None and (
        (relation.kind in ("ratio", "contains", "ions") and _one_to_one(relation)) or _itself(relation)
    )
    earns = not idle or (
        direct and relation is not None and relation.kind == "ratio"
    )  # M2 of a direct titration: the ratio; a second 1:1 step by the same equation earns nothing more
    return WorkedStep(
        variable=variable,
        relation=relation,
        exact=exact,
        shown=shown_value(variable, exact, figures),
        idle=idle,
        earns=earns,
    )


def shown_value(variable: Variable, exact: Fraction, figures: int = STEP_FIGURES) -> Quantity:
    """A value found on the way as it is printed; of a logarithm only the figures after the point count."""
    if variable.logarithmic:
        return Quantity(half_up(exact, figures - 1), variable.unit)
    return Quantity(to_figures(exact, figures), variable.unit, in_standard_form(exact, variable.unit))


def _one_to_one(relation: Relation) -> bool:
    return relation.form == "product" and relation.factor == 1


def _itself(relation: Relation) -> bool:
    """Whether a metal stands alone, so that its molar mass is its relative atomic mass and nothing is taken away."""
    return relation.kind == "formula" and len(relation.names) == 2


def _points(steps: tuple[WorkedStep, ...], joined: frozenset[str], table: bool) -> tuple[MarkPoint, ...]:
    """One mark a step; a 1:1 step goes with the scaling after it or the step before it, a joined one with the next that uses it.

    Where the next does not, it goes with the step before, whose number it uses: so the last number of a point rests on the others.
    """
    groups: list[list[WorkedStep]] = [[]] if table else []
    waiting: list[WorkedStep] = []
    for index, step in enumerate(steps):
        following = steps[index + 1] if index + 1 < len(steps) else None
        if following is not None and _shares(step, joined) and _uses(following, step):
            waiting.append(step)
        elif _shares(step, joined) and groups and groups[-1] and _uses(step, (waiting or groups[-1])[-1]):
            groups[-1] += [*waiting, step]
            waiting = []
        elif step.earns:
            groups.append([*waiting, step])
            waiting = []
        elif following is not None and (_scales(following) or not groups or not groups[-1] or waiting):
            waiting.append(step)
        elif groups and groups[-1]:
            groups[-1] += [*waiting, step]
            waiting = []
        else:
            groups.append([*waiting, step])
            waiting = []
    return tuple(MarkPoint(number, tuple(group)) for number, group in enumerate(groups, 1))


def _shares(step: WorkedStep, joined: frozenset[str]) -> bool:
    """Whether a step earns its mark together with the next: by what it finds or, of what is called otherwise, by what it does."""
    how = step.relation.kind if step.relation is not None else ""
    return step.variable.kind in joined or (how in joined and how not in UNITS)


def _uses(step: WorkedStep, earlier: WorkedStep) -> bool:
    return step.relation is None or earlier.variable.name in step.relation.names


def _scales(step: WorkedStep) -> bool:
    return step.relation is not None and step.relation.kind == "scale"


def with_reading(worked: Worked, given: Mapping[Name, Fraction], name: Name, ends: tuple[Decimal, Decimal]) -> Worked:
    """The same, where a given quantity was read from a graph: its range takes in what both ends of the reading lead to."""
    factor = base_factor(worked.answer)
    values = (evaluate(worked.plan.expression, {**given, name: Fraction(end)}) * factor for end in ends)
    return replace(worked, accepted=worked.accepted.wider(values))


def on_a_knife_edge(exact: Fraction, answer: Quantity) -> bool:
    """Whether the exact answer lies so near a rounding boundary that the last figure is a matter of luck (2 % of a unit)."""
    position = exact * base_factor(answer) / Fraction(10) ** last_place(answer.number)
    rest = position - position.numerator // position.denominator
    return abs(rest - Fraction(1, 2)) < Fraction(2, 100)


def base_factor(answer: Quantity) -> Fraction:
    """How many of the answer's unit one base unit is."""
    return 1 / answer.unit.factor
