"""A plan and one mistake in it come in; the answer that the mistake gives and the marks it keeps go out.

A slip is stated once in banks/slips.yaml for a kind of relation: what is found there instead. It is put into the one step it
belongs to, every later step is worked on from the wrong value (error carried forward), and a mark is lost where the mistake is
made and wherever a step is no longer needed. Numbers are floats in the filter of candidates and fractions in what is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from molewright.bank.algebra import Tree, compiled, renamed, words_of
from molewright.bank.definitions import Slip
from molewright.derivation.derive import Plan, Step, run_rounded, solved_tree
from molewright.derivation.evaluated import pairs_of
from molewright.experiment.quantities import Name
from molewright.experiment.relations.kinds import SLIP_ROLES
from molewright.experiment.relations.variables import Relation, System, Variable
from molewright.slips.slip_words import Key, Surroundings

Number = Any  # float in the filter of candidates, Fraction in what is printed

ROUNDED_FIGURES = 2  # of a pupil who rounds too early


Run = Callable[[Mapping[Key, Number]], Number]
Find = tuple[int, Run, bool, bool]  # step, expression, whether it needs `found`, whether it needs `factor`


@dataclass(frozen=True, slots=True)
class Applied:
    """A slip put into a plan: what its steps find instead, the steps to work after them, and the mark points it loses."""

    slip: Slip
    finds: tuple[Find, ...]
    after: tuple[int, ...]  # the steps whose value changes, in order, those of `finds` included
    lost: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """One slip, or two together, ready for numbers: what is found for the mean titre, and each step whose value changes, in order.

    Of a step: its target, its place in the plan, what the slip finds there if it is made there, and the source of its factor.
    """

    slips: tuple[Slip, ...]
    lost: frozenset[int]
    mean: Run | None
    works: tuple[tuple[Name, int, Find | None, Name | None], ...]
    rounds: bool


@dataclass(frozen=True, slots=True)
class SlipAnswer:
    """What one slip, or two together, gives: the exact wrong answer in base units and the marks that are kept."""

    slips: tuple[Slip, ...]
    exact: Fraction
    lost: frozenset[int]  # numbers of the mark points that are not earned
    marks: int


class SlipTable:
    """The slips that can be made in one plan, ready to be worked for any numbers."""

    def __init__(self, slips: Iterable[Slip], system: System, plan: Plan, surroundings: Surroundings,
                 points: Sequence[tuple[int, tuple[Name, ...]]]) -> None:  # fmt: skip
        self.system = system
        self.plan = plan
        self.surroundings = surroundings
        self.points = points
        self._inputs = [_inputs_of(system, step) for step in plan.steps]
        self._float_runs = [_float_run(system, step) for step in plan.steps]
        self._exact_runs = [_exact_run(system, step) for step in plan.steps]
        self._made_couples: list[_Made] = []  # the first of them, as far as they were asked for
        self.applied = tuple(applied for slip in slips for applied in self._apply(slip))

    # ------------------------------------------------------------ making

    def _apply(self, slip: Slip) -> list[Applied]:
        if slip.kind == "mean":
            titre = self.surroundings.titre
            if not self.surroundings.table or titre is None:
                return []
            lost = frozenset(number for number, steps in self.points if not steps)
            after = self._after({titre})
            return [Applied(slip, ((-1, compiled(tree), False, False),), after, lost) for _, tree in slip.instead]
        if slip.kind == "rounding":
            return [Applied(slip, (), (), frozenset({self.points[-1][0]}))]
        found: list[Applied] = []
        for index, step in enumerate(self.plan.steps):
            for finds, tree in slip.instead:
                if self._fits(slip, index, step, finds) and self._known(tree, index):
                    found.append(self._one(slip, index, tree))
        if slip.everywhere and len(found) > 1:
            changed = {self.plan.steps[one.finds[0][0]].target for one in found}
            first = min(min(one.lost) for one in found)  # the same mistake again is not punished again
            return [Applied(slip, tuple(one.finds[0] for one in found), self._after(changed), frozenset({first}))]
        return found

    def _one(self, slip: Slip, index: int, tree: Tree) -> Applied:
        words = words_of(tree)
        run = compiled(renamed(tree, self.spelling(index)))
        after = self._after({self.plan.steps[index].target})
        return Applied(slip, ((index, run, "found" in words, "factor" in words),), after, self._lost(index, tree))

    def _fits(self, slip: Slip, index: int, step: Step, finds: str) -> bool:
        relation = self.system.relations[step.relation]
        if step.together is not None or slip.kind not in (relation.kind, "answer"):
            return False
        variable = self.system.variables[step.target]
        if slip.kind == "answer":
            any_kind = not slip.of and not variable.logarithmic  # nobody multiplies a pH by ten
            return index == len(self.plan.steps) - 1 and (any_kind or variable.kind in slip.of)
        if slip.of:
            about = self.surroundings.about(step.relation) if relation.kind == "ratio" else self._stage(variable)
            if not about & set(slip.of):
                return False
        if slip.place and self.surroundings.place(step.relation) not in slip.place:
            return False
        return finds in ("", self._role(relation, step.target))

    def _stage(self, variable: Variable) -> set[str]:
        """The station of a quantity, its kind, and how it was found: after an equilibrium, beside a known solute, by two end points."""
        found = {variable.stage, variable.kind}
        if self.surroundings.procedure.settling:
            found.add("after an equilibrium")
        if self.surroundings.beside_a_known_one():
            found.add("beside a known one")
        if self.surroundings.of_two_end_points():
            found.add("two end points")
        return found

    def _role(self, relation: Relation, target: Name) -> str:
        roles = SLIP_ROLES.get(relation.kind, ())
        at = relation.names.index(target)
        return roles[at] if at < len(roles) else ""

    def _known(self, tree: Tree, index: int) -> bool:
        words = self._own_words(index)
        own = {*words, "found", *(("factor",) if "source" in words else ())}  # a factor is found over its source
        known = self._around(index)
        return all(word in own or word in known for word in words_of(tree))

    def _around(self, index: int) -> Mapping[str, Name | None]:
        """The words of what surrounds a step: those of its own titration, where there are several."""
        return self.surroundings.portion(self.plan.steps[index].relation)

    def _own_words(self, index: int) -> dict[str, Name]:
        """Words that stand for a quantity of the step's own relation; `source` is the other end of a ratio or a scaling."""
        step = self.plan.steps[index]
        relation = self.system.relations[step.relation]
        roles = zip(SLIP_ROLES.get(relation.kind, ()), relation.names, strict=False)
        own = {role: name for role, name in roles if name != step.target}
        source = self._source(step, relation)
        return own if source is None else {**own, "source": source}

    def _source(self, step: Step, relation: Relation) -> Name | None:
        ends = relation.names if relation.kind in ("ratio", "contains") else relation.names[:2]
        if relation.kind not in ("ratio", "contains", "scale") or step.target not in ends:
            return None
        return next(name for name in ends if name != step.target)

    def _after(self, changed: set[Name]) -> tuple[int, ...]:
        """The steps whose value changes with these quantities, in order."""
        moved = set(changed)
        found = []
        for index, step in enumerate(self.plan.steps):
            if step.target in moved or moved & set(self._inputs[index]):
                moved.add(step.target)
                found.append(index)
        return tuple(found)

    def _lost(self, index: int, tree: Tree) -> frozenset[int]:
        """The mark point of the step, and those of steps that the wrong route does without."""
        step = self.plan.steps[index]
        spelt = self.spelling(index)
        words = words_of(tree)
        spelt_out = {spelt(word) for word in words - {"found", "factor"}}
        uses = {key for key in spelt_out if isinstance(key, Name)}
        if words & {"found", "factor"}:
            uses |= set(self._inputs[index])
        needed: set[Name] = {self.plan.asked}
        for at in range(len(self.plan.steps) - 1, -1, -1):
            if self.plan.steps[at].target in needed:
                needed |= uses if at == index else set(self._inputs[at])
        lost = {number for number, steps in self.points if steps and not any(name in needed for name in steps)}
        lost |= {number for number, steps in self.points if step.target in steps}
        return frozenset(lost)

    # ------------------------------------------------------------ working

    def quick(self, given: Mapping[Name, Fraction], facts: Mapping[str, Fraction]) -> tuple[float, list[float]]:
        """The right answer and the wrong one of every applied slip, worked on floats; nan where there is none."""
        right = self._right_on_floats(given, facts)
        found = []
        for one in self._singles:
            try:
                found.append(float(self._too_early(given) if one.rounds else self._wrong(one, right, self._float_runs)))
            except (ZeroDivisionError, OverflowError):
                found.append(float("nan"))
        return right[self.plan.asked], found

    def answers(self, right: Mapping[Key, Fraction], marks: int) -> list[SlipAnswer]:
        """Every slip's wrong answer, exactly, with the marks it keeps. A slip that changes nothing is left out."""
        return self._answers(self._singles, right, self._exact_runs, marks)

    def pairs(
        self, given: Mapping[Name, Fraction], facts: Mapping[str, Fraction], marks: int, most: int = 80
    ) -> list[SlipAnswer]:
        """Two slips at once, the commonest first, up to a limit; on floats, which tell them apart to a dozen figures."""
        right = self._right_on_floats(given, facts)
        at = len(self._made_couples)
        self._made_couples += [self._made(*couple) for couple in self._couples[at:most]]
        return self._answers(self._made_couples[:most], right, self._float_runs, marks)

    @cached_property
    def _singles(self) -> list[_Made]:
        return [self._made(applied) for applied in self.applied]

    @cached_property
    def _couples(self) -> list[tuple[Applied, Applied]]:
        """The slips that can be made together, the commonest first."""
        single = [one for one in self.applied if one.slip.often != "low" and one.slip.kind != "rounding"]
        couples = [(one, other) for at, one in enumerate(single) for other in single[at + 1 :] if _can_meet(one, other)]
        return sorted(couples, key=lambda pair: (pair[0].slip.often != "high") + (pair[1].slip.often != "high"))

    def _made(self, *together: Applied) -> _Made:
        """Slips that are made at once, with all that can be told of them before there are numbers."""
        finds = {find[0]: find for applied in together for find in applied.finds}
        works = []
        for index in sorted({index for applied in together for index in applied.after}):
            step = self.plan.steps[index]
            source = None
            if index in finds and finds[index][3]:
                source = self._source(step, self.system.relations[step.relation])
                assert source is not None
            works.append((step.target, index, finds.get(index), source))
        return _Made(
            slips=tuple(applied.slip for applied in together),
            lost=frozenset().union(*(applied.lost for applied in together)),
            mean=finds[-1][1] if -1 in finds else None,
            works=tuple(works),
            rounds=any(applied.slip.kind == "rounding" for applied in together),
        )

    def _answers(
        self, several: Sequence[_Made], right: Mapping[Key, Number], runs: Sequence[Run], marks: int
    ) -> list[SlipAnswer]:
        found = []
        key = right[self.plan.asked]
        seen = abs(key) / 10**12
        for made in several:
            try:
                wrong = self._too_early(right) if made.rounds else self._wrong(made, right, runs)
            except (ZeroDivisionError, OverflowError):
                continue
            if abs(wrong - key) > seen:
                found.append(SlipAnswer(made.slips, Fraction(wrong), made.lost, max(0, marks - len(made.lost))))
        return found

    def _right(
        self, given: Mapping[Name, Number], facts: Mapping[str, Number], runs: Sequence[Run]
    ) -> dict[Key, Number]:
        right: dict[Key, Number] = dict(given.items())
        for step, run in zip(self.plan.steps, runs, strict=True):
            right[step.target] = run(right)
        for word, value in facts.items():
            right[word] = value
        return right

    def _right_on_floats(self, given: Mapping[Name, Fraction], facts: Mapping[str, Fraction]) -> dict[Key, float]:
        floats = {name: float(value) for name, value in given.items()}
        return self._right(floats, {word: float(value) for word, value in facts.items()}, self._float_runs)

    def course(self, applied: Applied, right: Mapping[Key, Fraction]) -> dict[Key, Fraction]:
        """Every quantity as it is found with one slip in the chain, exactly, from those that are `right`."""
        return self._worked_on(self._made(applied), right, self._exact_runs)

    def right(self, given: Mapping[Name, Fraction], facts: Mapping[str, Fraction]) -> dict[Key, Fraction]:
        """Every quantity as it is, exactly; facts stand under their word."""
        return self._right(given, facts, self._exact_runs)

    def spelling(self, index: int) -> Callable[[str], Key]:
        """The quantity that a word of a slip's expression stands for in one step, or the word itself for a fact."""
        own, around = self._own_words(index), self._around(index)
        return lambda word: own.get(word) or around.get(word) or word

    def _wrong(self, made: _Made, right: Mapping[Key, Number], runs: Sequence[Run]) -> Number:
        """The answer with these slips in it, every later step worked on from the wrong value."""
        return self._worked_on(made, right, runs)[self.plan.asked]

    def _worked_on(self, made: _Made, right: Mapping[Key, Number], runs: Sequence[Run]) -> dict[Key, Number]:
        values = dict(right)
        if made.mean is not None and self.surroundings.titre is not None:
            values[self.surroundings.titre] = made.mean(values)
        for target, index, find, source in made.works:
            if find is None:
                values[target] = runs[index](values)
                continue
            _, run, needs_found, _ = find
            if needs_found or source is not None:
                values["found"] = runs[index](values)
            if source is not None:
                values["factor"] = values["found"] / values[source]
            values[target] = run(values)
        return values

    def _too_early(self, exact: Mapping[Key, Fraction] | Mapping[Name, Fraction]) -> Fraction:
        """The answer of somebody who rounds every step; of the values only those are taken that no step finds."""
        targets = {step.target for step in self.plan.steps}
        pairs = pairs_of({key: value for key, value in exact.items() if isinstance(key, Name) and key not in targets})
        run_rounded(self.system, self.plan.steps, pairs, ROUNDED_FIGURES)
        return Fraction(*pairs[self.plan.asked])


