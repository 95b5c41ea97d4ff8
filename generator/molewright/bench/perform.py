"""The experiment performed forward: truth comes in, titres and the amounts at every station go out, in exact fractions.

The bench only multiplies forward (how much is in, what reacts with it, what is left, what a portion holds, how much titrant
that needs). It never solves for an unknown and shares no formula with `derive`; that is what makes the replay a proof.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from molewright.bench.held import Values, by_subscript, is_told, mass_within
from molewright.bench.meter import product_of_ions, read_meter
from molewright.bench.settle import settle
from molewright.chem.reaction import Reaction
from molewright.experiment import acidity, quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.identity import parted
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Change,
    Content,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Part,
    Pass,
    Procedure,
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.saturating import TellProduct
from molewright.experiment.solution import Solution


class BenchFault(Exception):
    """The experiment cannot be done with these numbers: which rule it breaks and where."""

    def __init__(self, rule: str, detail: str) -> None:
        super().__init__(f"{rule}: {detail}")
        self.rule = rule
        self.detail = detail


@dataclass(slots=True, kw_only=True)
class Readings:
    """What the bench saw: exact titres in cm³, amounts in mol by name, the share of each excess reagent used up.

    `told` are quantities that a procedure without a titration tells: concentrations of solutions made in it, in mol dm⁻³ and
    in g dm⁻³, and by how much a reagent is in excess, in per cent. `meters` are pH values by the equilibria of all that is in the
    vessel, as floats.
    """

    titres: dict[Name, Fraction] = field(default_factory=dict)
    told: dict[Name, Fraction] = field(default_factory=dict)
    amounts: dict[Name, Fraction] = field(default_factory=dict)
    used: dict[str, Fraction] = field(default_factory=dict)
    meters: dict[Name, float] = field(default_factory=dict)


@dataclass(slots=True)
class _Vessel:
    amounts: dict[str, Fraction] = field(default_factory=dict)
    volume_cm3: Fraction = Fraction(0)
    titrated_cm3: Fraction = Fraction(0)


class _Bench:
    def __init__(self, values: Values, procedure: Procedure) -> None:
        self.values = values
        self.procedure = procedure
        self.lasting = procedure.lasting  # species that some reaction takes up; by-products are not followed
        self.vessels: dict[str, _Vessel] = {}
        self.seen = Readings()

    def vessel(self, name: str) -> _Vessel:
        found = self.vessels.get(name)
        if found is None:
            found = self.vessels[name] = _Vessel()
        return found

    def molar_mass(self, substance: str) -> Fraction:
        known = self.values.get(quantities.molar_mass(substance))
        if known is not None:
            return known
        if not substance.endswith(".xH2O"):
            letter, count, rest = parted(substance)
            atoms = self.values[quantities.atomic_mass(letter)] * count
            return atoms + self.molar_mass(rest) if rest else atoms
        salt = substance.removesuffix(".xH2O")
        water_count = self.values[quantities.water(substance)]
        return self.molar_mass(salt) + water_count * self.molar_mass("H2O")

    def concentration(self, solution: Solution) -> Fraction:
        known = self.values.get(quantities.concentration(solution.name))
        if known is not None:
            return known
        if solution.made_in:
            return self._made(solution)
        if solution.equivalents and quantities.normality(solution.name) in self.values:
            return self.values[quantities.normality(solution.name)] / solution.equivalents
        share = self.values.get(quantities.percentage_by_mass(solution.name)) if solution.by_mass else None
        if share is not None:  # of so many grams of the solution in 1 dm³
            return self.values[quantities.density(solution.name)] * 10 * share / self.molar_mass(solution.solute)
        volumes = self.values.get(quantities.volume_strength(solution.name))
        if volumes is not None and solution.breakdown is not None:
            each = solution.breakdown.ratio(solution.species, solution.gas)
            return volumes / self.values[quantities.MOLAR_VOLUME] * each
        within = (
            self.values.get(quantities.mass_in(solution.told_in_cm3, solution.name)) if solution.told_in_cm3 else None
        )
        if within is not None:
            return within / solution.told_in_cm3 * 1000 / self.molar_mass(solution.solute)
        by_weight = self._known_strength(solution)
        return self._of_two_parts(solution) if by_weight is None else by_weight

    def _of_two_parts(self, solution: Solution) -> Fraction:
        """The concentration of a solution that is a whole, or a part of one, from the two others."""
        for act in self.procedure.every(Part):
            others = [one for one in (act.whole, act.rest, act.part) if one.name != solution.name]
            if len(others) == 2:
                first, second = (self._known_strength(one) for one in others)
                if first is not None and second is not None:
                    return first + second if solution.name == act.whole.name else first - second
        raise KeyError(quantities.mass_concentration(solution.name))

    def _known_strength(self, solution: Solution) -> Fraction | None:
        known = self.values.get(quantities.concentration(solution.name))
        weight = self.values.get(quantities.mass_concentration(solution.name))
        return known if known is not None or weight is None else weight / self.molar_mass(solution.solute)

    def _made(self, solution: Solution) -> Fraction:
        """The concentration of a solution made in a vessel, from what is in it."""
        source = self.vessel(solution.made_in)
        return source.amounts[solution.species] / solution.count / source.volume_cm3 * 1000

    # ------------------------------------------------------------ operations

    def weigh(self, act: Weigh) -> None:
        vessel = self.vessel(act.vessel)
        if act.by_difference and quantities.mass(act.sample) not in self.values:
            full, emptied = (self.values[quantities.bottle_mass(act.sample, gone)] for gone in (False, True))
            self.values = {**self.values, quantities.mass(act.sample): full - emptied}
        if act.subscript:
            self.values = {**self.values, **by_subscript(self.values, self.molar_mass, act)}
        untold = [content for content in act.contents if not is_told(self.values, act, content.substance)]
        rest = untold[-1] if act.pure and len(act.contents) > 1 and len(untold) == 1 else None
        for content in act.contents:
            if content is rest:
                others = (self._mass_within(act, one) for one in act.contents if one is not rest)
                mass_g = self.values[quantities.mass(act.sample)] - sum(others)
                if mass_g < 0:
                    raise BenchFault("a mixture of both", f"no {content.substance} would be in {act.sample}")
            else:
                mass_g = self._mass_within(act, content)
            moles = mass_g / self.molar_mass(content.substance)
            self.seen.amounts[quantities.substance_amount(content.substance, act.sample)] = moles
            self.seen.amounts[quantities.mass_within(content.substance, act.sample)] = mass_g
            vessel.amounts[content.species] = vessel.amounts.get(content.species, 0) + moles * content.count

    def _mass_within(self, act: Weigh, content: Content) -> Fraction:
        return mass_within(self.values, self.molar_mass, act, content)

    def measure_gas(self, act: GasVolume) -> None:
        """A gas that leaves and fills a volume, or fills one and comes in."""
        amounts, molar_dm3 = self.vessel(act.vessel).amounts, self.values[quantities.MOLAR_VOLUME]
        if act.led_in:
            moles = self.values[act.volume] / 1000 / molar_dm3
            amounts[act.species] = amounts.get(act.species, Fraction(0)) + moles
        elif act.species not in amounts:
            raise BenchFault("something to react", f"no {act.species} is given off in {act.vessel}")
        else:
            self.seen.told[act.volume] = amounts.pop(act.species) * molar_dm3 * 1000

    def measure(self, act: Measure) -> None:
        volume_cm3 = self.values[act.volume]
        vessel = self.vessel(act.vessel)
        for solution in (act.solution, *act.others):
            strength = self.concentration(solution)
            moles = strength * volume_cm3 * solution.count / 1000
            vessel.amounts[solution.species] = vessel.amounts.get(solution.species, 0) + moles
            self.seen.amounts[self.procedure.added(solution, act.vessel)] = moles
        vessel.volume_cm3 += volume_cm3

    def react(self, act: React) -> None:
        amounts = self.vessel(act.vessel).amounts
        before = amounts.get(act.excess, Fraction(0))
        for reaction in act.reactions:
            there = [
                (amounts[member.formula.text] / member.coefficient, member.formula.text)
                for member in reaction.left
                if member.formula.text in amounts
            ]
            if not there:
                raise BenchFault("something to react", f"nothing of {reaction} was measured into {act.vessel}")
            extent, limiting = min(there)
            if limiting in reaction.helpers and limiting != act.excess and len(there) > 1:
                raise BenchFault("enough acid or alkali", f"the {limiting} runs out in {reaction}")
            self._turn(amounts, reaction, extent)
            if limiting != act.excess:
                amounts[limiting] *= 0  # a look on floats would leave a trace of it
        if act.excess:
            left = amounts[act.excess]
            spent = before - left
            leftovers = [m.formula.text for r in act.reactions for m in r.left if m.formula.text != act.excess]
            if left <= 0 or any(amounts.get(species, 0) > 0 for species in leftovers):
                raise BenchFault("reagent in excess", f"all the {act.excess} reacts")
            self.seen.amounts[quantities.amount(act.excess, act.vessel, "left over")] = left
            self.seen.amounts[quantities.amount(act.excess, act.vessel, "reacted")] = spent
            self.seen.used[act.excess] = spent / before
            if act.told:
                self.seen.told[quantities.excess_share(act.excess)] = left / spent * 100

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
        volume_cm3 = self.values[quantities.volume_taken(act.into)]
        if volume_cm3 >= source.volume_cm3:
            raise BenchFault(
                "aliquot smaller than its flask", f"{_plain(volume_cm3)} cm³ of {_plain(source.volume_cm3)} cm³"
            )
        share = volume_cm3 / source.volume_cm3
        into = self.vessel(act.into)
        into.volume_cm3 = volume_cm3
        for species, moles in source.amounts.items():
            self.seen.amounts[quantities.amount(species, act.into, "portion")] = into.amounts[species] = (
                moles * share if moles else moles
            )

    def titrate(self, act: Titrate) -> None:
        amounts = self.vessel(act.vessel).amounts
        titrant = act.titrant.species
        delivered = self._by_ratio(act, amounts) if act.sought else Fraction(0)
        for reaction in act.reactions:
            met = reaction.meeting(titrant, amounts)
            if not met:
                raise BenchFault("something to react", f"nothing in {act.vessel} takes part in {reaction}")
            coefficients = {m.formula.text: m.coefficient for m in reaction.left}
            extent = amounts[met[0]] / coefficients[met[0]]
            needed = coefficients[titrant]
            delivered += extent * needed
            amounts.pop(titrant, None)
            self._turn(amounts, reaction, extent)
        self.seen.amounts[act.delivered] = delivered
        strength = self.concentration(act.titrant)
        if act.titrant.count != 1:
            strength *= act.titrant.count
        if strength <= 0:
            raise BenchFault("titrant of some strength", f"{act.titrant.name} has no {titrant}")
        titre_cm3 = self.seen.titres[act.titre] = delivered / strength * 1000
        self.vessel(act.vessel).titrated_cm3 += titre_cm3

    def _by_ratio(self, act: Titrate, amounts: dict[str, Fraction]) -> Fraction:
        """Titrant for what is sought, by the true ratio."""
        held = amounts.pop(act.sought)
        ratio = self._ratio(act)
        if act.basicity:
            return held * ratio
        return held * ratio / act.electrons if act.electrons else held / ratio

    def _ratio(self, act: Titrate) -> Fraction:
        known = self.values.get(act.found_ratio)
        if known is None and act.element:  # each step of the oxidation state is an electron
            before, after = (self.values[quantities.oxidation_state(act.element, late)] for late in (False, True))
            return after - before
        return self.values[act.found_ratio] if known is None else known

    def perform(self) -> Readings:
        for operation in self.procedure.operations:
            self._follow(operation)
        return self.seen

    def _follow(self, operation: Operation) -> None:
        match operation:
            case Weigh():
                self.weigh(operation)
            case Measure():
                self.measure(operation)
            case React():
                self.react(operation)
            case Settle():
                settle(operation, self.vessel(operation.vessel).amounts, self.values)
            case Remove() | Pass() | Change():
                self.move(operation)
            case GasVolume():
                self.measure_gas(operation)
            case MakeUp(vessel=vessel):
                self.vessel(vessel).volume_cm3 = self.values[quantities.volume_made_up(vessel)]
            case Aliquot():
                self.aliquot(operation)
            case Titrate():
                self.titrate(operation)
            case TellProduct() | ReadPH() | Strength():
                self.tell(operation)
            case Dissolve() | Add() | Warm() | Part():
                pass
            case _:
                assert_never(operation)

    def tell(self, act: TellProduct | ReadPH | Strength) -> None:
        """What is found out without a titration: a solubility product, a pH, a strength."""
        match act:
            case TellProduct():
                beside = self.concentration(act.beside) if act.beside is not None else Fraction(0)
                name = acidity.solubility_product(act.solution.solute, act.cations + act.anions)
                self.seen.told[name] = product_of_ions(act, self.concentration(act.solution), beside)
            case ReadPH():
                self.read_ph(act)
            case Strength(solution=solution):
                made = self.seen.told[quantities.concentration(solution.name)] = self._made(solution)
                self.seen.told[quantities.mass_concentration(solution.name)] = made * self.molar_mass(solution.solute)
            case _:
                assert_never(act)

    def read_ph(self, act: ReadPH) -> None:
        """What a meter shows, with all that came out of the burette in the vessel."""
        vessel = self.vessel(act.vessel)
        volume_cm3 = float(vessel.volume_cm3 + vessel.titrated_cm3)
        self.seen.meters[acidity.ph_in(act.vessel)] = read_meter(act, vessel.amounts, volume_cm3, self.values)

    def move(self, act: Remove | Pass | Change) -> None:
        """A species that leaves a vessel, or of which more or less is there afterwards."""
        here = self.vessel(act.vessel).amounts
        if isinstance(act, Change):
            if act.species in here:
                here[act.species] *= act.times
        elif isinstance(act, Pass):
            gas, into = here.pop(act.species), self.vessel(act.into).amounts
            into[act.species] = into.get(act.species, Fraction(0)) + gas
        else:
            here.pop(act.species, None)


def _plain(number: Fraction) -> str:
    return f"{float(number):g}"


def perform(procedure: Procedure, values: Values) -> Readings:
    """Perform the procedure on true values (g, cm³, mol dm⁻³, g mol⁻¹, %), exactly.

    Raises BenchFault where the numbers do not allow it: the excess reagent runs out, the aliquot is larger than its flask; and
    KeyError with the name of a number that is not there.
    """
    return _Bench(values, procedure).perform()
