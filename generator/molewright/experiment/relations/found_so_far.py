"""Operations come in one by one; the quantities and relations found so far, and what each vessel holds, go out. Nothing is solved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.chem.masses import relative_mass
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.identity import parted
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System, Variable, product, total

Source = Callable[[], Name]
"""Names an amount in a vessel, and writes down the relations that it rests on the first time that it is called."""


@dataclass(slots=True)
class Vessel:
    """What is in a vessel, and by which name: species, the sources that make one up together, volumes poured in."""

    contents: dict[str, Source] = field(default_factory=dict)
    parts: dict[str, tuple[Source, ...]] = field(default_factory=dict)  # of contents that several sources make up
    volumes: list[Name] = field(default_factory=list)

    @property
    def told(self) -> str:
        """What is in it, for a message."""
        return f"In the vessel: {', '.join(self.contents) or 'nothing'}."


@dataclass(frozen=True, slots=True)
class Mixture:
    """Two substances that make up a whole sample: its mass, its name, the names of their amounts, and what they are."""

    mass: Name
    sample: str
    held: tuple[Name, Name]
    substances: tuple[str, str]


class Found:
    """The quantities and relations of a procedure, as far as it was walked through."""

    def __init__(self, procedure: Procedure, unknown: frozenset[str]) -> None:
        self.procedure = procedure
        self.unknown = unknown  # substances whose molar mass no formula tells
        self.variables: dict[Name, Variable] = {}
        self.relations: list[Relation] = []
        self.vessels: dict[str, Vessel] = {}
        self.fixed: list[Name] = []
        self.mixtures: list[Mixture] = []

    @property
    def system(self) -> System:
        """All of it as a system."""
        return System(self.variables, tuple(self.relations), tuple(self.fixed))

    def new(
        self,
        name: Name,
        subject: str = "",
        stage: str = "",
        vessel: str = "",
        *,
        species: str = "",
        bottle: str = "",
        several: tuple[str, ...] = (),
        word: bool = False,
    ) -> Name:
        """The name of a quantity, which is one of the procedure's from now on."""
        made = Variable(
            name=name,
            subject=subject,
            stage=stage,
            vessel=vessel,
            species=species,
            bottle=bottle,
            several=several,
            word=word,
        )
        self.variables.setdefault(name, made)
        return name

    def unused(self, name: Name) -> Name:
        """A name that no quantity has: another one where a vessel was summed up before and something came in since."""
        while name in self.variables:
            name = quantities.once_more(name)
        return name

    def vessel(self, name: str) -> Vessel:
        """A vessel by its name, empty where nothing was put into it."""
        return self.vessels.setdefault(name, Vessel())

    def put(self, vessel: str, species: str, name: Source) -> None:
        """Add a species to a vessel; with a second source, and each after it, it is a sum."""
        there = self.vessel(vessel)
        earlier = there.contents.get(species)
        if earlier is None:
            there.contents[species] = once(name)
            there.parts.pop(species, None)
            return
        parts = (*there.parts.get(species, (earlier,)), once(name))

        def all_of_it() -> Name:
            name = self.unused(quantities.amount(species, vessel, "total"))
            summed = self.new(name, species, "total", vessel)
            held = tuple(part() for part in parts)
            if not self.suppose(held, summed):
                self.relations.append(total("total", summed, tuple((one, Fraction(1)) for one in held)))
            return summed

        there.contents[species] = once(all_of_it)
        there.parts[species] = parts

    def volume(self, vessel: str) -> Name | None:
        """The volume of what is in a vessel; of several solutions that were not made up, a sum. None where nothing tells it."""
        volumes = self.vessel(vessel).volumes
        if len(volumes) > 1:
            summed = self.new(self.unused(quantities.volume_held(vessel)), "", "total", vessel)
            self.relations.append(total("volumes", summed, tuple((one, Fraction(1)) for one in volumes)))
            volumes[:] = [summed]
        return volumes[0] if volumes else None

    # ------------------------------------------------------------ molar masses

    def molar(self, substance: str) -> Name:
        """The molar mass of a substance, with what it hangs together with where no formula tells it."""
        name = quantities.molar_mass(substance)
        if name not in self.variables:
            self.new(name, substance)
            if substance.endswith(".xH2O"):
                self._hydrate(substance, name)
            elif substance not in self.unknown:
                self.fixed.append(name)
            else:
                self._unknown_element(substance, name)
        return name

    def _unknown_element(self, substance: str, whole: Name) -> None:
        """Tie the molar mass of M2CO3 to the relative atomic mass of M, where the formula allows it."""
        try:
            letter, count, rest = parted(substance)
        except Mistake:
            return
        metal = atomic = self.new(quantities.atomic_mass(letter), letter)
        if count > 1:
            metal = self.new(Name("metal mass", letter, substance), substance, species=letter)
            self.relations.append(product("atoms", count, metal, (atomic,)))
        terms = [(metal, Fraction(1)), *([(self.molar(rest), Fraction(1))] if rest else [])]
        self.relations.append(total("formula", whole, tuple(terms)))

    def _hydrate(self, substance: str, whole: Name) -> None:
        water = self.new(quantities.water(substance), substance)
        mass = self.new(Name("water mass", substance), substance)
        salt = self.molar(substance.removesuffix(".xH2O"))
        self.relations.append(total("hydrate", whole, ((salt, Fraction(1)), (mass, Fraction(1)))))
        self.relations.append(product("water", 1, mass, (water, self.molar("H2O"))))

    # ------------------------------------------------------------ two substances that make up a sample

    def suppose(self, held: tuple[Name, ...], summed: Name) -> bool:
        """Where two amounts are a whole sample: what it would weigh if it were all the lighter substance, and what follows.

        A chain of single steps, which two equations with two unknowns are not; it stands for the sum of the two amounts.
        """
        found = self.mixture(held)
        if found is None:
            return False
        masses = {one: relative_mass(one, "one place") for one in found.substances}
        heavy, light = sorted(found.substances, key=lambda one: -masses[one])
        n_heavy = found.held[found.substances.index(heavy)]
        supposed = self.new(Name("supposed mass", light, found.sample), light)
        extra = self.new(Name("extra mass", heavy, found.sample), heavy)
        difference = self.new(Name("molar difference", heavy, source=light), heavy)
        one = Fraction(1)
        self.relations += [
            product("supposed", 1, supposed, (summed, self.molar(light))),
            total("extra", extra, ((found.mass, one), (supposed, -one))),
            total("difference", difference, ((self.molar(heavy), one), (self.molar(light), -one))),
            product("heavier", 1, extra, (n_heavy, difference)),
        ]
        return True

    def mixture(self, held: tuple[Name, ...]) -> Mixture | None:
        """The sample that these two amounts make up; None where they are something else."""
        return next((mixture for mixture in self.mixtures if set(mixture.held) == set(held)), None)


def once(make: Source) -> Source:
    """The same source, which writes down its relations once, whoever asks first."""
    kept: list[Name] = []

    def name() -> Name:
        if not kept:
            kept.append(make())
        return kept[0]

    return name
