"""A draw comes in; the rule of chemistry that it breaks goes out with its reason, or nothing for a plausible draw.

The rules: indicator, carbon dioxide, hydroxide, solubility, sulfate.

Everything is computed from what is really in the flask (left-over reagent, products, gas, metal ions), never looked up in a list
of allowed pairs. Only titrations of an acid with a base are judged. It changes no number and draws none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from generator.bank.definitions import Bank, Indicator, Variant
from generator.chem.curve import Titration
from generator.chem.end_point import Verdict, fits
from generator.chem.equilibrium import ph
from generator.chem.formula import unicode_text
from generator.chem.solubility import onset_ph, precipitates_before
from generator.question import procedure as names
from generator.question.draw import Draw
from generator.question.flask import HELD_CARBON_DIOXIDE, LastFlask, delivered, last_flask
from generator.question.procedure import React, Titrate, Weigh
from generator.question.solutes import CARBON_DIOXIDE, SULFATE, Solutes

Refused = tuple[str, str]  # the rule, and the reason in words

# A hydrated metal ion gives up protons before its hydroxide is seen, and tables of Ksp disagree by up to 0.6 in this pH.
HYDROXIDE_MARGIN_PH = 1.0

# Verdicts are kept for concentrations in steps of a tenth and are those of the step's middle, whichever draw came first:
# so a paper is the same in any order of drawing.
_STEPS = 1 / math.log(1.1)
_METAL_STEPS = 1 / math.log(2)  # a pH of onset shifts by 0.15 where the metal is doubled
_MOST_KEPT = 200_000

# Where people know the colour to stop at, what the colour does before that may take longer: 5 % is a cubic centimetre and more.
_LONGEST_LEAD_PERCENT = 5.0

Rounded = tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class _Profile:
    """What is the same for all draws of a variant."""

    variant: Variant  # kept, so that its id stays its own
    titration: Titrate
    kind: int  # variants of one kind have the same chemistry at the end: eggshell and chalk, NaOH and KOH
    judged: bool
    acting: tuple[str, ...]  # species that may be in the last flask and matter to its pH or to a precipitate
    steps: tuple[float, ...]  # how finely the concentration of each is told apart
    limits: Mapping[str, float]  # species -> mol dm⁻³ of the saturated solution
    bottles: tuple[tuple[str, str, float], ...]  # name of a concentration, its solute, the limit
    coats: bool  # some sparingly soluble salt, no carbonate, may come down on the way
    clouds: bool  # some may at the end point


class Plausibility:
    """Judges draws by the equilibria of the bank; keeps verdicts from one draw to the next."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.solutes = Solutes(bank)
        self._profiles: dict[int, _Profile] = {}
        self._kinds: dict[object, int] = {}
        self._kept: dict[tuple[int, str, Rounded], Refused | None] = {}
        self._rises: dict[tuple[int, Rounded], bool] = {}

    # ------------------------------------------------------------ doors

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks, with the reason in words; None for a plausible draw."""
        profile = self._profile(draw.variant)
        if not profile.judged:
            return None
        flask = last_flask(draw.variant.procedure, draw.truth)
        if flask is None:
            return None
        return (
            (self._coated(flask) if profile.coats else None)
            or self._saturated(profile, draw, flask)
            or self._verdict(profile, profile.titration.indicator or draw.indicator, flask)
        )

    def suitable_indicators(self, variant: Variant, draw: Draw) -> tuple[str, ...]:
        """Every indicator of the bank that shows the last end point of these numbers; the variant's own where pH tells nothing."""
        profile = self._profile(variant)
        flask = last_flask(variant.procedure, draw.truth) if profile.judged else None
        if flask is None:
            return variant.indicators
        ranged = (name for name, indicator in self.bank.indicators.items() if indicator.low is not None)
        return tuple(name for name in ranged if self._verdict(profile, name, flask) is None)

    def colour_change(self, draw: Draw) -> tuple[str, str]:
        """The indicator's colour before the last end point and at it, in the order in which this flask shows them.

        For an indicator that does not follow pH, or where nothing is known of the flask: as the bank has them.
        """
        profile = self._profile(draw.variant)
        indicator = self.bank.indicators.get(profile.titration.indicator or draw.indicator)
        if indicator is None:
            return ("", "")
        flask = last_flask(draw.variant.procedure, draw.truth) if profile.judged else None
        if flask is None or indicator.low is None or self._rising(profile, flask):
            return (indicator.acid_colour, indicator.middle_colour or indicator.base_colour)
        return (indicator.base_colour, indicator.middle_colour or indicator.acid_colour)

    def unknown(self, draw: Draw) -> tuple[str, ...]:
        """Species at the last titration that the bank of ions does not know; nothing can be said of them."""
        flask = last_flask(draw.variant.procedure, draw.truth)
        titrant = draw.variant.procedure.titrations[-1].titrant.species
        return tuple(one for one in (titrant, *(flask.amounts if flask else ())) if self.solutes.parts(one) is None)

    # ------------------------------------------------------------ what is the same for a variant

    def _profile(self, variant: Variant) -> _Profile:
        kept = self._profiles.get(id(variant))
        if kept is None:
            kept = self._profiles[id(variant)] = self._read(variant)
        return kept

    def _read(self, variant: Variant) -> _Profile:
        procedure, solutes = variant.procedure, self.solutes
        last = procedure.titrations[-1]
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
                case React(reactions=reactions) | Titrate(reactions=reactions):
                    species.update(dict.fromkeys(m.formula.text for r in reactions for m in (*r.left, *r.right)))
                case _:
                    pass
        limits = {one: limit for one in species if (limit := solutes.saturated(one)) is not None}
        bottles = tuple(
            (names.concentration(one.name), one.solute, limit)
            for one in procedure.solutions()
            if not one.made_in and (limit := solutes.saturated(one.solute)) is not None
        )
        pairs = solutes.pairs(species)
        coats = any(not solutes.is_carbonic(salt.anion) for salt in pairs)  # acid dissolves a carbonate
        acting = tuple(one for one in species if solutes.matters(one))
        alike = (
            solutes.part_played(titrant),
            tuple(map(solutes.part_played, acting)),
            tuple(
                tuple((m.coefficient, solutes.part_played(m.formula.text), m.formula.text in (titrant, *acting)) for m in side)
                for reaction in last.reactions for side in (reaction.left, reaction.right)
            ),
            tuple(salt.name for salt in pairs),
            any(not self.bank.ions[salt.anion].acids for salt in pairs) and id(variant),
        )  # fmt: skip
        kind = self._kinds.setdefault(alike, len(self._kinds))
        steps = tuple(_STEPS if solutes.acts(one) else _METAL_STEPS for one in acting)
        return _Profile(variant, last, kind, judged, acting, steps, limits, bottles, coats, bool(pairs))

    # ------------------------------------------------------------ solubility

    def _saturated(self, profile: _Profile, draw: Draw, flask: LastFlask) -> Refused | None:
        for name, solute, limit in profile.bottles:
            strength = draw.truth.get(name)
            if strength is not None and strength > limit:
                return self._too_much(solute, float(strength), limit)
        for species, limit in profile.limits.items():
            for mixed in flask.before:
                found = mixed.concentrations.get(species, 0.0)
                if found > limit:
                    return self._too_much(species, found, limit)
        return None

    def _too_much(self, species: str, found: float, limit: float) -> Refused:
        return (
            "solubility",
            f"{self.bank.name_of(species)} would be at {found:.3g} mol dm⁻³, and {limit:.3g} mol dm⁻³ is saturated",
        )

    def _coated(self, flask: LastFlask) -> Refused | None:
        """A sparingly soluble salt that comes down while a solid dissolves: it coats the solid, and the reaction stops."""
        for mixed in flask.before:
            there = dict(mixed.concentrations)
            salt = self.solutes.precipitating(there, ph(self.solutes.dissolved(there)))
            if salt is not None:
                coats = ", and coats the solid that is to dissolve" if mixed.of_solid else ""
                return _sparing(salt.anion, f"{salt.name} is sparingly soluble and comes down{coats}")
        return None

    # ------------------------------------------------------------ the last flask, in steps

    def _rounded(self, profile: _Profile, flask: LastFlask) -> Rounded:
        amounts, per_dm3, log = flask.amounts, 1000 / flask.volume_cm3, math.log
        return (
            round(log(flask.titrant) * _STEPS),
            round(log(flask.volume_cm3) * _STEPS),
            *[
                round(log(amounts[one] * per_dm3) * steps) if one in amounts else None
                for one, steps in zip(profile.acting, profile.steps, strict=True)
            ],
        )

    def _verdict(self, profile: _Profile, indicator: str, flask: LastFlask) -> Refused | None:
        rounded = self._rounded(profile, flask)
        key = (profile.kind, indicator, rounded)
        if key not in self._kept:
            if len(self._kept) > _MOST_KEPT:
                self._kept.clear()
            self._kept[key] = self._judged(profile, indicator, rounded)
        return self._kept[key]

    def _judged(self, profile: _Profile, name: str, rounded: Rounded) -> Refused | None:
        indicator = self.bank.indicators.get(name)
        if indicator is None:
            return None
        if indicator.low is None or indicator.high is None:
            return ("indicator", f"{name} does not follow pH")
        end = _End(self.solutes, profile, rounded)
        for choice in range(self.solutes.choices((*profile.acting, profile.titration.titrant.species))):
            refused = self._shown(end, indicator, choice) or self._clouded(profile, end, indicator, choice)
            if refused is not None:
                return refused
        return None

    def _rising(self, profile: _Profile, flask: LastFlask) -> bool:
        key = (profile.kind, self._rounded(profile, flask))
        if key not in self._rises:
            self._rises[key] = _End(self.solutes, profile, key[1]).titration(0).rising
        return self._rises[key]

    # ------------------------------------------------------------ indicator and carbon dioxide

    def _shown(self, end: _End, indicator: Indicator, choice: int) -> Refused | None:
        verdict = end.shown_by(indicator, choice)
        if verdict:
            return None
        for bystander in end.bystanders():
            if end.shown_by(indicator, choice, bystander):
                if bystander == CARBON_DIOXIDE:
                    return (
                        "carbon dioxide",
                        f"carbon dioxide left in the flask takes up alkali before {indicator.name} has changed: "
                        f"{_error(verdict)}",
                    )
                ion = unicode_text(self.solutes.acting_ion(bystander))
                return ("indicator", f"{ion} in the flask reacts too: {_error(verdict)}")
        return ("indicator", f"{indicator.name} does not show this end point: {_error(verdict)}")

    # ------------------------------------------------------------ hydroxides and other precipitates at the end point

    def _clouded(self, profile: _Profile, end: _End, indicator: Indicator, choice: int) -> Refused | None:
        assert indicator.high is not None
        assert indicator.low is not None
        titration = end.titration(choice)
        rising = titration.rising
        # Alkali run in: the flask is most alkaline when the change is complete. Acid run in: it is so at the start.
        at_ph = float(indicator.high) + HYDROXIDE_MARGIN_PH if rising else titration.ph_at(0)
        mixture = {s: c * (end.at_equivalence if rising else 1) for s, c in end.mixture.items()}
        loose = {s: c for s, c in mixture.items() if not self.solutes.is_its_own_hydroxide(s)}
        for metal, concentration in self.solutes.ions(loose).items():
            hydroxide = self.solutes.hydroxides.get(metal)
            if hydroxide is not None and precipitates_before(hydroxide, concentration, at_ph):
                onset = onset_ph(hydroxide, concentration)
                told = (
                    f"and {indicator.name} changes up to pH {indicator.high}" if rising
                    else f"and the flask starts at pH {at_ph:.1f}"
                )  # fmt: skip
                return ("hydroxide", f"{hydroxide.solid} comes down from about pH {onset:.1f}, {told}")
        if profile.clouds:
            stop = indicator.stop if indicator.stop is not None else (indicator.low + indicator.high) / 2
            salt = self.solutes.precipitating(end.whole(), float(stop))
            if salt is not None:
                return _sparing(salt.anion, f"{salt.name} comes down in the flask")
        return None


