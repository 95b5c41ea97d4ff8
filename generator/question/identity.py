"""A relative atomic mass comes in; the element of its group that lies nearest goes out. Works no mass out itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from generator.chem.masses import Convention, atomic_mass
from generator.question.procedure import parted

# Metals that a formula with an unknown M may hold at this level, by what the rest of the formula says of the ion's charge.
_GROUP_1 = ("Li", "Na", "K", "Rb", "Cs")
_GROUP_2 = ("Mg", "Ca", "Sr", "Ba")
_DIVALENT = ("Mg", "Ca", "Fe", "Zn")
_NAMES = {
    "Li": "lithium", "Na": "sodium", "K": "potassium", "Rb": "rubidium", "Cs": "caesium", "Mg": "magnesium", "Ca": "calcium",
    "Sr": "strontium", "Ba": "barium", "Fe": "iron", "Zn": "zinc",
}  # fmt: skip
_SINGLY = ("HCO3", "OH", "Cl", "NO3")


@dataclass(frozen=True, slots=True)
class Element:
    """An element that M may be: its symbol, its name and its relative atomic mass as the paper prints it."""

    symbol: str
    name: str
    mass: Decimal


def candidates(substance: str) -> tuple[str, ...]:
    """The elements that M may be in a formula: group 1 in M2CO3 and MOH, group 2 in MCO3, a divalent metal where it stands alone."""
    _, count, rest = parted(substance)
    if not rest:
        return _DIVALENT
    return _GROUP_1 if count == 2 or rest in _SINGLY else _GROUP_2


def elements(substance: str, masses: Convention = "one place") -> tuple[Element, ...]:
    """The elements that M may be in a formula, with their relative atomic masses."""
    return tuple(Element(one, _NAMES[one], atomic_mass(one, masses)) for one in candidates(substance))


def nearest(atomic: Fraction, among: Sequence[Element]) -> Element:
    """The element whose relative atomic mass is nearest."""
    return min(among, key=lambda one: abs(Fraction(one.mass) - atomic))
