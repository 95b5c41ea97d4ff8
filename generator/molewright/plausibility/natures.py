"""A species comes in; what it is by nature goes out: acid, base, alkali, carbonate, as the bank's ions and acids have it.

Lists none itself, judges no experiment and computes no curve.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import IonEntry
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.groups import holds
from molewright.plausibility.solutes import Solutes

# An acid with a smaller pKa leaves its flask acidic and a base whose acid has a larger one leaves it alkaline; what lies between
# (hydrogencarbonate by its 6.35 is a base, ammonium by its 9.25 no acid) is what people mean by the words. Common practice, no source.
MIDDLE_PKA = 6.0
SOLUBLE_G = 3  # in 100 g of water: "soluble" from 30 parts of water downwards (European Pharmacopoeia, from memory)


class Natures:
    """What the species of one bank are by nature."""

    def __init__(self, solutes: Solutes) -> None:
        self.solutes = solutes

    def _ions(self, species: str) -> Iterator[IonEntry]:
        for _, ion in self.solutes.parts(species) or ():
            yield ion

    def gives_hydrogen_ions(self, species: str) -> bool:
        """Whether it is a strong acid: it gives up a proton wholly."""
        return any(ion.protons > 0 for ion in self._ions(species))

    def gives_hydroxide_ions(self, species: str) -> bool:
        """Whether it is an alkali of hydroxide ions."""
        return any(ion.protons < 0 for ion in self._ions(species))

    def is_acid(self, species: str) -> bool:
        """Whether it leaves a solution acidic, whichever acid it may stand for."""
        return any(
            ion.protons > 0 or (ion.acids and all(_below(pkas[ion.lost : ion.lost + 1]) for pkas in self._pkas(ion)))
            for ion in self._ions(species)
        )

    def is_base(self, species: str) -> bool:
        """Whether it leaves a solution alkaline, whichever acid it may belong to."""
        return any(
            ion.protons < 0 or (ion.lost and all(not _below(pkas[ion.lost - 1 : ion.lost]) for pkas in self._pkas(ion)))
            for ion in self._ions(species)
        )

    def mild_up_to(self, species: str, highest_ph: float) -> bool:
        """Whether a base keeps its solution below a pH because its ion takes up a proton and gives one up: hydrogencarbonate at 8.3."""
        halves = [
            (pkas[ion.lost - 1] + pkas[ion.lost]) / 2
            for ion in self._ions(species)
            for pkas in self._pkas(ion)
            if 0 < ion.lost < len(pkas)
        ]
        return bool(halves) and max(halves) < highest_ph

    def hydroxides(self, species: str) -> int:
        """How many hydroxide ions one of it stands for; a base that is a molecule (ammonia) makes one with water."""
        parts = self.solutes.parts(species) or ()
        given = -sum(count * ion.protons for count, ion in parts if ion.protons < 0)
        molecule = len(parts) == 1 and not parse_formula(species, PLACEHOLDERS).charge and self.is_base(species)
        return given or (1 if molecule and parts[0][1].formula == species else 0)

    def is_carbonate(self, species: str) -> bool:
        """Whether it gives the ions, with no proton left, of an acid that leaves as a gas."""
        return any(
            self.solutes.leaves_as_a_gas(ion.formula) and all(ion.lost == len(pkas) for pkas in self._pkas(ion))
            for ion in self._ions(species)
        )

    def gives(self, species: str, ion: str) -> bool:
        """Whether an ion comes of a species: by the bank, or by its formula where the bank does not know it."""
        parts = self.solutes.parts(species)
        if parts is not None:
            return any(one.formula == ion for _, one in parts)
        substance = self.solutes.bank.substances.get(species)
        if substance is not None and substance.gives:
            return substance.gives == ion
        return bool(parse_formula(ion, PLACEHOLDERS).charge) and holds(species, ion)

    def is_oxidant(self, species: str) -> bool:
        """Whether equations with it on their left are ones of electrons that it takes."""
        entry = self.solutes.bank.redox.get(species)
        return entry is not None and entry.oxidant

    def dissolves_at_once(self, species: str) -> bool:
        """Whether water alone dissolves the solid: what it gives is known, and it is not sparingly soluble."""
        solute = self.solutes.bank.solutes.get(species)
        if solute is None or any(salt.solid.solid == species for salt in self.solutes.bank.sparing):
            return False
        if solute.solubility is not None and solute.solubility < SOLUBLE_G:
            return False
        hydroxides = self.gives_hydroxide_ions(species)
        return not (hydroxides and any(one in self.solutes.hydroxides for one in self.solutes.metals((species,))))

    def _pkas(self, ion: IonEntry) -> list[tuple[float, ...]]:
        return [self.solutes.bank.acids[name].pkas for name in ion.acids]


def _below(pka: tuple[float, ...]) -> bool:
    """Whether there is such a stage, and an acidic one."""
    return any(one < MIDDLE_PKA for one in pka)
