"""Species of an equation come in; the acid families, metal ions and limits of solubility that they bring along go out.

Reads the bank's ions, acids and solubility products; follows no procedure and calls nothing plausible or not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from math import fsum

from molewright.bank.definitions import AcidFamily, Bank, IonEntry, SparingSalt
from molewright.chem.equilibrium import Solute, fractions
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.masses import relative_mass
from molewright.chem.solubility import SparingSolid, highest_concentration, ionic_product

# Tables give pKa values for no other ions about; a flask at an end point has about 0.1 mol dm⁻³ of them. C. W. Davies, Ion
# Association (1962): -log of the activity coefficient of a charge z is 0.51 z² (√I/(1 + √I) - 0.3 I).
_IONIC_STRENGTH = 0.1
_DAVIES = 0.51 * (math.sqrt(_IONIC_STRENGTH) / (1 + math.sqrt(_IONIC_STRENGTH)) - 0.3 * _IONIC_STRENGTH)

HYDROXIDE = "OH-"

Parts = tuple[tuple[int, IonEntry], ...]  # how many, and of which ion


class Solutes:
    """What a bank knows of substances in solution, looked up by the formula that equations use."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.hydroxides: dict[str, SparingSolid] = {}
        for salt in bank.sparing:
            if salt.anion == HYDROXIDE:
                self.hydroxides.setdefault(salt.cation, salt.solid)
        self.salts = tuple(salt for salt in bank.sparing if salt.anion != HYDROXIDE and salt.anion in bank.ions)
        self._parts: dict[str, Parts | None] = {}
        self._limits: dict[str, float | None] = {}
        self.pkas = {name: _among_ions(acid) for name, acid in bank.acids.items()}
        self.held = {acid.gas: acid.held for acid in bank.acids.values() if acid.gas and acid.held}

    @classmethod
    def of_tables(cls, bank: Bank) -> Solutes:
        """The same with the constants that tables print, with no correction for other ions about."""
        found = cls(bank)
        found.pkas = {name: acid.pkas for name, acid in bank.acids.items()}
        return found

    def parts(self, species: str) -> Parts | None:
        """The ions of one formula unit; None where the bank does not know the species."""
        if species not in self._parts:
            solute, ion = self.bank.solutes.get(species), self.bank.ions.get(species)
            if solute is not None:
                self._parts[species] = tuple((count, self.bank.ions[given]) for count, given in solute.gives)
            else:
                self._parts[species] = ((1, ion),) if ion is not None else None
        return self._parts[species]

    def acts(self, species: str) -> bool:
        """Whether it is an acid or a base, or holds one."""
        return any(ion.protons or ion.acids for _, ion in self.parts(species) or ())

    def matters(self, species: str) -> bool:
        """Whether it acts, or holds a metal that may precipitate."""
        return self.acts(species) or any(True for _ in self.metals((species,)))

    def metals(self, species: Iterable[str]) -> Iterator[str]:
        """The metal ions of the species that have a sparingly soluble hydroxide or salt."""
        known = self.hydroxides.keys() | {salt.cation for salt in self.salts}
        for one in species:
            for _, ion in self.parts(one) or ():
                yield from (metal for metal in (ion.formula, *ion.one_of) if metal in known)

    def part_played(self, species: str) -> tuple[object, ...]:
        """What of a species can make a difference at an end point: alike for HCl and HNO3, for NaCl and NaNO3."""
        return tuple(
            (count, ion.formula if ion.protons or ion.acids else "", ion.acids, *self.metals((ion.formula,)))
            for count, ion in self.parts(species) or ()
            if ion.protons or ion.acids or any(True for _ in self.metals((ion.formula,)))
        )

    def acting_ion(self, species: str) -> str:
        """The ion of a species that is an acid or a base."""
        return next(ion.formula for _, ion in self.parts(species) or () if ion.protons or ion.acids)

    def is_its_own_hydroxide(self, species: str) -> bool:
        """Whether it is a metal hydroxide that was dissolved as such, as limewater."""
        ions = {ion.formula for _, ion in self.parts(species) or ()}
        return HYDROXIDE in ions and len(ions) == 2

    def saturated(self, species: str) -> float | None:
        """The concentration of its saturated solution in mol dm⁻³; None where nothing limits it."""
        if species not in self._limits:
            solute = self.bank.solutes.get(species)
            if solute is None or solute.solubility is None or parse_formula(species, PLACEHOLDERS).placeholders:
                self._limits[species] = None
            else:
                mass = float(relative_mass(species, "one place"))
                self._limits[species] = highest_concentration(float(solute.solubility), mass)
        return self._limits[species]

    # ------------------------------------------------------------ a mixture

    def choices(self, species: Iterable[str]) -> int:
        """How many acids an unknown one among the species may be."""
        return max((len(ion.acids) for one in species for _, ion in self.parts(one) or ()), default=0) or 1

    def dissolved(self, mixture: Mapping[str, float], choice: int = 0) -> tuple[Solute, ...]:
        """The acids and bases of a mixture (mol dm⁻³ by species), an unknown acid taken as the one of that choice."""
        found: list[Solute] = []
        for species, concentration in mixture.items():
            for count, ion in self.parts(species) or ():
                if ion.protons:
                    found.append(Solute((), ion.protons, count * concentration))
                elif ion.acids:
                    pkas = self.pkas[ion.acids[min(choice, len(ion.acids) - 1)]]
                    gas = self.leaves_as_a_gas(ion.formula)
                    found.append(Solute(pkas, len(pkas) - ion.lost, count * concentration, gas))
        return tuple(found)

    def ions(self, mixture: Mapping[str, float]) -> dict[str, float]:
        """Concentrations by ion; a placeholder counts as each of the ions that it may be."""
        found: dict[str, float] = {}
        for species, concentration in mixture.items():
            for count, ion in self.parts(species) or ():
                for formula in (ion.formula, *ion.one_of):
                    found[formula] = found.get(formula, 0.0) + count * concentration
        return found

    def precipitating(self, mixture: Mapping[str, float], at_ph: float) -> SparingSalt | None:
        """A sparingly soluble salt, no hydroxide, that a mixture is oversaturated with at a pH."""
        ions = self.ions(mixture)
        for salt in self.salts:
            if salt.cation in ions:
                anions = self._as_anion(salt.anion, ions, at_ph)
                counts = (salt.solid.cations, salt.solid.anions)
                if anions and ionic_product(counts, (ions[salt.cation], anions)) > 10**-salt.solid.pksp:
                    return salt
        return None

    def _as_anion(self, anion: str, ions: Mapping[str, float], at_ph: float) -> float:
        """How much of its family is this anion at a pH."""
        entry = self.bank.ions[anion]
        if not entry.acids:
            return ions.get(anion, 0.0)
        family = entry.acids[0]
        total = fsum(amount for formula, amount in ions.items() if family in self.bank.ions[formula].acids)
        pkas = self.pkas[family]
        return total * fractions(pkas, at_ph)[len(pkas) - entry.lost]

    def leaves_as_a_gas(self, ion: str) -> bool:
        """Whether it is of the family of a gas that leaves by itself once it is set free."""
        return any(self.bank.acids[name].held for name in self.bank.ions[ion].acids)

    def gas_kept(self, species: Iterable[str]) -> float:
        """What the species keep of the gas that may leave them, in mol dm⁻³; 0 where none does."""
        families = {name for one in species for _, ion in self.parts(one) or () for name in ion.acids}
        return max((self.bank.acids[name].held or 0.0 for name in families), default=0.0)

    def pairs(self, species: Iterable[str]) -> tuple[SparingSalt, ...]:
        """The sparingly soluble salts whose two ions some of the species bring along, at whatever concentration."""
        present = {ion.formula for one in species for _, ion in self.parts(one) or ()}
        metals = set(self.metals(species))
        families = {family for formula in present for family in self.bank.ions[formula].acids}
        return tuple(
            salt
            for salt in self.salts
            if salt.cation in metals and (salt.anion in present or set(self.bank.ions[salt.anion].acids) & families)
        )


def _among_ions(acid: AcidFamily) -> tuple[float, ...]:
    """The pKa values that hold among other ions: lower by more, the more negative the acid of the stage is."""
    charge = parse_formula(acid.formula, PLACEHOLDERS).charge
    return tuple(pka + (2 * (charge - lost) - 1) * _DAVIES for lost, pka in enumerate(acid.pkas))
