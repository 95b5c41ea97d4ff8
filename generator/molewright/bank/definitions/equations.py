"""What the banks say of equations that pupils write comes in; names, formulae known by heart and spellings go out as checked values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from molewright.bank.definitions.ions import SoluteEntry

Gives = tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class SpeciesName:
    """What a species is called in a sentence, where substances.yaml has no entry for it."""

    formula: str
    name: str


@dataclass(frozen=True, slots=True)
class KnownFormulae:
    """Formulae that a pupil writes from their names."""

    formulae: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WrittenInstead:
    """A species that may be written for others: H3O+ for H+ and H2O. With `ionic` it is what an ionic equation writes in its place."""

    formula: str
    gives: Gives
    ionic: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        SoluteEntry(self.formula, self.gives)  # the same atoms and the same charge


@dataclass(frozen=True, slots=True)
class IonsBeside:
    """Ions that may be written beside those of an ionic equation, with which they are in one bottle."""

    ions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Balancing:
    """What half-equations are balanced with beside electrons."""

    formulae: tuple[str, ...]


EquationEntry = SpeciesName | KnownFormulae | WrittenInstead | IonsBeside | Balancing


@dataclass(frozen=True, slots=True, kw_only=True)
class EquationFacts:
    """All that the banks say of equations that pupils write."""

    names: dict[str, str] = field(default_factory=dict)
    known: frozenset[str] = frozenset()
    instead: tuple[WrittenInstead, ...] = ()
    beside: tuple[str, ...] = ()
    balancing: frozenset[str] = frozenset()

    @staticmethod
    def of(entries: Iterable[EquationEntry]) -> EquationFacts:
        """From the entries of equations.yaml."""
        held = tuple(entries)
        return EquationFacts(
            names={one.formula: one.name for one in held if isinstance(one, SpeciesName)},
            known=frozenset(text for one in held if isinstance(one, KnownFormulae) for text in one.formulae),
            instead=tuple(one for one in held if isinstance(one, WrittenInstead)),
            balancing=frozenset(text for one in held if isinstance(one, Balancing) for text in one.formulae),
            beside=tuple(text for one in held if isinstance(one, IonsBeside) for text in one.ions),
        )

    @property
    def same(self) -> tuple[tuple[str, Gives], ...]:
        """What may be written for other species anywhere."""
        return tuple((one.formula, one.gives) for one in self.instead if not one.ionic)

    def ions_of(self, solute: SoluteEntry) -> Gives:
        """What an ionic equation writes for a solute."""
        return next((one.gives for one in self.instead if one.ionic and one.formula == solute.formula), solute.gives)
