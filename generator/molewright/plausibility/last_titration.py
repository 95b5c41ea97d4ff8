"""A titration of a variant: what all its draws share, and the curve at rounded concentrations; no verdicts are given here.

Mostly the last one; those before it, of a blank or to a first end point, are read in the same way.

Concentrations are told apart in steps, and the curve is that of the step's middle, whichever draw came first: so what is found
for a draw is the same in any order of drawing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from molewright.bank.definitions import Indicator, Variant
from molewright.chem.curve import Titration
from molewright.chem.end_point import Verdict, fits
from molewright.chem.masses import relative_mass
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, React, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.machine.same import Same
from molewright.plausibility.flask import LastFlask, delivered
from molewright.plausibility.solutes import Solutes

Rounded = tuple[int | None, ...]

_STEPS = 1 / math.log(1.1)
_METAL_STEPS = 1 / math.log(2)  # a pH of onset shifts by 0.15 where the metal is doubled

# Where people know the colour to stop at, what the colour does before that may take longer: 5 % is a cubic centimetre and more.
_LONGEST_LEAD_PERCENT = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """What is the same for all draws of a variant."""

    titration: Titrate
    kind: int  # variants of one kind have the same chemistry at the end: eggshell and chalk, HCl and HNO3
    judged: bool
    acting: tuple[str, ...]  # species that may be in the last flask and matter to its pH or to a precipitate
    steps: tuple[float, ...]  # how finely the concentration of each is told apart
    limits: Mapping[str, float]  # species -> mol dm⁻³ of the saturated solution
    bottles: tuple[tuple[Name, str, float, float], ...]  # name of a concentration, solute, g in a mole or 1, the limit
    coats: bool  # some sparingly soluble salt, no carbonate, may come down on the way
    clouds: bool  # some may at the end point

    def rounded(self, flask: LastFlask) -> Rounded:
        """Titrant, volume and the concentrations in the flask, in steps."""
        amounts, per_dm3, log = flask.amounts, 1000 / flask.volume_cm3, math.log
        return (
            round(log(flask.titrant) * _STEPS),
            round(log(flask.volume_cm3) * _STEPS),
            *[
                round(log(amounts[one] * per_dm3) * steps) if one in amounts else None
                for one, steps in zip(self.acting, self.steps, strict=True)
            ],
        )


def read_ending(
    variant: Variant, solutes: Solutes, kinds: dict[object, int], titration: Titrate | None = None
) -> Ending:
    """What all draws of a variant share at one titration, the last unless said; `kinds` numbers the chemistries met so far."""
    procedure = variant.procedure
    last = titration or procedure.titrations[-1]
    titrant = last.titrant.species
    partners = [
        [member.formula.text for member in reaction.left if member.formula.text != titrant]
        for reaction in last.reactions
    ]
    judged = solutes.acts(titrant) and all(any(map(solutes.acts, left)) for left in partners)
    species: dict[str, None] = {}
    for operation in procedure.operations:
        match operation:
            case Weigh(contents=contents):
                species.update(dict.fromkeys(content.species for content in contents))
            case Measure(solution=solution):
                species[solution.species] = None
            case React(reactions=reactions) | Titrate(reactions=reactions):
                species.update(dict.fromkeys(m.formula.text for r in reactions for m in (*r.left, *r.right)))
            case _:
                pass
    limits = {one: found for one in species if (found := solutes.saturated(one)) is not None}
    bottles: list[tuple[Name, str, float, float]] = []
    for one in procedure.solutions():
        limit = solutes.saturated(one.solute)
        if limit is not None and not one.made_in:
            bottles.append((quantities.concentration(one.name), one.solute, 1.0, limit))
            mass = float(relative_mass(one.solute, "one place"))
            bottles.append((quantities.mass_concentration(one.name), one.solute, mass, limit))
    pairs = solutes.pairs(species)
    coats = any(not solutes.leaves_as_a_gas(salt.anion) for salt in pairs)  # acid dissolves a carbonate
    acting = tuple(one for one in species if solutes.matters(one))
    places = {one: place for place, one in enumerate((titrant, *acting))}
    alike = (
        solutes.part_played(titrant),
        tuple(map(solutes.part_played, acting)),
        tuple(
            tuple((m.coefficient, solutes.part_played(m.formula.text), places.get(m.formula.text, -1)) for m in side)
            for reaction in last.reactions for side in (reaction.left, reaction.right)
        ),
        tuple(salt.name for salt in pairs),
        any(not solutes.bank.ions[salt.anion].acids for salt in pairs) and Same(variant),
    )  # fmt: skip
    kind = kinds.setdefault(alike, len(kinds))
    steps = tuple(_STEPS if solutes.acts(one) else _METAL_STEPS for one in acting)
    return Ending(
        titration=last,
        kind=kind,
        judged=judged,
        acting=acting,
        steps=steps,
        limits=limits,
        bottles=tuple(bottles),
        coats=coats,
        clouds=bool(pairs),
    )


class EndPoint:
    """The last titration at the middle of a step of concentrations."""

    def __init__(self, solutes: Solutes, ending: Ending, rounded: Rounded) -> None:
        fineness = (_STEPS, _STEPS, *ending.steps)
        titrant, volume, *rest = [
            math.exp(step / steps) if step is not None else 0.0 for step, steps in zip(rounded, fineness, strict=True)
        ]
        self.solutes = solutes
        self._made: dict[tuple[int, str], Titration] = {}
        self.act = ending.titration
        self.titrant = {self.act.titrant.species: titrant}
        self.volume_cm3 = volume
        self.mixture = {one: strength for one, strength in zip(ending.acting, rest, strict=True) if strength}
        amounts = {one: strength * volume / 1000 for one, strength in self.mixture.items()}
        self.titre_cm3 = delivered(self.act, amounts) / titrant * 1000
        self.at_equivalence = volume / (volume + self.titre_cm3)  # what dilution leaves of a concentration

    def titration(self, choice: int, without: str = "") -> Titration:
        """The titration of the mixture, an unknown acid taken as one choice, and perhaps without one of its species."""
        key = (choice, without)
        if key not in self._made:
            self._made[key] = self._titration(choice, without)
        return self._made[key]

    def _titration(self, choice: int, without: str) -> Titration:
        there = {one: strength for one, strength in self.mixture.items() if one != without}
        flask, titrant = self.solutes.dissolved(there, choice), self.solutes.dissolved(self.titrant, choice)
        closed = Titration(flask=flask, flask_cm3=self.volume_cm3, titrant=titrant)
        if not any(solute.gas for solute in flask) or closed.rising:
            return closed
        return Titration(flask=flask, flask_cm3=self.volume_cm3, titrant=titrant, gas_left=self.solutes.gas_kept(there))

    def whole(self) -> dict[str, float]:
        """Flask and titrant together at the equivalence point."""
        found = {one: strength * self.at_equivalence for one, strength in self.mixture.items()}
        for one, strength in self.titrant.items():
            found[one] = found.get(one, 0.0) + strength * (1 - self.at_equivalence)
        return found

    def bystanders(self) -> list[str]:
        """Acids and bases in the flask that no equation of the titration names."""
        named = {member.formula.text for reaction in self.act.reactions for member in reaction.left}
        return [one for one in self.mixture if one not in named and self.solutes.acts(one)]

    def shown_by(self, indicator: Indicator, choice: int, without: str = "") -> Verdict:
        """Whether the indicator shows the equivalence point that the equations say."""
        assert indicator.low is not None
        assert indicator.high is not None
        steep = self.titration(choice, without).steep(self.titre_cm3)
        low, high = float(indicator.low), float(indicator.high)
        if indicator.stop is None:
            return fits(low, high, steep)
        return fits(low, high, steep, stop_ph=float(indicator.stop), spread_percent=_LONGEST_LEAD_PERCENT)

    def gone_percent(self, indicator: Indicator, choice: int) -> float:
        """How late the last of the first colour goes, in per cent of the equivalence volume; infinite where it never does."""
        assert indicator.low is not None
        assert indicator.high is not None
        titration = self.titration(choice)
        at_ph = float(indicator.high if titration.rising else indicator.low)
        return 100 * (titration.volume_at(at_ph) / self.titre_cm3 - 1)
