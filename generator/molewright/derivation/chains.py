"""Steps in order come in; a chain goes out that is made ready once: worked exactly, or rounded line by line, for any numbers.

What belongs to the steps alone (which relation is solved for what, what is multiplied and what divided by) is found out when a
chain is made; a question then only multiplies whole numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TypeAlias, cast

from molewright.answer.written import rounded
from molewright.bank.algebra import Tree
from molewright.chem.quantity import half_up
from molewright.derivation.evaluated import Pairs, evaluate, pairs_of
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import LOGARITHMS
from molewright.experiment.relations.variables import System
from molewright.machine.same import Same

Find: TypeAlias = Callable[[Pairs], tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a plan: the relation it uses and the quantity it yields; `together` where only several relations yield it."""

    target: Name
    relation: int
    together: Tree | None = None


class Chain:
    """Steps made ready for numbers."""

    __slots__ = ("_works",)

    def __init__(self, system: System, steps: Sequence[Step]) -> None:
        self._works = tuple((step.target, _found_by(system, step), step.target.kind in LOGARITHMS) for step in steps)

    def exactly(self, given: Mapping[Name, Fraction]) -> dict[Name, Fraction]:
        """The givens and the exact value of every step."""
        values, pairs = dict(given), pairs_of(given)
        for target, find, _ in self._works:
            value = values[target] = Fraction(*find(pairs))
            pairs[target] = value.numerator, value.denominator
        return values

    def rounded(self, pairs: Pairs, figures: int) -> None:
        """Put the value of every step among the pairs, each step rounded half up to `figures`."""
        for target, find, logarithmic in self._works:
            up, down = find(pairs)
            if logarithmic:  # its figures are those after the point
                written = Fraction(half_up(Fraction(up, down), figures - 1))
                pairs[target] = written.numerator, written.denominator
            else:
                pairs[target] = rounded(up, down, figures)


def chain_of(system: System, steps: Sequence[Step]) -> Chain:
    """The chain of some steps in a system, made once as long as both live."""
    return _kept(Same(system), Same(steps))


@lru_cache(maxsize=1024)
def _kept(system: Same, steps: Same) -> Chain:
    return Chain(cast(System, system.held), cast(Sequence[Step], steps.held))


def _found_by(system: System, step: Step) -> Find:
    tree = step.together
    if tree is None:
        return system.relations[step.relation].finding(step.target)

    def together(pairs: Pairs) -> tuple[int, int]:
        exact = evaluate(tree, {name: Fraction(*pair) for name, pair in pairs.items()})
        return exact.numerator, exact.denominator

    return together
