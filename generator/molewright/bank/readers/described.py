"""What reading a procedure makes comes in piece by piece; the procedure, its numbers and where each is written go out."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from molewright.bank.definitions import (
    AcidFamily,
    Choice,
    IonEntry,
    MayBe,
    ReactionEntry,
    SoluteEntry,
    Substance,
    Titrated,
    UnknownElements,
)
from molewright.bank.readers.forms import Forms
from molewright.chem.quantity import Quantity
from molewright.errors import Where
from molewright.experiment.procedure import (
    Operation,
    Procedure,
    Titrate,
)
from molewright.experiment.quantities import Name
from molewright.experiment.titres import Run


@dataclass(frozen=True, slots=True)
class InWater:
    """What substances are in water: acids by name, ions and solutes by formula."""

    acids: Mapping[str, AcidFamily]
    ions: Mapping[str, IonEntry]
    solutes: Mapping[str, SoluteEntry]

    def ions_of(self, species: str) -> tuple[tuple[int, IonEntry], ...]:
        """How many of which ions one of a species is in water; () for one that the banks do not know."""
        given = self.solutes[species].gives if species in self.solutes else ((1, species),)
        return tuple((count, self.ions[one]) for count, one in given if one in self.ions)

    def protons_of(self, species: str) -> int:
        """How many protons a strong acid gives up, below zero for the hydroxide ions of an alkali; 0 for any other."""
        return sum(count * ion.protons for count, ion in self.ions_of(species))

    def family_of(self, species: str) -> tuple[AcidFamily, int] | None:
        """The weak acid of one proton that a species is or belongs to, and how many of its protons it has lost; None for no such."""
        for _, ion in self.ions_of(species):
            if len(ion.acids) == 1:
                family = self.acids[ion.acids[0]]
                return (family, ion.lost) if len(family.pkas) == 1 else None
        return None


class EndPoints(Protocol):
    """Whoever knows which equations belong to the end point that an indicator shows."""

    def titrated(self, present: Sequence[str], made: frozenset[str], titrant: str, indicator: str) -> Titrated | None:
        """What the titrant titrates of what is present, `made` by an earlier reaction or not; None where it cannot tell."""
        ...

    def doubts(self, act: Titrate, present: Sequence[str]) -> tuple[str, ...]:
        """What is to be said of the indicator of a titration, by its equations."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemicals:
    """What procedures look things up in: substances by formula, the reactions of the banks, what an unknown element may be.

    `forms` and `end_points` serve experiments that somebody describes: how else an equation may write a substance, and what an
    indicator shows. The entries of the banks say both themselves.
    """

    substances: Mapping[str, Substance]
    reactions: tuple[ReactionEntry, ...]
    unknown_elements: UnknownElements = field(default_factory=UnknownElements)
    in_water: InWater = field(default_factory=lambda: InWater({}, {}, {}))
    forms: Forms | None = None
    end_points: EndPoints | None = None
    indicators: tuple[str, ...] = ()  # that the banks know
    _by_reactant: dict[str, list[ReactionEntry]] = field(init=False, compare=False, repr=False, default_factory=dict)

    _by_call: dict[str, str] = field(init=False, compare=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        for entry in self.reactions:
            for formula in entry.reactants():
                self._by_reactant.setdefault(formula, []).append(entry)

    def called(self, text: str) -> str | None:
        """The formula of the substance that a name, the words for its bottle or another formula stands for; None for no such."""
        if not self._by_call:
            for formula, substance in self.substances.items():
                for call in substance.calls[1:]:
                    self._by_call.setdefault(call, formula)
        return self._by_call.get(text)

    def by_formulae(self, text: str) -> str:
        """The name of a quantity with each substance in it by its formula: "concentration of oxalic acid"."""
        kind, *rest = re.split(
            "( of | in )", text
        )  # "water in Na2CO3.xH2O" begins with the kind, which is no substance
        return "".join((kind, *(self.called(piece) or piece for piece in rest)))

    def reactions_with(self, formula: str) -> tuple[ReactionEntry, ...]:
        """Every reaction of the banks that uses a substance up."""
        return tuple(self._by_reactant.get(formula, ()))

    def reaction_of(self, one: str, other: str, solid: bool = False) -> tuple[ReactionEntry, ...]:
        """The first reaction of the banks between two substances, of the first as it is there; none where they hold no such."""
        found = [entry for entry in self._by_reactant.get(one, ()) if other in entry.reactants()]
        found.sort(key=lambda entry: (entry.state_of(one) == "s") != solid)  # the others keep their order
        return tuple(found[:1])


@dataclass(frozen=True, slots=True)
class ReadRun:
    """One run as a person wrote it down: initial and final reading, and whether it was the rough one."""

    initial: Quantity
    final: Quantity
    rough: bool

    @property
    def run(self) -> Run:
        """The same in cm³."""
        return Run(self.initial.in_base, self.final.in_base, self.rough)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a number stands in a description, or could: the operation, the key in it, and where that is written."""

    where: Where
    key: str
    at: Where | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A key of a description that holds a number, or could: which of its operations, the word before a nested key, the key."""

    operation: int
    within: str
    key: str


@dataclass(slots=True, kw_only=True)
class Described:
    """A procedure as described: its operations, the numbers by name, and what the reader learnt on the way."""

    operations: list[Operation] = field(default_factory=list)
    choices: dict[Name, Choice] = field(default_factory=dict)
    runs: dict[Name, tuple[ReadRun, ...]] = field(default_factory=dict)
    unknown: set[str] = field(default_factory=set)
    used: list[ReactionEntry] = field(default_factory=list)
    indicators: tuple[str, ...] = ()
    may_be: MayBe | None = None
    written: dict[Name, Place] = field(default_factory=dict)  # numbers by name
    unwritten: dict[Name, Place] = field(default_factory=dict)  # numbers that have a key and were left out
    spots: dict[Name, list[Spot]] = field(default_factory=dict)  # where a number stands, or could
    notes: list[str] = field(default_factory=list)  # what is to be said of its titrations
    places: list[Where] = field(default_factory=list)  # of the operations, one for each
    helped: set[int] = field(
        default_factory=set
    )  # operations, by their place in the list, that react with something in plenty

    @property
    def procedure(self) -> Procedure:
        """The operations as a procedure."""
        return Procedure(tuple(self.operations))

    def at(self, name: Name) -> Where | None:
        """Where a number is written; None for one that is not."""
        place = self.written.get(name)
        return place.at if place is not None else None
