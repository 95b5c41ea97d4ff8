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
from functools import lru_cache
from itertools import product
from typing import cast

from molewright.answer.accepted import Accepted, AnswerType, accepted_by, answer_number
from molewright.bank.definitions import Ask
from molewright.chem.quantity import (
    TENS,
    Quantity,
    figures_to_show,
    half_up,
    in_standard_form,
    last_place,
    places_to_show,
    to_figures,
)
from molewright.chem.reaction import Reaction
from molewright.derivation.chains import Chain, chain_of
from molewright.derivation.derive import Plan
from molewright.derivation.evaluated import evaluate, pairs_of
from molewright.derivation.routes.search import Routes
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.relations.variables import Relation, System, Variable
from molewright.machine.same import Same

STEP_FIGURES = 4  # one more than an answer's three
LOGARITHM_PLACES = 2  # of a pH that is an answer, or read from a meter (common practice, no source)
KNIFE_EDGE_PERCENT = 2  # of a unit of the last figure, to either side of where it rounds up
ROUNDINGS = (4, 3)  # figures that a pupil may round every step to and keep full marks (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedStep:
    """One step as printed: the quantity found, by which relation, its exact value and its printed one.

    `also` is what it comes to without an approximation that the chain makes; None where it makes none there.
    """

    variable: Variable
    relation: Relation | None  # None where several relations yield it together
    exact: Fraction
    shown: Quantity
    idle: bool  # a 1:1 step: the same number carried over
    earns: bool  # whether the step is worth a mark of its own
    also: Fraction | None = None


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

    def with_also(self, also: Mapping[Name, Fraction]) -> Worked:
        """The same, where these steps have another right value."""
        steps = {step.variable.name: replace(step, also=also.get(step.variable.name)) for step in self.steps}
        points = tuple(
            replace(point, steps=tuple(steps[step.variable.name] for step in point.steps)) for point in self.points
        )
        return replace(self, steps=tuple(steps.values()), points=points)

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
    ready = _ready(Same(system), Same(the_plan), joined, table)
    values = ready.chain.exactly(given)
    exact = values[the_plan.asked]
    asked = system.variables[the_plan.asked]
    figures = max(STEP_FIGURES, ask.figures + 1)
    if not asked.whole and not asked.logarithmic:  # of every step: else the last line would not be true
        figures = figures_to_show(exact, figures, ask.figures)
    if asked.logarithmic:
        figures = places_to_show(exact, figures - 1, LOGARITHM_PLACES) + 1
    unit = ask.unit or asked.unit
    factor = 1 / unit.factor
    told = exact * factor if unit.power else exact
    number = answer_number(type_of(asked), told, ask.figures, LOGARITHM_PLACES)
    answer = Quantity(number, unit, in_standard_form(told, unit))
    found: list[tuple[int, int]] = []
    start = pairs_of(given)
    for rounding in ROUNDINGS:
        pairs = dict(start)
        ready.chain.rounded(pairs, rounding)
        found.append(pairs[the_plan.asked])
        if routes is not None:
            found += routes.answers(pairs, the_plan.asked, rounding)
    if unit.power:
        found = [(up * factor.numerator, down * factor.denominator) for up, down in found]
    steps = tuple(line.with_number(values[line.variable.name], figures) for line in ready.lines)
    return Worked(
        plan=the_plan,
        steps=steps,
        points=tuple(
            MarkPoint(number, tuple(steps[at] for at in group)) for number, group in enumerate(ready.groups, 1)
        ),
        exact=exact,
        answer=answer,
        accepted=accepted_by(type_of(asked), told, found, answer),
    )


def type_of(asked: Variable) -> AnswerType:
    """The type of the answer where this quantity is asked for."""
    if asked.logarithmic:
        return "logarithm"
    return "whole number" if asked.whole else "ratio" if asked.simple else "number"


@dataclass(frozen=True, slots=True)
class _Line:
    """What a step is whatever its numbers are."""

    variable: Variable
    relation: Relation | None
    idle: bool
    earns: bool

    def with_number(self, exact: Fraction, figures: int) -> WorkedStep:
        """The step as it is printed, with so many figures."""
        return WorkedStep(
            variable=self.variable,
            relation=self.relation,
            exact=exact,
            shown=shown_value(self.variable, exact, figures),
            idle=self.idle,
            earns=self.earns,
        )


@dataclass(frozen=True, slots=True)
class _Ready:
    """What questions of one plan share: the chain, its lines, and the lines that each mark point is for, by their places."""

    chain: Chain
    lines: tuple[_Line, ...]
    groups: tuple[tuple[int, ...], ...]


