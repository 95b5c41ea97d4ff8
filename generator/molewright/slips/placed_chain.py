"""A plan comes in; its steps go out as functions of values in a list, on floats and exactly, every quantity and fact at its place.

A mistake is put into a chain again and again, and all that follows is worked anew each time: a list is copied and looked up in a
fraction of the time that a dictionary takes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from molewright.bank.algebra import Tree, compiled, renamed
from molewright.derivation.chains import Step
from molewright.derivation.derive import Plan, solved_tree
from molewright.experiment.relations.variables import BareRelation, Relation, System
from molewright.slips.slip_words import Key

Number = Any  # float in the filter of candidates, Fraction in what is printed
Run = Callable[[Any], Number]  # of the list of values

_FOUND, _FACTOR = (
    "found",
    "factor",
)  # what a slip may say of its own step: the value that is right there, and by how much it grew


class PlacedChain:
    """The places of a plan's quantities, and its steps as functions of the values there."""

    def __init__(self, system: System, plan: Plan) -> None:
        self._places: dict[Key, int] = {}
        self.found, self.factor = self.place(_FOUND), self.place(_FACTOR)
        self.targets = [self.place(step.target) for step in plan.steps]
        self.on_floats = [self._float_run(system, step) for step in plan.steps]
        self.exactly = [self._exact_run(system, step) for step in plan.steps]
        self.asked = self.place(plan.asked)

    def place(self, key: Key) -> int:
        """The place of a quantity or a fact, a new one where it has none."""
        return self._places.setdefault(key, len(self._places))

    def run(self, tree: Tree, spelt: Callable[[str], Key]) -> tuple[Run, Run]:
        """An expression of words, as a function of floats and of exact values."""
        placed = renamed(tree, lambda word: self.place(spelt(word)))
        return compiled(_on_floats(placed)), compiled(placed)

    def listed(self, values: Mapping[Key, Number]) -> list[Number]:
        """Values by their places; None where there is no value."""
        return [values.get(key) for key in self._places]

    def worked(self, values: list[Number], runs: Iterable[Run]) -> None:
        """Work the steps of the plan from what is given, in place."""
        for target, run in zip(self.targets, runs, strict=True):
            values[target] = run(values)

    def keyed(self, values: Sequence[Number], places: Iterable[int]) -> dict[Key, Number]:
        """What stands at some places, by its keys."""
        keys = list(self._places)
        return {keys[place]: values[place] for place in places}

    # ------------------------------------------------------------ steps

    def _placed(self, relation: Relation) -> BareRelation[int]:
        quantities = tuple((self.place(name), number) for name, number in relation.quantities)
        return BareRelation(form=relation.form, quantities=quantities, factor=relation.factor)

    def _exact_run(self, system: System, step: Step) -> Run:
        if step.together is not None:
            return compiled(renamed(step.together, self.place))
        relation, target = self._placed(system.relations[step.relation]), self.place(step.target)
        return lambda values: relation.solved(target, values)

    def _float_run(self, system: System, step: Step) -> Run:
        """One step on floats, its relation solved for its target beforehand."""
        if step.together is not None:
            return compiled(_on_floats(renamed(step.together, self.place)))
        relation = system.relations[step.relation]
        if not relation.plain:
            return compiled(_on_floats(renamed(solved_tree(relation, step.target), self.place)))
        exact, others = relation.alone(step.target)
        if relation.form == "product":
            above = [self.place(name) for name, power in others if power == 1]
            below = [self.place(name) for name, power in others if power == -1]
            return _product(float(exact), above, below)
        return _sum([(self.place(name), float(share)) for name, share in others])


def _product(factor: float, above: Sequence[int], below: Sequence[int]) -> Run:
    if len(above) == 1 and not below:
        (only,) = above
        return lambda values: factor * values[only]

    def multiply(values: Sequence[float]) -> float:
        found = factor
        for place in above:
            found *= values[place]
        for place in below:
            found /= values[place]
        return found

    return multiply


def _sum(terms: Sequence[tuple[int, float]]) -> Run:
    def add(values: Sequence[float]) -> float:
        return sum([share * values[place] for place, share in terms])

    return add


def _on_floats(tree: Tree) -> Tree:
    """The expression with floats for its numbers: a fraction beside a float is made one every time."""
    if tree[0] == "number":
        return ("number", float(tree[1]))
    if tree[0] == "word":
        return tree
    return (tree[0], *(_on_floats(part) if isinstance(part, tuple) else part for part in tree[1:]))
