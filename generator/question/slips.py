"""A plan and one mistake in it come in; the answer that the mistake gives and the marks it keeps go out.

A slip is stated once in banks/slips.yaml for a kind of relation: what is found there instead. It is put into the one step it
belongs to, every later step is worked on from the wrong value (error carried forward), and a mark is lost where the mistake is
made and wherever a step is no longer needed. Numbers are floats in the filter of candidates and fractions in what is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.bank.definitions import Slip
from generator.question.algebra import compiled, words_of
from generator.question.derive import Plan, Step, pairs_of, run_rounded
from generator.question.relations import ROLES, Relation, System
from generator.question.surroundings import Surroundings

Number = Any  # float in the filter of candidates, Fraction in what is printed

ROUNDED_FIGURES = 2  # of a pupil who rounds too early


@dataclass(frozen=True, slots=True)
class Applied:
    """A slip put into a plan: the step it changes, what that step finds, and the mark points it loses."""

    slip: Slip
    steps: tuple[int, ...]  # indices into the plan; () for the mean titre and for rounding
    finds: tuple[Callable[[Mapping[str, float]], float], ...]
    words: tuple[tuple[tuple[str, str], ...], ...]  # for each step, the words that stand for a quantity by its name
    lost: frozenset[int]
    variant: int = 0


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
                 points: Sequence[tuple[int, tuple[str, ...]]]) -> None:  # fmt: skip
        self.system = system
        self.plan = plan
        self.surroundings = surroundings
        self.points = points
        self._inputs = [self._inputs_of(step) for step in plan.steps]
        self._float_steps = [_float_step(system.relations[step.relation], step) for step in plan.steps]
        self.applied = tuple(applied for slip in slips for applied in self._apply(slip))

    # ------------------------------------------------------------ making

    def _inputs_of(self, step: Step) -> tuple[str, ...]:
        return tuple(name for name in self.system.relations[step.relation].names if name != step.target)

    def _apply(self, slip: Slip) -> list[Applied]:
        if slip.kind == "mean":
            if not self.surroundings.table:
                return []
            lost = frozenset(number for number, steps in self.points if not steps)
            return [Applied(slip, (), (compiled(tree),), ((),), lost, at) for at, (_, tree) in enumerate(slip.instead)]
        if slip.kind == "rounding":
            return [Applied(slip, (), (), (), frozenset({self.points[-1][0]}))]
        found: list[Applied] = []
        for index, step in enumerate(self.plan.steps):
            for at, (finds, tree) in enumerate(slip.instead):
                if self._fits(slip, index, step, finds) and self._known(tree, step):
                    found.append(
                        Applied(
                            slip, (index,), (compiled(tree),), (self._words(tree, step),), self._lost(index, tree), at
                        )
                    )
        if slip.everywhere and len(found) > 1:
            return [
                Applied(slip, tuple(one.steps[0] for one in found), tuple(one.finds[0] for one in found),
                        tuple(one.words[0] for one in found), frozenset({min(min(one.lost) for one in found)}))
            ]  # fmt: skip
        return [] if slip.everywhere and not found else found

    def _fits(self, slip: Slip, index: int, step: Step, finds: str) -> bool:
        relation = self.system.relations[step.relation]
        variable = self.system.variables[step.target]
        if step.together is not None:
            return False
        if slip.kind == "answer":
            return index == len(self.plan.steps) - 1 and (not slip.of or variable.kind in slip.of)
        if relation.kind != slip.kind or (slip.of and variable.stage not in slip.of):
            return False
        if slip.place and self.surroundings.place(step.relation) not in slip.place:
            return False
        return finds in ("", self._role(relation, step.target))

    def _role(self, relation: Relation, target: str) -> str:
        return ROLES[relation.kind][relation.names.index(target)] if relation.kind in ROLES else ""

    def _known(self, tree: object, step: Step) -> bool:
        own = self._own_words(step)
        return all(word in own or word in self.surroundings.words for word in words_of(tree))  # type: ignore[arg-type]

    def _own_words(self, step: Step) -> dict[str, str]:
        """Words that stand for a quantity of the step's own relation; `source` is the other end of a ratio or a scaling."""
        relation = self.system.relations[step.relation]
        own = {
            role: name
            for role, name in zip(ROLES.get(relation.kind, ()), relation.names, strict=False)
            if name != step.target
        }
        if relation.kind in ("ratio", "contains"):
            own["source"] = next(name for name in relation.names if name != step.target)
        elif relation.kind == "scale" and step.target in relation.names[:2]:
            own["source"] = next(name for name in relation.names[:2] if name != step.target)
        own["found"] = ""
        own["factor"] = ""
        return own

    def _words(self, tree: object, step: Step) -> tuple[tuple[str, str], ...]:
        own = self._own_words(step)
        return tuple(sorted((word, own.get(word, self.surroundings.words.get(word, ""))) for word in words_of(tree)))  # type: ignore[arg-type]

    def _lost(self, index: int, tree: object) -> frozenset[int]:
        """The mark point of the step, and those of steps that the wrong route does without."""
        step = self.plan.steps[index]
        own = dict(self._words(tree, step))
        uses = {own[word] for word in own if word not in ("found", "factor")}
        if "found" in own or "factor" in own:
            uses |= set(self._inputs[index])
        needed: set[str] = {self.plan.asked}
        for at in range(len(self.plan.steps) - 1, -1, -1):
            target = self.plan.steps[at].target
            if target in needed:
                needed |= uses if at == index else set(self._inputs[at])
        lost = {number for number, steps in self.points if steps and not any(name in needed for name in steps)}
        lost |= {number for number, steps in self.points if step.target in steps}
        return frozenset(lost)

    # ------------------------------------------------------------ working

    def key(self, values: Mapping[str, float]) -> dict[str, float]:
        """Every step's right value, as floats."""
        worked = dict(values)
        for step, run in zip(self.plan.steps, self._float_steps, strict=True):
            worked[step.target] = run(worked)
        return worked

    def quick(self, given: Mapping[str, float], facts: Mapping[str, float]) -> tuple[float, list[float]]:
        """The right answer and the wrong one of every applied slip, as floats; nan where there is none."""
        right = self.key(given)
        found = []
        for applied in self.applied:
            try:
                found.append(float(self._together((applied,), right, facts, self._float_steps)))
            except (ZeroDivisionError, OverflowError):
                found.append(float("nan"))
        return right[self.plan.asked], found

    def _together(self, several: Sequence[Applied], right: Mapping[str, Number], facts: Mapping[str, Number],
                  runs: Sequence[Callable[[Mapping[str, Number]], Number]]) -> Number:  # fmt: skip
        values = dict(right)
        instead: dict[int, tuple[Callable[..., Number], tuple[tuple[str, str], ...]]] = {}
        first = len(runs)
        for applied in several:
            if applied.slip.kind == "rounding":
                return self._too_early(right)
            if applied.slip.kind == "mean":
                values[self.surroundings.titre] = applied.finds[0](facts)
                first = 0
            for index, finds, words in zip(applied.steps, applied.finds, applied.words, strict=False):
                instead[index] = (finds, words)
                first = min(first, index)
        for index in range(first, len(runs)):
            target = self.plan.steps[index].target
            if index in instead:
                finds, words = instead[index]
                mine = {word: self._word(word, name, index, values, facts, runs) for word, name in words}
                values[target] = finds(mine)
            else:
                values[target] = runs[index](values)
        return values[self.plan.asked]

    def _word(self, word: str, name: str, index: int, values: Mapping[str, Number], facts: Mapping[str, Number],
              runs: Sequence[Callable[[Mapping[str, Number]], Number]]) -> Number:  # fmt: skip
        if word == "found":
            return runs[index](values)
        if word == "factor":
            source = dict(self._own_words(self.plan.steps[index]))["source"]
            return runs[index](values) / values[source]
        return values[name] if name else facts[word]

    def _too_early(self, right: Mapping[str, Number]) -> Number:
        targets = {step.target for step in self.plan.steps}
        pairs = pairs_of({name: Fraction(value) for name, value in right.items() if name not in targets})
        run_rounded(self.system, self.plan.steps, pairs, ROUNDED_FIGURES)
        up, down = pairs[self.plan.asked]
        return type(next(iter(right.values())))(Fraction(up, down))

    def answers(self, given: Mapping[str, Fraction], facts: Mapping[str, Fraction], marks: int) -> list[SlipAnswer]:
        """Every slip's wrong answer, exactly, with the marks it keeps. A slip that changes nothing is left out."""
        runs = self._exact_runs()
        right = self._right(given, runs)
        key = right[self.plan.asked]
        found = []
        for applied in self.applied:
            exact = _finite(lambda one=applied: self._together((one,), right, facts, runs))  # type: ignore[misc]
            if exact is not None and exact != key:
                found.append(SlipAnswer((applied.slip,), exact, applied.lost, marks - len(applied.lost)))
        return found

    def pairs(
        self, given: Mapping[str, Fraction], facts: Mapping[str, Fraction], marks: int, most: int = 80
    ) -> list[SlipAnswer]:
        """Two slips at once, the commonest first, up to a limit."""
        runs = self._exact_runs()
        right = self._right(given, runs)
        key = right[self.plan.asked]
        single = [one for one in self.applied if one.slip.often != "low" and one.slip.kind != "rounding"]
        order = sorted(
            ((one, other) for at, one in enumerate(single) for other in single[at + 1 :]
             if not set(one.steps) & set(other.steps) and one.slip != other.slip
             and (one.slip.kind == "mean") + (other.slip.kind == "mean") < 2),
            key=lambda pair: (pair[0].slip.often != "high") + (pair[1].slip.often != "high"),
        )  # fmt: skip
        found = []
        for one, other in order[:most]:
            exact = _finite(lambda both=(one, other): self._together(both, right, facts, runs))  # type: ignore[misc]
            if exact is not None and exact != key:
                lost = one.lost | other.lost
                found.append(SlipAnswer((one.slip, other.slip), exact, lost, max(0, marks - len(lost))))
        return found

    def _exact_runs(self) -> list[Callable[[Mapping[str, Fraction]], Fraction]]:
        return [
            lambda values, step=step: self.system.relations[step.relation].solved(step.target, values)  # type: ignore[misc]
            for step in self.plan.steps
        ]

    def _right(
        self, given: Mapping[str, Fraction], runs: Sequence[Callable[[Mapping[str, Fraction]], Fraction]]
    ) -> dict[str, Fraction]:
        right = dict(given)
        for step, run in zip(self.plan.steps, runs, strict=True):
            right[step.target] = run(right)
        return right


def _finite(work: Callable[[], Fraction]) -> Fraction | None:
    try:
        found = work()
    except (ZeroDivisionError, OverflowError, ValueError):
        return None
    return found if isinstance(found, Fraction) else Fraction(found)


def _float_step(relation: Relation, step: Step) -> Callable[[Mapping[str, float]], float]:
    """One step on floats, its relation solved for its target beforehand."""
    if relation.form == "product":
        flip = next(power for name, power in relation.quantities if name == step.target) == 1
        factor = float(1 / relation.factor if flip else relation.factor)
        above = [name for name, power in relation.quantities if name != step.target and (power == 1) != flip]
        below = [name for name, power in relation.quantities if name != step.target and (power == 1) == flip]

        def multiply(values: Mapping[str, float]) -> float:
            found = factor
            for name in above:
                found *= values[name]
            for name in below:
                found /= values[name] or float("nan")
            return found

        return multiply
    own = next(share for name, share in relation.quantities if name == step.target)
    terms = [(name, float(-share / own)) for name, share in relation.quantities if name != step.target]

    def add(values: Mapping[str, float]) -> float:
        return sum(share * values[name] for name, share in terms)

    return add