@lru_cache(maxsize=1024)
def _ready(system: Same, the_plan: Same, joined: frozenset[str], table: bool) -> _Ready:
    found, plan = cast(System, system.held), cast(Plan, the_plan.held)
    lines = _lines(found, plan)
    return _Ready(chain_of(found, plan.steps), lines, _groups(lines, joined, table))


def _lines(system: System, the_plan: Plan) -> tuple[_Line, ...]:
    chain = [
        (step.target, system.relations[step.relation] if step.together is None else None) for step in the_plan.steps
    ]
    direct = not any(relation is not None and relation.kind == "balance" for _, relation in chain)
    found: list[_Line] = []
    used: set[Reaction] = set()
    for target, relation in chain:
        again = relation is not None and relation.reaction in used
        found.append(_line(system.variables[target], relation, direct and not again))
        if relation is not None and relation.reaction is not None:
            used.add(relation.reaction)
    return tuple(found)


def mark_points(
    system: System, the_plan: Plan, joined: frozenset[str], table: bool
) -> list[tuple[int, tuple[Name, ...]]]:
    """The mark points of a plan without its numbers: their numbers and the quantities that each finds."""
    lines = _lines(system, the_plan)
    return [
        (number, tuple(lines[at].variable.name for at in group))
        for number, group in enumerate(_groups(lines, joined, table), 1)
    ]


def _line(variable: Variable, relation: Relation | None, direct: bool) -> _Line:
    idle = relation is not None and (
        (relation.kind in ("ratio", "contains", "ions") and _one_to_one(relation)) or _itself(relation)
    )
    earns = not idle or (
        direct and relation is not None and relation.kind == "ratio"
    )  # M2 of a direct titration: the ratio; a second 1:1 step by the same equation earns nothing more
    return _Line(variable, relation, idle, earns)


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


def _groups(lines: tuple[_Line, ...], joined: frozenset[str], table: bool) -> tuple[tuple[int, ...], ...]:
    """One mark a step; a 1:1 step goes with the scaling after it or the step before it, a joined one with the next that uses it.

    Where the next does not, it goes with the step before, whose number it uses: so the last number of a point rests on the others.
    """
    groups: list[list[int]] = [[]] if table else []
    waiting: list[int] = []
    for at, line in enumerate(lines):
        following = lines[at + 1] if at + 1 < len(lines) else None
        if following is not None and _shares(line, joined) and _uses(following, line):
            waiting.append(at)
        elif _shares(line, joined) and groups and groups[-1] and _uses(line, lines[(waiting or groups[-1])[-1]]):
            groups[-1] += [*waiting, at]
            waiting = []
        elif line.earns:
            groups.append([*waiting, at])
            waiting = []
        elif following is not None and (_scales(following) or not groups or not groups[-1] or waiting):
            waiting.append(at)
        elif groups and groups[-1]:
            groups[-1] += [*waiting, at]
            waiting = []
        else:
            groups.append([*waiting, at])
            waiting = []
    return tuple(map(tuple, groups))


def _shares(step: _Line, joined: frozenset[str]) -> bool:
    """Whether a step earns its mark together with the next: by what it finds or, of what is called otherwise, by what it does."""
    how = step.relation.kind if step.relation is not None else ""
    return step.variable.kind in joined or (how in joined and how not in UNITS)


def _uses(line: _Line, earlier: _Line) -> bool:
    return line.relation is None or earlier.variable.name in line.relation.names


def _scales(step: _Line) -> bool:
    return step.relation is not None and step.relation.kind == "scale"


def with_readings(
    worked: Worked, given: Mapping[Name, Fraction], read: Mapping[Name, tuple[Decimal, Decimal]]
) -> Worked:
    """The same, where given quantities were read from a graph: its range takes in what all ends of the readings lead to."""
    factor = base_factor(worked.answer)
    corners = (dict(zip(read, map(Fraction, ends), strict=True)) for ends in product(*read.values()))
    values = (evaluate(worked.plan.expression, {**given, **one}) * factor for one in corners)
    return replace(worked, accepted=worked.accepted.wider(values))


def on_a_knife_edge(exact: Fraction, answer: Quantity) -> bool:
    """Whether the exact answer lies so near a rounding boundary that the last figure is a matter of luck (2 % of a unit)."""
    place = last_place(answer.number) + answer.unit.power
    up, down = exact.numerator * TENS[max(0, -place)], exact.denominator * TENS[max(0, place)]
    return abs(100 * (up % down) - 50 * down) < KNIFE_EDGE_PERCENT * down


def base_factor(answer: Quantity) -> Fraction:
    """How many of the answer's unit one base unit is."""
    return 1 / answer.unit.factor
