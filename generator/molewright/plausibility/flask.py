"""What is really in the flask: a procedure and true numbers come in; everything dissolved before the last titration goes out.

Follows by-products and gases too, which the bench leaves out, and in floats: these numbers judge whether an experiment is
plausible and are never printed. It draws nothing, solves for nothing and judges nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.bench.settle import settle
from molewright.chem.reaction import Reaction
from molewright.experiment import quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.procedure import (
    Aliquot,
    MakeUp,
    Measure,
    Operation,
    Pass,
    Procedure,
    React,
    Remove,
    Titrate,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution

Held = Mapping[str, float]
"""What water keeps of a gas that has stopped fizzing, in mol dm⁻³, by its formula."""

_UNKNOWN_WATER_CM3 = 100.0  # where a sample is dissolved and titrated whole, and nobody says in how much water


@dataclass(frozen=True, slots=True)
class Mixed:
    """Species in mol dm⁻³ that are together at one moment; `of_solid`: while a solid is dissolving."""

    concentrations: Mapping[str, float]
    of_solid: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LastFlask:
    """The flask before a titration, most often the last, its titrant's concentration (of the species that reacts) and the titre."""

    amounts: Mapping[str, float]  # in mol
    volume_cm3: float
    titrant: float  # in mol dm⁻³
    titre_cm3: float
    before: tuple[Mixed, ...]  # as it was at each reaction and each mark on the way


@dataclass(slots=True)
class _Vessel:
    amounts: dict[str, float] = field(default_factory=dict)
    volume_cm3: float = 0.0


def last_flask(procedure: Procedure, values: Mapping[Name, Fraction], held: Held) -> LastFlask | None:
    """Follow a procedure up to its last titration; None where the numbers do not say enough, or nothing reacts there."""
    return flask_before(procedure.titrations[-1], procedure, values, held)


def flask_before(
    titration: Titrate, procedure: Procedure, values: Mapping[Name, Fraction], held: Held
) -> LastFlask | None:
    """The same for any one of its titrations."""
    following = _Following(values, held)
    try:
        for operation in procedure.operations:
            if operation is titration:
                return following.before(titration)
            following.follow(operation)
    except (KeyError, ZeroDivisionError):
        pass
    return None


def delivered(titration: Titrate, amounts: Mapping[str, float]) -> float:
    """The amount of the titrant's species that its reactions take, in mol; the first reaction's products serve the next."""
    here = dict(amounts)
    here.pop(titration.titrant.species, None)
    return _titrate(titration, here)


def _titrate(titration: Titrate, here: dict[str, float]) -> float:
    """Turn what is there and return the amount of titrant taken up."""
    titrant = titration.titrant.species
    total = 0.0
    for reaction in titration.reactions:
        extent, needed = 0.0, 0
        for member in reaction.left:
            species = member.formula.text
            if species == titrant:
                needed = member.coefficient
            elif species in here and not extent:
                extent = here[species] / member.coefficient
        total += extent * needed
        _turn(here, reaction, extent)
    return total


def _turn(amounts: dict[str, float], reaction: Reaction, extent: float) -> None:
    for member in reaction.left:
        species = member.formula.text
        if species in amounts:
            amounts[species] -= extent * member.coefficient
    for member in reaction.right:
        species = member.formula.text
        if species != "H2O":
            amounts[species] = amounts.get(species, 0.0) + extent * member.coefficient


