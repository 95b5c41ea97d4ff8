"""The two sides of an equation come in; how much of each species stands where goes out, whatever a species is spelt like.

A species is what it is made of and its charge, so that CH3COOH and HC2H3O2 are one; nothing here compares texts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Formula
from molewright.chem.reaction import Reaction, Species

Kind: TypeAlias = tuple[tuple[tuple[str, int], ...], int]
"""What one species is: its atoms in the order of their symbols, and its charge."""
Side: TypeAlias = dict[Kind, int]
"""How much of each species stands on one side."""

ELECTRON: Kind = ((), -1)


def kind_of(formula: Formula) -> Kind:
    """What a species is, whatever the order in which its atoms are written."""
    return tuple(sorted(formula.atoms)), formula.charge


def kind_written(text: str) -> Kind:
    """What a species is by its formula as text, letters that stand for elements among it."""
    return kind_of(parse_formula(text, PLACEHOLDERS))


@dataclass(frozen=True, slots=True)
class Splits:
    """What formulae stand for in other species: salts and strong acids for their ions, H3O+ for H+ and H2O."""

    parts: Mapping[Kind, tuple[tuple[int, Kind], ...]]

    @staticmethod
    def of(table: Iterable[tuple[str, tuple[tuple[int, str], ...]]]) -> Splits:
        """From formulae as text: what is split, and how many of what it gives."""
        return Splits(
            {kind_written(whole): tuple((count, kind_written(part)) for count, part in given) for whole, given in table}
        )

    def split(self, side: Mapping[Kind, int]) -> Side:
        """A side with everything that has parts written as these."""
        found: Side = {}
        for kind, count in side.items():
            for times, part in self.parts.get(kind, ((1, kind),)):
                found[part] = found.get(part, 0) + times * count
        return found


def side_of(terms: Iterable[Species]) -> Side:
    """How much of each species some terms hold."""
    found: Side = {}
    for one in terms:
        kind = kind_of(one.formula)
        found[kind] = found.get(kind, 0) + one.coefficient
    return found


def cancelled(left: Mapping[Kind, int], right: Mapping[Kind, int]) -> tuple[Side, Side]:
    """Both sides without what stands on both."""
    net = {kind: left.get(kind, 0) - right.get(kind, 0) for kind in (*left, *right)}
    return {kind: count for kind, count in net.items() if count > 0}, {
        kind: -count for kind, count in net.items() if count < 0
    }


def proportional(one: tuple[Side, Side], other: tuple[Side, Side]) -> bool:
    """Whether two equations have the same species on the same sides, in amounts that differ by one factor."""
    if any(mine.keys() != theirs.keys() for mine, theirs in zip(one, other, strict=True)):
        return False
    factors = {Fraction(mine[kind], theirs[kind]) for mine, theirs in zip(one, other, strict=True) for kind in mine}
    return len(factors) == 1


def out_of_balance(left: Mapping[Kind, int], right: Mapping[Kind, int]) -> dict[str, tuple[int, int]]:
    """For each element that does not balance how many there are on the left and on the right; the charge under ""."""
    counts: dict[str, list[int]] = {}
    for at, side in enumerate((left, right)):
        for (atoms, charge), times in side.items():
            for name, count in (*atoms, ("", charge)):
                counts.setdefault(name, [0, 0])[at] += count * times
    return {name: (before, after) for name, (before, after) in counts.items() if before != after}


def sides_of(reaction: Reaction) -> tuple[Side, Side]:
    """Both sides of an equation."""
    return side_of(reaction.left), side_of(reaction.right)
