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

from molewright.bank.algebra import Tree, words_of
from molewright.bank.definitions import Slip
from molewright.derivation.chains import Step, chain_of
from molewright.derivation.derive import Plan
from molewright.derivation.evaluated import pairs_of
from molewright.experiment.quantities import Name
from molewright.experiment.relations.kinds import SLIP_ROLES
from molewright.experiment.relations.variables import Relation, System, Variable
from molewright.slips.placed_chain import Number, PlacedChain, Run
from molewright.slips.slip_words import Key, Surroundings, of_the_mean

ROUNDED_FIGURES = 2  # of a pupil who rounds too early


@dataclass(frozen=True, slots=True, kw_only=True)
class Find:
    """What a slip finds in one step (-1: for the mean titre), on floats and exactly, and what it needs for it."""

    index: int
    on_floats: Run
    exactly: Run
    needs_found: bool
    needs_factor: bool


Work = tuple[int, Run, "Run | None", bool, "int | None"]
"""A step whose value changes: the place of its target, how it is found, what the slip finds instead if it is made there, whether
that needs what is `found`, and the place of the source of its `factor`."""


@dataclass(frozen=True, slots=True)
class Applied:
    """A slip put into a plan: what its steps find instead, the steps to work after them, and the mark points it loses."""

    slip: Slip
    finds: tuple[Find, ...]
    after: tuple[int, ...]  # the steps whose value changes, in order, those of `finds` included
    lost: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """One slip, or two together, ready for numbers: what is found for the mean titre, and each step whose value changes, in order."""

    slips: tuple[Slip, ...]
    lost: frozenset[int]
    mean: Find | None
    on_floats: tuple[Work, ...]
    exactly: tuple[Work, ...]
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
        self._chain = PlacedChain(system, plan)
        self._titre = self._chain.place(surroundings.titre) if surroundings.titre is not None else None
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
            means = (self._find(-1, tree, str) for _, tree in slip.instead)
            return [Applied(slip, (mean,), after, lost) for mean in means]
        if slip.kind == "rounding":
            return [Applied(slip, (), (), frozenset({self.points[-1][0]}))]
        found: list[Applied] = []
        for index, step in enumerate(self.plan.steps):
            for finds, tree in slip.instead:
                if self._fits(slip, index, step, finds) and self._known(tree, index):
                    found.append(self._one(slip, index, tree))
        if slip.everywhere and len(found) > 1:
            changed = {self.plan.steps[one.finds[0].index].target for one in found}
            first = min(min(one.lost) for one in found)  # the same mistake again is not punished again
            return [Applied(slip, tuple(one.finds[0] for one in found), self._after(changed), frozenset({first}))]
        return found

    def _one(self, slip: Slip, index: int, tree: Tree) -> Applied:
        find = self._find(index, tree, self.spelling(index))
        after = self._after({self.plan.steps[index].target})
        return Applied(slip, (find,), after, self._lost(index, tree))

    def _find(self, index: int, tree: Tree, spelt: Callable[[str], Key]) -> Find:
        """What an expression finds in a step."""
        words = words_of(tree)
        on_floats, exactly = self._chain.run(tree, spelt)
        return Find(
            index=index,
            on_floats=on_floats,
            exactly=exactly,
            needs_found="found" in words,
            needs_factor="factor" in words,
        )

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

    def quick(
        self, given: Mapping[Name, Fraction], facts: Mapping[str, Number], before: list[float] | None = None
    ) -> tuple[float, list[float]]:
        """The right answer and the wrong one of every applied slip, worked on floats; nan where there is none.

        Where the same givens were worked `before` with other burette readings, only what is made of those is worked again.
        """
        right = self._right_on_floats(given, facts)
        if not before:
            return right[self._chain.asked], [self._on_floats(one, given, right) for one in self._singles]
        found = before.copy()
        for at, one in enumerate(self._singles):
            if one.mean is not None:
                found[at] = self._on_floats(one, given, right)
        return right[self._chain.asked], found

    def rounded_too_early(
        self, given: Mapping[Name, Fraction], facts: Mapping[str, Number]
    ) -> tuple[float, list[tuple[Slip, float]]]:
        """The right answer, and those of rounding too early that are seen or not whatever the burette readings are, on floats."""
        right = self._right_on_floats(given, facts)
        found = [(one.slips[0], self._on_floats(one, given, right)) for one in self._rounding]
        return right[self._chain.asked], found

    def _on_floats(self, one: _Made, given: Mapping[Name, Fraction], right: list[float]) -> float:
        try:
            return float(
                self._too_early(given) if one.rounds else self._worked_on(one, right, False)[self._chain.asked]
            )
        except (ZeroDivisionError, OverflowError):
            return float("nan")

    @cached_property
    def _rounding(self) -> list[_Made]:
        """The mistakes of rounding that no draw may hide: every line to two figures, or the mean titre."""
        every = [one for one in self._singles if one.rounds and one.slips[0].often == "high"]
        means = [one for one in self._singles if one.mean is not None and of_the_mean(one.slips[0])]
        return [*every, *(one for one in means if one.slips[0].often != "low")]

    def answers(self, right: Mapping[Key, Fraction], marks: int) -> list[SlipAnswer]:
        """Every slip's wrong answer, exactly, with the marks it keeps. A slip that changes nothing is left out."""
        return self._answers(self._singles, self._chain.listed(right), marks, lambda: self._too_early(right))

    def pairs(
        self, given: Mapping[Name, Fraction], facts: Mapping[str, Number], marks: int, most: int = 80
    ) -> list[SlipAnswer]:
        """Two slips at once, the commonest first, up to a limit; on floats, which tell them apart to a dozen figures."""
        right = self._right_on_floats(given, facts)
        at = len(self._made_couples)
        self._made_couples += [self._made(*couple) for couple in self._couples[at:most]]
        return self._answers(self._made_couples[:most], right, marks)

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
        finds = {find.index: find for applied in together for find in applied.finds}
        on_floats: list[Work] = []
        exactly: list[Work] = []
        for index in sorted({index for applied in together for index in applied.after}):
            step, find, source = self.plan.steps[index], finds.get(index), None
            if find is not None and find.needs_factor:
                name = self._source(step, self.system.relations[step.relation])
                assert name is not None
                source = self._chain.place(name)
            target, needs = self._chain.targets[index], find is not None and (find.needs_found or find.needs_factor)
            on_floats.append((target, self._chain.on_floats[index], find.on_floats if find else None, needs, source))
            exactly.append((target, self._chain.exactly[index], find.exactly if find else None, needs, source))
        return _Made(
            slips=tuple(applied.slip for applied in together),
            lost=frozenset().union(*(applied.lost for applied in together)),
            mean=finds.get(-1),
            on_floats=tuple(on_floats),
            exactly=tuple(exactly),
            rounds=any(applied.slip.kind == "rounding" for applied in together),
        )

    def _answers(
        self,
        several: Sequence[_Made],
        right: list[Number],
        marks: int,
        too_early: Callable[[], Fraction] | None = None,
    ) -> list[SlipAnswer]:
        """What several give, exactly where it is told what somebody finds who rounds too early: nobody does that on floats."""
        found = []
        asked = self._chain.asked
        key = right[asked]
        seen = abs(key) / 10**12
        exact = too_early is not None
        for made in several:
            try:
                wrong = too_early() if made.rounds and too_early else self._worked_on(made, right, exact)[asked]
            except (ZeroDivisionError, OverflowError):
                continue
            if abs(wrong - key) > seen:
                found.append(SlipAnswer(made.slips, Fraction(wrong), made.lost, max(0, marks - len(made.lost))))
        return found

    def _right_on_floats(self, given: Mapping[Name, Fraction], facts: Mapping[str, Number]) -> list[float]:
        known: dict[Key, float] = {name: float(value) for name, value in given.items()}
        known.update((word, float(value)) for word, value in facts.items())
        right = self._chain.listed(known)
        self._chain.worked(right, self._chain.on_floats)
        return right

    def course(self, applied: Applied, right: Mapping[Key, Fraction]) -> dict[Key, Fraction]:
        """Every quantity as it is found with one slip in the chain, exactly, from those that are `right`."""
        made = self._made(applied)
        values = self._worked_on(made, self._chain.listed(right), True)
        changed = [target for target, *_ in made.exactly]
        if made.mean is not None and self._titre is not None:
            changed.append(self._titre)
        return {**right, **self._chain.keyed(values, changed)}

    def right(self, given: Mapping[Name, Fraction], facts: Mapping[str, Fraction]) -> dict[Key, Fraction]:
        """Every quantity as it is, exactly; facts stand under their word."""
        right: dict[Key, Fraction] = {}
        right.update(chain_of(self.system, self.plan.steps).exactly(given).items())
        right.update(facts)
        return right

    def spelling(self, index: int) -> Callable[[str], Key]:
        """The quantity that a word of a slip's expression stands for in one step, or the word itself for a fact."""
        own, around = self._own_words(index), self._around(index)
        return lambda word: own.get(word) or around.get(word) or word

    def _worked_on(self, made: _Made, right: list[Number], exact: bool) -> list[Number]:
        """The values with these slips among them, every later step worked on from the wrong value."""
        values = right.copy()
        if made.mean is not None and self._titre is not None:
            values[self._titre] = (made.mean.exactly if exact else made.mean.on_floats)(values)
        for target, right_run, wrong_run, needs_found, source in made.exactly if exact else made.on_floats:
            if wrong_run is None:
                values[target] = right_run(values)
                continue
            if needs_found:
                found = values[self._chain.found] = right_run(values)
                if source is not None:
                    values[self._chain.factor] = found / values[source]
            values[target] = wrong_run(values)
        return values

    def _too_early(self, exact: Mapping[Key, Fraction] | Mapping[Name, Fraction]) -> Fraction:
        """The answer of somebody who rounds every step; of the values only those are taken that no step finds."""
        targets = {step.target for step in self.plan.steps}
        pairs = pairs_of({key: value for key, value in exact.items() if isinstance(key, Name) and key not in targets})
        chain_of(self.system, self.plan.steps).rounded(pairs, ROUNDED_FIGURES)
        return Fraction(*pairs[self.plan.asked])


def _can_meet(one: Applied, other: Applied) -> bool:
    """Whether two slips can be made in one answer: not in the same step, not the same slip twice."""
    return one.slip != other.slip and not {find.index for find in one.finds} & {find.index for find in other.finds}


def _inputs_of(system: System, step: Step) -> tuple[Name, ...]:
    if step.together is not None:
        return tuple(sorted(words_of(step.together)))
    return tuple(name for name in system.relations[step.relation].names if name != step.target)
