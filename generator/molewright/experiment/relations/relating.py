"""A procedure comes in; the quantities in it and the relations between them go out, operation by operation. Nothing is solved here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.chem.formula import parse_formula
from molewright.chem.masses import relative_mass
from molewright.chem.reaction import Reaction
from molewright.errors import Mistake
from molewright.experiment import procedure as names
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Content,
    Dissolve,
    MakeUp,
    Measure,
    Pass,
    Procedure,
    React,
    Remove,
    Solution,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.relations.kinds import Kind
from molewright.experiment.relations.variables import Relation, System, Variable, product, total

Source = Callable[[], str]
"""Names an amount in a vessel, and writes down the relations that it rests on the first time that it is called."""


@dataclass(slots=True)
class _Vessel:
    contents: dict[str, Source] = field(default_factory=dict)
    parts: dict[str, tuple[Source, ...]] = field(default_factory=dict)  # of contents that several sources make up
    volumes: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Mixture:
    """Two substances that make up a whole sample: the names of their amounts, and what they are."""

    mass: str
    sample: str
    held: tuple[str, str]
    substances: tuple[str, str]


class _Builder:
    """Walks a procedure once, keeping for every vessel what is in it and by which name."""

    def __init__(self, procedure: Procedure, unknown: frozenset[str]) -> None:
        self.procedure = procedure
        self.unknown = unknown  # substances whose molar mass no formula tells
        self.variables: dict[str, Variable] = {}
        self.relations: list[Relation] = []
        self.vessels: dict[str, _Vessel] = {}
        self.fixed: list[str] = []
        self.mixtures: list[_Mixture] = []

    def new(
        self,
        name: str,
        kind: Kind,
        subject: str = "",
        stage: str = "",
        vessel: str = "",
        species: str = "",
        bottle: str = "",
    ) -> str:
        self.variables.setdefault(name, Variable(name, kind, subject, stage, vessel, species, bottle))
        return name

    def vessel(self, name: str) -> _Vessel:
        return self.vessels.setdefault(name, _Vessel())

    def molar(self, substance: str) -> str:
        name = names.molar_mass(substance)
        if name not in self.variables:
            self.new(name, "molar mass", substance)
            if substance.endswith(".xH2O"):
                self._hydrate(substance, name)
            elif substance not in self.unknown:
                self.fixed.append(name)
            else:
                self._unknown_element(substance, name)
        return name

    def _unknown_element(self, substance: str, whole: str) -> None:
        """Tie the molar mass of M2CO3 to the relative atomic mass of M, where the formula allows it."""
        try:
            letter, count, rest = names.parted(substance)
        except Mistake:
            return
        metal = atomic = self.new(names.atomic_mass(letter), "atomic mass", letter)
        if count > 1:
            metal = self.new(f"mass of {letter} in a mole of {substance}", "metal mass", substance, species=letter)
            self.relations.append(product("atoms", count, metal, (atomic,)))
        terms = [(metal, Fraction(1)), *([(self.molar(rest), Fraction(1))] if rest else [])]
        self.relations.append(total("formula", whole, tuple(terms)))

    def _hydrate(self, substance: str, whole: str) -> None:
        water = self.new(names.water(substance), "water", substance)
        mass = self.new(f"mass of water in a mole of {substance}", "water mass", substance)
        self.relations.append(
            total("hydrate", whole, ((self.molar(substance.removesuffix(".xH2O")), Fraction(1)), (mass, Fraction(1))))
        )
        self.relations.append(product("water", 1, mass, (water, self.molar("H2O"))))

    def put(self, vessel: str, species: str, name: Source) -> None:
        """Add a species to a vessel; with a second source, and each after it, it is a sum."""
        there = self.vessel(vessel)
        earlier = there.contents.get(species)
        if earlier is None:
            there.contents[species] = _once(name)
            there.parts.pop(species, None)
            return
        parts = (*there.parts.get(species, (earlier,)), _once(name))

        def all_of_it() -> str:
            name = self._unused(names.amount(species, vessel, "total"))
            summed = self.new(name, "amount", species, "total", vessel)
            held = tuple(part() for part in parts)
            if not self._suppose(held, summed):
                self.relations.append(total("total", summed, tuple((one, Fraction(1)) for one in held)))
            return summed

        there.contents[species] = _once(all_of_it)
        there.parts[species] = parts

    def volume(self, vessel: str) -> str:
        """The volume of what is in a vessel; of several solutions that were not made up, a sum. "" where nothing tells it."""
        volumes = self.vessel(vessel).volumes
        if len(volumes) > 1:
            summed = self.new(self._unused(names.volume_held(vessel)), "volume", "", "total", vessel)
            self.relations.append(total("volumes", summed, tuple((one, Fraction(1)) for one in volumes)))
            volumes[:] = [summed]
        return volumes[0] if volumes else ""

    def _unused(self, name: str) -> str:
        """A name for a sum; another one where a vessel was summed up before and something came in since."""
        while name in self.variables:
            name += ", again"
        return name

    def _suppose(self, held: tuple[str, ...], summed: str) -> bool:
        """Where two amounts are a whole sample: what it would weigh if it were all the lighter substance, and what follows.

        A chain of single steps, which two equations with two unknowns are not; it stands for the sum of the two amounts.
        """
        found = next((mixture for mixture in self.mixtures if set(mixture.held) == set(held)), None)
        if found is None:
            return False
        masses = {one: relative_mass(one, "one place") for one in found.substances}
        heavy, light = sorted(found.substances, key=lambda one: -masses[one])
        n_heavy = found.held[found.substances.index(heavy)]
        supposed = self.new(f"mass of {found.sample} if all {light}", "supposed mass", light)
        extra = self.new(f"mass of {found.sample} beyond that", "extra mass", heavy)
        difference = self.new(f"molar mass of {heavy} beyond that of {light}", "molar difference", heavy)
        one = Fraction(1)
        self.relations += [
            product("supposed", 1, supposed, (summed, self.molar(light))),
            total("extra", extra, ((found.mass, one), (supposed, -one))),
            total("difference", difference, ((self.molar(heavy), one), (self.molar(light), -one))),
            product("heavier", 1, extra, (n_heavy, difference)),
        ]
        return True

    def _summed(self, used: list[tuple[str, Fraction]], of: str, vessel: str) -> list[tuple[str, Fraction]]:
        """Amounts that react in the same ratio and make up a whole sample as one amount; others unchanged."""
        held = tuple(name for name, _ in used)
        alike = len(used) == 2 and used[0][1] == used[1][1]
        if not alike or not any(set(mixture.held) == set(held) for mixture in self.mixtures):
            return used
        summed = self.new(names.amount(of, vessel, "both"), "amount", of, "both", vessel)
        self._suppose(held, summed)
        return [(summed, used[0][1])]

    # ------------------------------------------------------------ operations

    def weigh(self, act: Weigh) -> None:
        whole = self.new(names.mass(act.sample), "mass", act.sample, vessel=act.vessel) if act.weighed else ""
        if act.by_difference:
            full, emptied = (
                self.new(names.bottle_mass(act.sample, gone), "bottle mass", act.sample, "emptied" if gone else "full")
                for gone in (False, True)
            )
            terms = ((full, Fraction(1)), (emptied, Fraction(-1)))
            self.relations.append(total("by difference", whole, terms))
        if len(act.contents) == 2 and act.pure:
            first, second = (content.substance for content in act.contents)
            held = (names.substance_amount(first, act.sample), names.substance_amount(second, act.sample))
            self.mixtures.append(_Mixture(whole, act.sample, held, (first, second)))
        for content in act.contents:
            self._content(act, content, whole)
        for element in act.elements:
            self._element(act, element, whole)
        if len(act.contents) > 1 and act.pure:  # a mixture of these and nothing else
            parts = tuple((names.mass_within(c.substance, act.sample), Fraction(1)) for c in act.contents)
            self.relations.append(total("total", whole, parts))

    def _content(self, act: Weigh, content: Content, whole: str) -> None:
        substance = content.substance
        alone = act.pure and len(act.contents) == 1 and act.weighed  # then the sample's mass is the substance's
        within = whole if alone else self.new(names.mass_within(substance, act.sample), "mass within", substance)
        held = self.new(names.substance_amount(substance, act.sample), "amount", substance, "sample", act.vessel)
        self.relations.append(product("molar mass", 1, within, (held, self.molar(substance))))
        if act.weighed and not alone:
            share = self.new(names.percentage(substance, act.sample), "percentage", substance)
            self.relations.append(product("percentage", 100, share, (within,), (whole,)))
            if act.rest and content is act.contents[0]:
                self._rest(act, substance, whole, within)
        if act.per_gram and content is act.contents[0]:
            per_gram = self.new(names.mass_per_gram(substance, act.sample), "mass per gram", substance)
            self.relations.append(product("per gram", 1000, per_gram, (within,), (whole,)))
        if act.pieces:
            each = self.new(names.mass_each(substance, act.pieces), "mass each", substance)
            count = self.new(names.pieces(act.pieces), "pieces", act.pieces)
            self.relations.append(product("each", 1, each, (within,), (count,)))

        def given() -> str:
            if content.species == substance or (len(act.contents) > 1 and content.count == 1):
                return held
            ion = self.new(names.amount(content.species, act.vessel), "amount", content.species, "flask", act.vessel)
            self.relations.append(product("contains", content.count, ion, (held,)))
            return ion

        self.put(act.vessel, content.species, given)

    def _rest(self, act: Weigh, substance: str, whole: str, within: str) -> None:
        """What is not the substance sought: its mass, and its share of the sample."""
        rest = self.new(names.impurity_mass(act.sample), "impurity mass", substance)
        self.relations.append(total("rest", rest, ((whole, Fraction(1)), (within, Fraction(-1)))))
        share = self.new(names.impurity(act.sample), "impurity", substance)
        self.relations.append(product("impurity", 100, share, (rest,), (whole,)))

    def _element(self, act: Weigh, element: str, whole: str) -> None:
        """The mass of an element in the first substance of a sample."""
        substance = act.contents[0].substance
        held = names.substance_amount(substance, act.sample)
        within = self.new(names.mass_within(element, act.sample), "mass within", element)
        atoms = self.new(names.substance_amount(element, act.sample), "amount", element, "sample", act.vessel)
        count = parse_formula(substance).count(element)
        if not count:
            raise Mistake(f"there is no {element} in {substance}", expected="an element of its formula")
        self.relations.append(product("contains", count, atoms, (held,)))
        self.relations.append(product("molar mass", 1, within, (atoms, self.molar(element))))
        if act.weighed:
            share = self.new(names.percentage(element, act.sample), "percentage", element)
            self.relations.append(product("percentage", 100, share, (within,), (whole,)))
        if act.pieces:
            each = self.new(names.mass_each(element, act.pieces), "mass each", element)
            self.relations.append(product("each", 1, each, (within,), (names.pieces(act.pieces),)))

    def solution_strength(self, solution: Solution) -> str:
        """The concentration of a solution, tied to its vessel if it was made in one."""
        name = names.concentration(solution.name)
        if name in self.variables:
            return name
        self.new(name, "concentration", solution.solute, "", solution.made_in, solution.species)
        strength = self.new(names.mass_concentration(solution.name), "mass concentration", solution.solute)
        self.relations.append(product("mass concentration", 1, strength, (name, self.molar(solution.solute))))
        if solution.told_in_cm3:
            within = self.new(names.mass_in(solution.told_in_cm3, solution.name), "mass in volume", solution.solute)
            share = Fraction(solution.told_in_cm3, 1000)
            self.relations.append(product("mass in volume", share, within, (strength,)))
        if solution.breakdown is not None:
            self._gas(solution, name)
        if solution.made_in:
            source, volume = self.vessel(solution.made_in), self.volume(solution.made_in)
            if not volume or solution.species not in source.contents:
                raise Mistake(
                    f"the solution {solution.name} is used before it is made in '{solution.made_in}'",
                    expected="the species weighed or measured there, then made up to the mark",
                )
            held = source.contents[solution.species]()
            self.relations.append(product("concentration", Fraction(solution.count, 1000), held, (name, volume)))
        return name

    def _gas(self, solution: Solution, strength: str) -> None:
        """The volumes of gas that one volume of a solution gives."""
        assert solution.breakdown is not None
        amount = self.new(names.gas_amount(solution), "amount", solution.gas, "from 1 dm³")
        volumes = self.new(names.volume_strength(solution.name), "volume strength", solution.solute)
        molar = self.new(names.MOLAR_VOLUME, "molar volume", solution.gas)
        ratio = solution.breakdown.ratio(solution.gas, solution.species)
        self.relations.append(product("ratio", ratio, amount, (strength,), reaction=solution.breakdown))
        self.relations.append(product("volume strength", 1, volumes, (amount, molar)))

    def measure(self, act: Measure) -> None:
        if act.like:
            self._pour_again(act)
            return
        volume = self.new(act.volume, "volume", act.solution.solute, "added", act.vessel)
        for solution in (act.solution, *act.others):
            self._pour(act, solution, volume)
        self.vessel(act.vessel).volumes.append(volume)

    def _pour_again(self, act: Measure) -> None:
        """The same volume of the same bottle in another vessel: the same amounts, by the same names."""
        for solution in (act.solution, *act.others):
            added = self.procedure.added(solution, act.like)
            if added not in self.variables:
                raise Mistake(
                    f"{act.solution.name} is measured into '{act.vessel}' like into '{act.like}', where none was measured",
                    expected="a vessel of an operation before",
                )
            self.put(act.vessel, solution.species, lambda added=added: added)  # type: ignore[misc]
        self.vessel(act.vessel).volumes.append(act.volume)

    def _pour(self, act: Measure, solution: Solution, volume: str) -> None:
        strength = self.solution_strength(solution)
        species, vessel = solution.species, act.vessel
        bottle = solution.name if (species, vessel) in self.procedure.shared else ""
        name = self.procedure.added(solution, vessel)
        if name in self.variables:
            raise Mistake(
                f"{solution.name} is measured into '{vessel}' twice",
                expected="one line for each bottle and vessel",
                do=f"Add the two volumes, or name the second bottle: 'bottle: second {solution.name}'.",
            )
        added = self.new(name, "amount", species, "added", vessel, bottle=bottle)
        self.relations.append(product("concentration", Fraction(solution.count, 1000), added, (strength, volume)))
        self.put(vessel, species, lambda: added)

    def react(self, act: React) -> None:
        contents = self.vessel(act.vessel).contents
        if act.excess and act.excess not in contents:
            raise Mistake(
                f"{act.excess} is said to be in excess in '{act.vessel}', where none was measured",
                expected="a measured reagent",
            )
        used: list[tuple[str, Fraction]] = []
        spent: list[tuple[str, Reaction]] = []
        for reaction in act.reactions:
            limiting = self._limiting(reaction, act)
            source = contents[limiting]()
            if act.excess:
                used.append((source, reaction.ratio(act.excess, limiting)))
            spent.append((limiting, reaction))
        if act.excess:
            self._leave(act, self._summed(used, " and ".join(limiting for limiting, _ in spent), act.vessel))
        for limiting, reaction in spent:
            self._products(act.vessel, limiting, reaction)
        for limiting, _ in spent:
            contents.pop(limiting, None)

    def _limiting(self, reaction: Reaction, act: React) -> str:
        contents = self.vessel(act.vessel).contents
        present = [s.formula.text for s in reaction.left if s.formula.text in contents and s.formula.text != act.excess]
        if len(present) != 1 or (act.excess and not reaction.has(act.excess)):
            raise Mistake(
                f"in '{act.vessel}' the reaction {reaction} cannot go to the end as described",
                expected=f"one reactant of it measured or weighed{' beside ' + act.excess if act.excess else ''}",
                do=f"In the vessel: {', '.join(contents) or 'nothing'}. Name the one in excess.",
            )
        return present[0]

    def _leave(self, act: React, used: list[tuple[str, Fraction]]) -> None:
        contents = self.vessel(act.vessel).contents
        start = contents[act.excess]()
        spent = self.new(names.amount(act.excess, act.vessel, "reacted"), "amount", act.excess, "reacted", act.vessel)
        left = self.new(
            names.amount(act.excess, act.vessel, "left over"), "amount", act.excess, "left over", act.vessel
        )
        reaction = act.reactions[0]
        if len(used) == 1:
            self.relations.append(product("ratio", used[0][1], spent, (used[0][0],), reaction=reaction))
        else:
            self.relations.append(total("total", spent, tuple(used), reaction))
        self.relations.append(total("balance", spent, ((left, Fraction(-1)), (start, Fraction(1)))))
        if act.told:
            more = self.new(names.excess_share(act.excess), "excess", act.excess)
            self.relations.append(product("excess", Fraction(1, 100), left, (spent, more)))
        contents[act.excess] = lambda: left
        self.vessel(act.vessel).parts.pop(act.excess, None)

    def _products(self, vessel: str, limiting: str, reaction: Reaction) -> None:
        source = self.vessel(vessel).contents[limiting]
        for member in reaction.right:
            made = member.formula.text
            ratio = reaction.ratio(made, limiting)

            def formed(made: str = made, ratio: Fraction = ratio) -> str:
                name = names.amount(made, vessel, "formed")
                if name in self.variables:
                    name = names.amount(made, vessel, f"formed from {limiting}")
                self.new(name, "amount", made, "formed", vessel)
                self.relations.append(product("ratio", ratio, name, (source(),), reaction=reaction))
                return name

            self.put(vessel, made, formed)

    def aliquot(self, act: Aliquot) -> None:
        source, whole = self.vessel(act.vessel), self.volume(act.vessel)
        if not whole:
            raise Mistake(
                f"an aliquot is taken from '{act.vessel}', whose volume is not known",
                expected="a volume measured or made up before it",
            )
        taken = self.new(names.volume_taken(act.into), "volume", "", "aliquot", act.into)
        self.vessel(act.into).volumes = [taken]
        for species, held in source.contents.items():

            def portion(species: str = species, held: Callable[[], str] = held) -> str:
                name = self.new(names.amount(species, act.into), "amount", species, "portion", act.into)
                self.relations.append(product("scale", 1, held(), (name, whole), (taken,)))
                return name

            self.put(act.into, species, portion)

    def titrate(self, act: Titrate) -> None:
        volume = self.new(names.titre(act), "titre", act.titrant.solute, act.name, act.vessel)
        strength = self.solution_strength(act.titrant)
        species = act.titrant.species
        delivered = self.new(names.titrant_amount(act), "amount", species, "titre", act.vessel)
        self.relations.append(
            product("concentration", Fraction(act.titrant.count, 1000), delivered, (strength, volume))
        )
        contents = self.vessel(act.vessel).contents
        if act.sought:
            self._find_ratio(act, delivered)
            return
        needed: list[tuple[str, Fraction]] = []
        spent: list[tuple[str, Reaction]] = []
        for reaction in act.reactions:
            present = [
                s.formula.text for s in reaction.left if s.formula.text in contents and s.formula.text != species
            ]
            if len(present) != 1 or not reaction.has(species):
                raise Mistake(
                    f"the titration with {act.titrant.name} by {reaction} finds nothing to react with in '{act.vessel}'",
                    expected=f"{species} and one species of the vessel on the left of the equation",
                    do=f"In the vessel: {', '.join(contents) or 'nothing'}.",
                )
            needed.append((contents[present[0]](), reaction.ratio(species, present[0])))
            spent.append((present[0], reaction))
        if len(needed) == 1:
            found, ratio = needed[0]
            self.relations.append(product("ratio", 1 / ratio, found, (delivered,), reaction=act.reactions[0]))
        else:
            self.relations.append(total("total", delivered, tuple(needed), act.reactions[0]))
        for found, reaction in spent:
            self._products(act.vessel, found, reaction)
        for found, _ in spent:
            contents.pop(found, None)

    def _find_ratio(self, act: Titrate, delivered: str) -> None:
        """A titration whose reacting ratio is a quantity, perhaps by way of the electrons."""
        contents = self.vessel(act.vessel).contents
        if act.sought not in contents:
            raise Mistake(
                f"the titration with {act.titrant.name} seeks {act.sought}, which is not in '{act.vessel}'",
                expected="a species of the vessel",
                do=f"In the vessel: {', '.join(contents) or 'nothing'}.",
            )
        found = contents.pop(act.sought)()
        name = names.found_ratio(act)
        if act.basicity:
            self.new(name, "basicity", act.sought, species=act.titrant.species)
            self.relations.append(product("found ratio", 1, delivered, (name, found)))
        elif act.electrons:
            self.new(name, "electrons", act.sought)
            taken = self.new(names.electron_amount(act), "amount", "e-", "electrons", act.vessel, act.titrant.species)
            self.relations.append(product("electrons", act.electrons, taken, (delivered,)))
            self.relations.append(product("found ratio", 1, taken, (name, found)))
            if act.element:
                before, after = (names.oxidation_state(act.element, late) for late in (False, True))
                for one, stage in ((before, "before"), (after, "after")):
                    self.new(one, "oxidation state", act.element, stage, species=act.sought)
                self.relations.append(total("oxidation", after, ((before, Fraction(1)), (name, Fraction(1)))))
        else:
            self.new(name, "ratio", act.sought, species=act.titrant.species)
            self.relations.append(product("found ratio", 1, found, (name, delivered)))


def _once(make: Callable[[], str]) -> Callable[[], str]:
    kept: list[str] = []

    def name() -> str:
        if not kept:
            kept.append(make())
        return kept[0]

    return name


def relate(procedure: Procedure, unknown: frozenset[str] = frozenset()) -> System:
    """The quantities and relations of a procedure. `unknown`: substances whose molar mass is not to be taken from the formula.

    Raises Mistake where an operation cannot be done as described (nothing to titrate, an aliquot of an unknown volume).
    """
    builder = _Builder(procedure, unknown)
    for operation in procedure.operations:
        match operation:
            case Weigh():
                builder.weigh(operation)
            case Measure():
                builder.measure(operation)
            case React():
                builder.react(operation)
            case Remove():
                builder.vessel(operation.vessel).contents.pop(operation.species, None)
            case Pass():
                held = builder.vessel(operation.vessel).contents.pop(operation.species, None)
                if held is None:
                    raise Mistake(f"no {operation.species} in '{operation.vessel}' to drive over")
                builder.put(operation.into, operation.species, held)
            case MakeUp():
                name = builder.new(names.volume_made_up(operation.vessel), "volume", "", "made up", operation.vessel)
                builder.vessel(operation.vessel).volumes = [name]
            case Aliquot():
                builder.aliquot(operation)
            case Titrate():
                builder.titrate(operation)
            case Strength():
                builder.solution_strength(operation.solution)
            case Dissolve() | Add() | Warm():
                pass
    return System(builder.variables, tuple(builder.relations), tuple(builder.fixed))
