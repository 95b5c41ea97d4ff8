"""The experiment performed forward: truth comes in, titres and the amounts at every station go out, in exact fractions.

The bench only multiplies forward (how much is in, what reacts with it, what is left, what a portion holds, how much titrant
that needs). It never solves for an unknown and shares no formula with `derive`; that is what makes the replay a proof.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from generator.chem.reaction import Reaction
from generator.question import procedure as names
from generator.question.procedure import (
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
    Titrate,
    Weigh,
)

Values = Mapping[str, Fraction]


class BenchFault(Exception):
    """The experiment cannot be done with these numbers: which rule it breaks and where."""

    def __init__(self, rule: str, detail: str) -> None:
        super().__init__(f"{rule}: {detail}")
        self.rule = rule
        self.detail = detail


@dataclass(slots=True)
class Readings:
    """What the bench saw: exact titres in cm³, amounts in mol by name, and the share of each excess reagent used up."""

    titres: dict[str, Fraction] = field(default_factory=dict)
    amounts: dict[str, Fraction] = field(default_factory=dict)
    used: dict[str, Fraction] = field(default_factory=dict)


@dataclass(slots=True)
class _Vessel:
    amounts: dict[str, Fraction] = field(default_factory=dict)
    volume_cm3: Fraction = Fraction(0)


class _Bench:
    def __init__(self, values: Values, lasting: frozenset[str]) -> None:
        self.values = values
        self.lasting = lasting  # species that some reaction takes up; by-products are not followed
        self.vessels: dict[str, _Vessel] = {}
        self.seen = Readings()

    def vessel(self, name: str) -> _Vessel:
        found = self.vessels.get(name)
        if found is None:
            found = self.vessels[name] = _Vessel()
        return found

    def molar_mass(self, substance: str) -> Fraction:
        known = self.values.get(names.molar_mass(substance))
        if known is not None:
            return known
        salt = substance.removesuffix(".xH2O")
        water_count = self.values[names.water(substance)]
        return self.molar_mass(salt) + water_count * self.molar_mass("H2O")

    def concentration(self, solution: Solution) -> Fraction:
        known = self.values.get(names.concentration(solution.name))
        if known is not None:
            return known
        if solution.made_in:
            source = self.vessel(solution.made_in)
            return source.amounts[solution.species] / solution.count / source.volume_cm3 * 1000
        return self.values[names.mass_concentration(solution.name)] / self.molar_mass(solution.solute)

    # ------------------------------------------------------------ operations

    def weigh(self, act: Weigh) -> None:
        vessel = self.vessel(act.vessel)
        for content in act.contents:
            mass_g = self._mass_within(act, content)
            moles = mass_g / self.molar_mass(content.substance)
            self.seen.amounts[names.substance_amount(content.substance, act.sample)] = moles
            self.seen.amounts[names.mass_within(content.substance, act.sample)] = mass_g
            vessel.amounts[content.species] = vessel.amounts.get(content.species, 0) + moles * content.count

    def _mass_within(self, act: Weigh, content: Content) -> Fraction:
        values = self.values
        share = values.get(names.percentage(content.substance, act.sample))
        if share is not None and act.weighed:
            return values[names.mass(act.sample)] * share / 100
        within = values.get(names.mass_within(content.substance, act.sample))
        if within is not None:
            return within
        held = values.get(names.substance_amount(content.substance, act.sample))
        if held is not None:
            return held * self.molar_mass(content.substance)
        if act.pieces:
            each = values.get(names.mass_each(content.substance, act.pieces))
            if each is not None:
                return each * values[names.pieces(act.pieces)]
        return values[names.mass(act.sample)]

    def measure(self, act: Measure) -> None:
        volume_cm3 = self.values[names.volume_measured(act.solution.name, act.vessel)]
        strength = self.concentration(act.solution)
        moles = strength * volume_cm3 * act.solution.count / 1000
        vessel = self.vessel(act.vessel)
        vessel.amounts[act.solution.species] = vessel.amounts.get(act.solution.species, 0) + moles
        vessel.volume_cm3 += volume_cm3
        self.seen.amounts[names.amount(act.solution.species, act.vessel, "added")] = moles

    def react(self, act: React) -> None:
        amounts = self.vessel(act.vessel).amounts
        before = amounts.get(act.excess, Fraction(0))
        for reaction in act.reactions:
            extent = min(
                amounts[member.formula.text] / member.coefficient
                for member in reaction.left
                if member.formula.text in amounts
            )
            self._turn(amounts, reaction, extent)
        if act.excess:
            left = amounts[act.excess]
            spent = before - left
            leftovers = [m.formula.text for r in act.reactions for m in r.left if m.formula.text != act.excess]
            if left <= 0 or any(amounts.get(species, 0) > 0 for species in leftovers):
                raise BenchFault("reagent in excess", f"all the {act.excess} reacts")
            self.seen.amounts[names.amount(act.excess, act.vessel, "left over")] = left
            self.seen.amounts[names.amount(act.excess, act.vessel, "reacted")] = spent
            self.seen.used[act.excess] = spent / before

    def _turn(self, amounts: dict[str, Fraction], reaction: Reaction, extent: Fraction) -> None:
        """Turn reactants into products; what was never measured in is there in plenty and is not counted."""
        for member in reaction.left:
            used = member.formula.text
            if used in amounts:
                amounts[used] -= extent if member.coefficient == 1 else extent * member.coefficient
        for member in reaction.right:
            made = member.formula.text
            if made in self.lasting:
                amounts[made] = amounts.get(made, 0) + extent * member.coefficient

    def aliquot(self, act: Aliquot) -> None:
        source = self.vessel(act.vessel)
        volume_cm3 = self.values[names.volume_taken(act.into)]
        if volume_cm3 >= source.volume_cm3:
            raise BenchFault("aliquot smaller than its flask", f"{volume_cm3} of {source.volume_cm3} cm³")
        share = volume_cm3 / source.volume_cm3
        into = self.vessel(act.into)
        into.volume_cm3 = volume_cm3
        for species, moles in source.amounts.items():
            self.seen.amounts[names.amount(species, act.into)] = into.amounts[species] = (
                moles * share if moles else moles
            )

    def titrate(self, act: Titrate) -> None:
        amounts = self.vessel(act.vessel).amounts
        titrant = act.titrant.species
        delivered = Fraction(0)
        for reaction in act.reactions:
            sought = next(m for m in reaction.left if m.formula.text in amounts and m.formula.text != titrant)
            extent = amounts[sought.formula.text] / sought.coefficient
            needed = next(m.coefficient for m in reaction.left if m.formula.text == titrant)
            delivered += extent * needed
            amounts.pop(titrant, None)
            self._turn(amounts, reaction, extent)
        self.seen.amounts[names.titrant_amount(act)] = delivered
        strength = self.concentration(act.titrant)
        if act.titrant.count != 1:
            strength *= act.titrant.count
        if strength <= 0:
            raise BenchFault("titrant of some strength", f"{act.titrant.name} has no {titrant}")
        self.seen.titres[names.titre(act)] = delivered / strength * 1000

    def perform(self, procedure: Procedure) -> Readings:
        for operation in procedure.operations:
            match operation:
                case Weigh():
                    self.weigh(operation)
                case Measure():
                    self.measure(operation)
                case React():
                    self.react(operation)
                case Remove():
                    self.vessel(operation.vessel).amounts.pop(operation.species, None)
                case Pass():
                    gas = self.vessel(operation.vessel).amounts.pop(operation.species)
                    into = self.vessel(operation.into).amounts
                    into[operation.species] = into.get(operation.species, Fraction(0)) + gas
                case MakeUp():
                    self.vessel(operation.vessel).volume_cm3 = self.values[names.volume_made_up(operation.vessel)]
                case Aliquot():
                    self.aliquot(operation)
                case Titrate():
                    self.titrate(operation)
                case Dissolve():
                    pass
        return self.seen


def perform(procedure: Procedure, values: Values) -> Readings:
    """Perform the procedure on true values (g, cm³, mol dm⁻³, g mol⁻¹, %), exactly.

    Raises BenchFault where the numbers do not allow it: the excess reagent runs out, the aliquot is larger than its flask.
    """
    return _Bench(values, procedure.lasting).perform(procedure)