class _End:
    """The last titration at the middle of a step of concentrations."""

    def __init__(self, solutes: Solutes, profile: _Profile, rounded: Rounded) -> None:
        fineness = (_STEPS, _STEPS, *profile.steps)
        titrant, volume, *rest = [
            math.exp(step / steps) if step is not None else 0.0 for step, steps in zip(rounded, fineness, strict=True)
        ]
        self.solutes = solutes
        self._made: dict[tuple[int, str], Titration] = {}
        self.act = profile.titration
        self.titrant = {self.act.titrant.species: titrant}
        self.volume_cm3 = volume
        self.mixture = {one: strength for one, strength in zip(profile.acting, rest, strict=True) if strength}
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
        closed = Titration(flask, self.volume_cm3, titrant)
        if not any(solute.gas for solute in flask) or closed.rising:
            return closed
        return Titration(flask, self.volume_cm3, titrant, gas_left=HELD_CARBON_DIOXIDE)

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
        assert indicator.low is not None
        assert indicator.high is not None
        steep = self.titration(choice, without).steep(self.titre_cm3)
        low, high = float(indicator.low), float(indicator.high)
        if indicator.stop is None:
            return fits(low, high, steep)
        return fits(low, high, steep, stop_ph=float(indicator.stop), spread_percent=_LONGEST_LEAD_PERCENT)


def _error(verdict: Verdict) -> str:
    if math.isinf(verdict.end_point_cm3):
        return "the colour never changes"
    if verdict.finishes_cm3 == 0:
        return "the colour has changed before any titrant is added"
    side = "early" if verdict.error_percent < 0 else "late"
    if abs(verdict.error_percent) <= 0.5:
        return "the colour drifts, without a sharp end point"
    return f"the end point is {abs(verdict.error_percent):.1f} % {side}"


def _sparing(anion: str, reason: str) -> Refused:
    return ("sulfate" if anion == SULFATE else "solubility", reason)