class _Following:
    def __init__(self, values: Mapping[Name, Fraction], held: Held) -> None:
        self.held = held
        self.values = values
        self.vessels: dict[str, _Vessel] = {}
        self.mixed: list[Mixed] = []

    def known(self, name: Name) -> float | None:
        found = self.values.get(name)
        return None if found is None else found.numerator / found.denominator

    def number(self, name: Name) -> float:
        found = self.known(name)
        if found is None:
            raise KeyError(name)
        return found

    def vessel(self, name: str) -> _Vessel:
        found = self.vessels.get(name)
        if found is None:
            found = self.vessels[name] = _Vessel()
        return found

    def molar_mass(self, substance: str) -> float:
        found = self.known(quantities.molar_mass(substance))
        if found is not None:
            return found
        if not substance.endswith(".xH2O"):
            raise KeyError(substance)
        return self.molar_mass(substance.removesuffix(".xH2O")) + self.number(
            quantities.water(substance)
        ) * self.molar_mass("H2O")

    def concentration(self, solution: Solution) -> float:
        """Of the solute, in mol dm⁻³."""
        found = self.known(quantities.concentration(solution.name))
        if found is not None:
            return found
        if solution.made_in:
            source = self.vessel(solution.made_in)
            return source.amounts[solution.species] / solution.count / source.volume_cm3 * 1000
        return self.number(quantities.mass_concentration(solution.name)) / self.molar_mass(solution.solute)

    def follow(self, operation: Operation) -> None:
        match operation:
            case Weigh():
                self.weigh(operation)
            case Measure(solution=solution, others=others):
                volume_cm3 = self.number(operation.volume)
                vessel = self.vessel(operation.vessel)
                for one in (solution, *others):
                    added = self.concentration(one) * volume_cm3 / 1000 * one.count
                    vessel.amounts[one.species] = vessel.amounts.get(one.species, 0.0) + added
                vessel.volume_cm3 += volume_cm3
            case React():
                self.react(operation)
            case Settle():
                self.settle(operation)
            case GasVolume(led_in=True):
                self.lead_in(operation)
            case Remove() | GasVolume():
                self.vessel(operation.vessel).amounts.pop(operation.species, None)
            case Pass():
                self.drive_over(operation)
            case MakeUp():
                self.make_up(operation)
            case Aliquot():
                self.take(operation)
            case Titrate(titrant=titrant):
                vessel = self.vessel(operation.vessel)
                vessel.amounts.pop(titrant.species, None)
                taken = _titrate(operation, vessel.amounts)
                vessel.volume_cm3 += taken / (self.concentration(titrant) * titrant.count) * 1000
            case _:
                pass

    def lead_in(self, act: GasVolume) -> None:
        amounts = self.vessel(act.vessel).amounts
        moles = self.number(act.volume) / 1000 / self.number(quantities.MOLAR_VOLUME)
        amounts[act.species] = amounts.get(act.species, 0.0) + moles

    def drive_over(self, act: Pass) -> None:
        into = self.vessel(act.into).amounts
        into[act.species] = into.get(act.species, 0.0) + self.vessel(act.vessel).amounts.pop(act.species)

    def make_up(self, act: MakeUp) -> None:
        vessel = self.vessel(act.vessel)
        vessel.volume_cm3 = self.number(quantities.volume_made_up(act.vessel))
        self.note(vessel)

    def weigh(self, act: Weigh) -> None:
        amounts = self.vessel(act.vessel).amounts
        untold = [content.substance for content in act.contents if not self._told(act, content.substance)]
        rest = untold[-1] if act.pure and len(act.contents) > 1 and len(untold) == 1 else ""
        for content in act.contents:
            if content.substance == rest:
                others = (one.substance for one in act.contents if one.substance != rest)
                mass_g = self.number(quantities.mass(act.sample)) - sum(
                    self._amount_within(act, one) * self.molar_mass(one) for one in others
                )
                moles = mass_g / self.molar_mass(rest)
            else:
                moles = self._amount_within(act, content.substance)
            amounts[content.species] = amounts.get(content.species, 0.0) + moles * content.count

    def _told(self, act: Weigh, substance: str) -> bool:
        known = (quantities.percentage, quantities.mass_within, quantities.substance_amount)
        return any(self.known(name(substance, act.sample)) is not None for name in known)

    def _amount_within(self, act: Weigh, substance: str) -> float:
        share = self.known(quantities.percentage(substance, act.sample))
        if share is not None and act.weighed:
            return self.number(quantities.mass(act.sample)) * share / 100 / self.molar_mass(substance)
        mass_g = self.known(quantities.mass_within(substance, act.sample))
        if mass_g is not None:
            return mass_g / self.molar_mass(substance)
        moles = self.known(quantities.substance_amount(substance, act.sample))
        if moles is not None:
            return moles
        each = self.known(quantities.mass_each(substance, act.pieces)) if act.pieces else None
        if each is not None:
            return each * self.number(quantities.pieces(act.pieces)) / self.molar_mass(substance)
        return self.number(quantities.mass(act.sample)) / self.molar_mass(substance)

    def settle(self, act: Settle) -> None:
        """What is there at equilibrium; its constant or one amount is known, as on the bench."""
        amounts = {one: Fraction(self.vessel(act.vessel).amounts.get(one, 0.0)) for one in (*act.left, *act.right)}
        settle(act, amounts, self.values)
        self.vessel(act.vessel).amounts |= {one: float(amount) for one, amount in amounts.items() if one != "H2O"}

    def react(self, act: React) -> None:
        vessel = self.vessel(act.vessel)
        amounts = vessel.amounts
        settled: list[str] = []
        of_solid = False
        for reaction in act.reactions:
            there = [m for m in reaction.left if m.formula.text in amounts]
            if not there:
                continue
            _turn(amounts, reaction, min(amounts[m.formula.text] / m.coefficient for m in there))
            dissolving = any(member.state == "s" for member in reaction.left)
            of_solid = of_solid or dissolving
            if not dissolving:  # two solutions mixed so that a solid comes down: it lies at the bottom
                settled += [member.formula.text for member in reaction.right if member.state == "s"]
        for species in settled:
            amounts.pop(species, None)
        for gas, most in self.held.items():
            kept = most * vessel.volume_cm3 / 1000
            if amounts.get(gas, 0.0) > kept > 0:
                amounts[gas] = kept
        self.note(vessel, of_solid)

    def note(self, vessel: _Vessel, of_solid: bool = False) -> None:
        if vessel.volume_cm3:
            per_dm3 = 1000 / vessel.volume_cm3
            here = {species: moles * per_dm3 for species, moles in vessel.amounts.items() if moles > 0}
            self.mixed.append(Mixed(here, of_solid))

    def take(self, act: Aliquot) -> None:
        source, into = self.vessel(act.vessel), self.vessel(act.into)
        into.volume_cm3 = self.number(quantities.volume_taken(act.into))
        share = into.volume_cm3 / source.volume_cm3
        for species, moles in source.amounts.items():
            into.amounts[species] = moles * share

    def before(self, act: Titrate) -> LastFlask | None:
        vessel = self.vessel(act.vessel)
        vessel.amounts.pop(act.titrant.species, None)
        titrant = self.concentration(act.titrant) * act.titrant.count
        there = {species: moles for species, moles in vessel.amounts.items() if moles > 1e-12}
        titre_cm3 = delivered(act, there) / titrant * 1000
        if not titre_cm3 > 0:
            return None
        return LastFlask(
            amounts=there,
            volume_cm3=vessel.volume_cm3 or _UNKNOWN_WATER_CM3,
            titrant=titrant,
            titre_cm3=titre_cm3,
            before=tuple(self.mixed),
        )
