"""Families of elements come in, as the bank states them; what an unknown element in a formula may be goes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from molewright.bank.definitions.ions import IonEntry
from molewright.chem.conventions import Convention
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.masses import atomic_mass, element_name
from molewright.errors import Mistake
from molewright.experiment.identity import Candidate, parted


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementFamily:
    """Elements that an unknown may be one of: the charge of their ions, what they are called together.

    `alone`: they are meant where the unknown stands by itself, as a metal that is dissolved in acid.
    """

    name: str
    charge: int
    elements: tuple[str, ...]
    told: str
    alone: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        if self.charge < 1 or not self.elements:
            raise Mistake(
                f"{len(self.elements)} elements with ions of charge {self.charge} in {self.name}",
                expected="some, and a charge of 1 or more",
            )


@dataclass(frozen=True, slots=True)
class UnknownElements:
    """The families of a bank, and its ions, whose charges tell the charge of an unknown in a formula."""

    families: tuple[ElementFamily, ...] = ()
    ions: Mapping[str, IonEntry] = field(default_factory=dict)

    def family(self, substance: str) -> ElementFamily | None:
        """The elements that the letter may be in a formula: M of M2CO3, of MCO3, of M alone. None where the bank has no such."""
        _, count, rest = parted(substance)
        if not rest:
            return next((one for one in self.families if one.alone), None)
        charge = self._charge_of(rest) / count
        return next((one for one in self.families if one.charge == charge and not one.alone), None)

    def candidates(self, substance: str, masses: Convention = "one place") -> tuple[Candidate, ...]:
        """The elements that the letter may be, with their relative atomic masses; none where the bank has no such family."""
        family = self.family(substance)
        return tuple(
            Candidate(one, element_name(one), atomic_mass(one, masses)) for one in (family.elements if family else ())
        )

    def _charge_of(self, rest: str) -> int:
        """The charge that the rest of a formula makes up for: that of its anions; of what is no ion (an oxide), 2."""
        for ion in self.ions.values():
            negative = -parse_formula(ion.formula, PLACEHOLDERS).charge
            if negative <= 0:
                continue
            body = ion.formula.partition("^")[0].rstrip("-")
            if rest == body:
                return negative
            for many in range(2, _MOST + 1):
                if rest in (f"{body}{many}", f"({body}){many}"):
                    return negative * many
        return _OF_NO_ION


_MOST = 4  # anions in one formula unit
_OF_NO_ION = 2