def _can_meet(one: Applied, other: Applied) -> bool:
    """Whether two slips can be made in one answer: not in the same step, not the same slip twice."""
    return one.slip != other.slip and not {find[0] for find in one.finds} & {find[0] for find in other.finds}


def _inputs_of(system: System, step: Step) -> tuple[Name, ...]:
    if step.together is not None:
        return tuple(sorted(words_of(step.together)))
    return tuple(name for name in system.relations[step.relation].names if name != step.target)


def _exact_run(system: System, step: Step) -> Run:
    if step.together is not None:
        return compiled(step.together)
    relation = system.relations[step.relation]
    return lambda values: relation.solved(step.target, values)


def _float_run(system: System, step: Step) -> Run:
    """One step on floats, its relation solved for its target beforehand."""
    if step.together is not None:
        return compiled(step.together)
    relation = system.relations[step.relation]
    if not relation.plain:
        return compiled(solved_tree(relation, step.target))
    exact, others = relation.alone(step.target)
    if relation.form == "product":
        factor = float(exact)
        above = [name for name, power in others if power == 1]
        below = [name for name, power in others if power == -1]

        def multiply(values: Mapping[Key, float]) -> float:
            found = factor
            for name in above:
                found *= values[name]
            for name in below:
                found /= values[name]
            return found

        return multiply
    terms = [(name, float(share)) for name, share in others]

    def add(values: Mapping[Key, float]) -> float:
        return sum(share * values[name] for name, share in terms)

    return add
