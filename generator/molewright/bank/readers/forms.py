"""A substance comes in; every form in which an equation may write it goes out: its formula, what it gives, each of its ions.

Ions come from the banks; a salt that they do not hold is taken apart into two of their ions, if only one pair makes its formula.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import gcd

from molewright.bank.definitions import AcidFamily, IonEntry, SoluteEntry, Substance
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.errors import Mistake

Form = tuple[int, str]  # how many of one formula unit, and what

_OF_WATER = {symbol for symbol, _ in parse_formula("H2O").atoms}
_STRONG_PKA = 3.0  # an acid that is as strong as that gives up its proton to an alkali as the first one


def usual_form(known: Substance | None, weighed: str) -> Form:
    """What one formula unit of something weighed is counted as where no line says it: what it gives, or itself without its x water."""
    return (known.count, known.gives) if known is not None and known.gives else (1, weighed.removesuffix(".xH2O"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Forms:
    """What one bank knows of substances taken apart."""

    substances: Mapping[str, Substance] = field(default_factory=dict)
    ions: Mapping[str, IonEntry] = field(default_factory=dict)
    solutes: Mapping[str, SoluteEntry] = field(default_factory=dict)
    acids: Mapping[str, AcidFamily] = field(default_factory=dict)
    written: Mapping[str, tuple[Form, ...]] = field(default_factory=dict)  # what equations write for a solute in ions
    solids: frozenset[str] = frozenset()  # that hardly dissolve

    def of(self, substance: str) -> tuple[Form, ...]:
        """The forms of a substance, the one that the banks prefer first."""
        known = self.substances.get(substance)
        plain = _without_water(substance)
        preferred = [(known.count, known.gives)] if known is not None and known.gives else []
        return tuple(dict.fromkeys((*preferred, (1, plain), *self._ions(plain))))

    def apart(self, substance: str) -> tuple[Form, ...]:
        """All the ions that an equation writes for a substance; () for what is written whole: a solid, a weak acid, no salt."""
        if substance in self.solids:
            return ()
        given = self.written.get(substance) or (self.solutes[substance].gives if substance in self.solutes else ())
        if given:
            return tuple(given) if len(given) > 1 else ()
        found = self._taken_apart(substance) or self._beside_what_it_gives(substance)
        return () if any(one in self.ions and self.ions[one].protons for _, one in found) else tuple(found)

    def _beside_what_it_gives(self, substance: str) -> list[Form]:
        """The ion that a substance is known to give, and the metal's that is left of its formula."""
        known = self.substances.get(substance)
        if known is None or not known.gives or (given := parse_formula(known.gives, PLACEHOLDERS)).charge >= 0:
            return []
        left = dict(parse_formula(substance, PLACEHOLDERS).atoms)
        for symbol, number in given.atoms:
            left[symbol] = left.get(symbol, 0) - number * known.count
        rest = {symbol: number for symbol, number in left.items() if number}
        for ion in self.ions:
            read = parse_formula(ion, PLACEHOLDERS)
            if dict(read.atoms).keys() == rest.keys() and len(read.atoms) == 1 and read.charge > 0:
                count = next(iter(rest.values())) // dict(read.atoms)[next(iter(rest))]
                if count * read.charge == -given.charge * known.count:
                    return [(count, ion), (known.count, known.gives)]
        return []

    def by_atoms(self, substance: str, species: str) -> Form | None:
        """How many of a species hold the atoms of one formula unit, hydrogen and oxygen aside: 2 Fe²⁺ of Fe2O3, 1 NH3 of N.

        Of an element that is said to be in a sample, only its own atoms count. None where they do not go up, or where there are none.
        """
        try:
            whole, part = (dict(parse_formula(one, PLACEHOLDERS).atoms) for one in (substance, species))
        except Mistake:
            return None
        told = part if len(whole) > 1 else {symbol: number for symbol, number in part.items() if symbol in whole}
        counts = {Fraction(whole.get(symbol, 0), number) for symbol, number in told.items() if symbol not in _OF_WATER}
        if len(counts) != 1:
            return None
        count = counts.pop()
        return (count.numerator, species) if count and count.denominator == 1 else None

    def _ions(self, substance: str) -> list[Form]:
        solute = self.solutes.get(substance)
        given = list(solute.gives) if solute is not None else self._taken_apart(substance)
        found = list(given)
        for count, ion in given:
            entry = self.ions.get(ion)
            if entry is not None and entry.protons > 0:
                found.append((count + self._further_protons(given), ion))
                found.remove((count, ion))
        return found

    def _further_protons(self, given: list[Form]) -> int:
        """Protons that the other ions of a strong acid give up as well: hydrogensulfate."""
        ions = [(count, self.ions[ion]) for count, ion in given if ion in self.ions]
        return sum(
            count
            for count, ion in ions
            for name in ion.acids
            for pka in self.acids[name].pkas[ion.lost :]
            if pka < _STRONG_PKA
        )

    def _taken_apart(self, substance: str) -> list[Form]:
        """The only two ions of the bank that make a formula; none where there are several such pairs, or no such."""
        try:
            whole = parse_formula(substance, PLACEHOLDERS)
        except Mistake:
            return []
        wanted = dict(whole.atoms)
        if whole.charge:
            return []
        read = {one: parse_formula(one, PLACEHOLDERS) for one in self.ions}
        inside = [one for one, formula in read.items() if {symbol for symbol, _ in formula.atoms} <= wanted.keys()]
        found: list[list[Form]] = []
        for cation in (one for one in inside if read[one].charge > 0):
            for anion in (one for one in inside if read[one].charge < 0):
                up, down = read[cation].charge, -read[anion].charge
                counts = (down // gcd(up, down), up // gcd(up, down))
                atoms: dict[str, int] = {}
                for count, one in zip(counts, (cation, anion), strict=True):
                    for symbol, number in read[one].atoms:
                        atoms[symbol] = atoms.get(symbol, 0) + number * count
                if atoms == wanted:
                    found.append([(counts[0], cation), (counts[1], anion)])
        return found[0] if len(found) == 1 else []


def _without_water(substance: str) -> str:
    """The salt of a hydrate: what dissolves is the same."""
    salt, _, water = substance.rpartition(".")
    return salt if salt and water.endswith("H2O") else substance
