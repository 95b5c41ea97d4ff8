"""A draw comes in; the rule of chemistry that it breaks goes out with its reason, or nothing for a plausible draw.

The rules: indicator, gas, hydroxide, solubility, salt; those of redox, precipitation and EDTA titrations stand in modules of
their own.

Everything is computed from what is really in the flask (left-over reagent, products, gas, metal ions), never looked up in a list
of allowed pairs. It changes no number and draws none.
"""

from __future__ import annotations

import math

from molewright.bank.definitions import Bank, Indicator, Variant
from molewright.chem.end_point import Verdict
from molewright.chem.equilibrium import ph
from molewright.chem.formula_scripts import unicode_text
from molewright.chem.solubility import onset_ph, precipitates_before
from molewright.draw.chosen import Draw
from molewright.experiment.procedure import Titrate
from molewright.experiment.saturating import TellProduct
from molewright.machine.same import Same
from molewright.plausibility.added import Reader
from molewright.plausibility.edta import EdtaRules
from molewright.plausibility.flask import LastFlask, flask_before, last_flask
from molewright.plausibility.indicators import NO_COLOURS, IndicatorKinds, in_order
from molewright.plausibility.last_titration import Ending, EndPoint, Rounded, read_ending
from molewright.plausibility.precipitation import PrecipitationRules
from molewright.plausibility.redox import RedoxRules
from molewright.plausibility.saturated import unsaturated
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]  # the rule, and the reason in words

# A hydrated metal ion gives up protons before its hydroxide is seen, and tables of Ksp disagree by up to 0.6 in this pH.
HYDROXIDE_MARGIN_PH = 1.0

# A first end point half-way is never sharp: people titrate until the last of the colour is gone, to a per cent or so (common practice;
# I. M. Kolthoff and others, Quantitative Chemical Analysis, say the same of phenolphthalein with carbonate).
HALF_WAY_PERCENT = 1.5

_MOST_KEPT = 200_000  # verdicts


class Plausibility:
    """Judges draws by the equilibria of the bank; keeps verdicts from one draw to the next."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.solutes = Solutes(bank)
        self._endings: dict[Same, Ending] = {}
        self._kinds: dict[object, int] = {}
        self._earlier: dict[Same, tuple[tuple[Ending, bool], ...]] = {}
        self._kept: dict[tuple[int, str, Rounded, bool], Refused | None] = {}
        self._unfit: dict[tuple[Same, str], Refused | None] = {}
        self._rises: dict[tuple[int, Rounded], bool] = {}
        reader = Reader(bank)
        self.of_its_kind = IndicatorKinds(bank, reader.natures)
        self._further = tuple(
            rules(bank, self.solutes, reader) for rules in (RedoxRules, PrecipitationRules, EdtaRules)
        )
        self._concerned: dict[Same, tuple[RedoxRules | PrecipitationRules | EdtaRules, ...]] = {}

    # ------------------------------------------------------------ doors

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks, with the reason in words; None for a plausible draw."""
        if not draw.variant.procedure.titrations:
            return None
        refused = self._unlike(draw)
        if refused is not None:
            return refused
        for rules in self._rules(draw.variant):
            refused = rules.refusal(draw)
            if refused is not None:
                return refused
        for earlier, half_way in self._before_the_last(draw.variant):
            refused = self._refusal_before(earlier, half_way, draw)
            if refused is not None:
                return refused
        ending = self._ending(draw.variant)
        if not ending.judged:
            return None
        flask = last_flask(draw.variant.procedure, draw.truth, self.solutes.held)
        if flask is None:
            return None
        return (
            (self._coated(flask) if ending.coats else None)
            or self._saturated(ending, draw, flask)
            or self._verdict(ending, ending.titration.indicator or draw.indicator, flask)
        )

    def suitable_indicators(self, variant: Variant, draw: Draw) -> tuple[str, ...]:
        """Every indicator of the bank that shows the last end point of these numbers; the variant's own where pH tells nothing."""
        ending = self._ending(variant)
        flask = last_flask(variant.procedure, draw.truth, self.solutes.held) if ending.judged else None
        if flask is None:
            return variant.indicators
        ranged = (name for name, indicator in self.bank.indicators.items() if indicator.low is not None)
        return tuple(name for name in ranged if self._verdict(ending, name, flask) is None)

    def colour_change(self, draw: Draw) -> tuple[str, str]:
        """The indicator's colour before the last end point and at it, in the order in which this flask shows them.

        Two empty ones where there is no indicator, or where neither flask nor burette tell what happens to it.
        """
        ending = self._ending(draw.variant)
        act = ending.titration
        indicator = self.bank.indicators.get(act.indicator or draw.indicator)
        if indicator is None:
            return NO_COLOURS
        judged = ending.judged and indicator.follows_ph and self.of_its_kind.exchanges_protons(act)
        flask = last_flask(draw.variant.procedure, draw.truth, self.solutes.held) if judged else None
        if flask is None:
            return self.of_its_kind.by_burette(act, indicator)
        return in_order(indicator, self._rising(ending, flask))

    def unjudged(self, draw: Draw) -> tuple[str, ...]:
        """What the bank of ions lacks for judging an indicator that follows pH, or one of which nobody can tell what it does here."""
        titrations = draw.variant.procedure.titrations
        return self.unknown(draw) if titrations and self._lacking(titrations[-1], draw.indicator) else ()

    def _lacking(self, act: Titrate, picked: str) -> bool:
        """Whether an indicator is judged by what the bank of ions says of everything there."""
        indicator = self.bank.indicators.get(act.indicator or picked)
        untold = indicator is not None and indicator.follows_ph and not self.of_its_kind.tells(act, indicator)
        return untold or self.solutes.acts(act.titrant.species)

    def unknown(self, draw: Draw) -> tuple[str, ...]:
        """Species at the last titration that the bank of ions does not know; nothing can be said of them."""
        flask = last_flask(draw.variant.procedure, draw.truth, self.solutes.held)
        titrant = draw.variant.procedure.titrations[-1].titrant.species
        return tuple(one for one in (titrant, *(flask.amounts if flask else ())) if self.solutes.parts(one) is None)

    # ------------------------------------------------------------ what is the same for a variant

    def _ending(self, variant: Variant) -> Ending:
        key = Same(variant)
        kept = self._endings.get(key)
        if kept is None:
            kept = self._endings[key] = read_ending(variant, self.solutes, self._kinds)
        return kept

    def _before_the_last(self, variant: Variant) -> tuple[tuple[Ending, bool], ...]:
        """The titrations before the last that can be judged by pH, and whether the same flask is titrated on after each."""
        key = Same(variant)
        kept = self._earlier.get(key)
        if kept is None:
            endings: list[tuple[Ending, bool]] = []
            titrations = variant.procedure.titrations
            for at, one in enumerate(titrations[:-1], 1):
                ending = read_ending(variant, self.solutes, self._kinds, one)
                if ending.judged and (
                    one.indicator or (variant.indicators and variant.procedure.indicator(one, "picked"))
                ):
                    endings.append((ending, any(one.vessel == later.vessel for later in titrations[at:])))
            kept = self._earlier[key] = tuple(endings)
        return kept

    def _rules(self, variant: Variant) -> tuple[RedoxRules | PrecipitationRules | EdtaRules, ...]:
        """The rules of redox, precipitation and EDTA that concern a variant."""
        key = Same(variant)
        kept = self._concerned.get(key)
        if kept is None:
            concerned = tuple(rules for rules in self._further if rules.concerns(variant))
            kept = self._concerned[key] = concerned
        return kept

    def _unlike(self, draw: Draw) -> Refused | None:
        """An indicator that is not of the kind of its titration's equation."""
        key = (Same(draw.variant), draw.indicator)
        if key not in self._unfit:
            procedure, told = draw.variant.procedure, ""
            for act in procedure.titrations:
                indicator = self.bank.indicators.get(procedure.indicator(act, draw.indicator))
                told = told or (self.of_its_kind.unfit(act, indicator) if indicator is not None else "")
            self._unfit[key] = ("indicator", told) if told else None
        return self._unfit[key]

    # ------------------------------------------------------------ solubility

    def _saturated(self, ending: Ending, draw: Draw, flask: LastFlask) -> Refused | None:
        for name, solute, mass, limit in ending.bottles:
            strength = draw.truth.get(name)
            if strength is not None and strength > limit * mass:
                return self._too_much(solute, float(strength) / mass, limit)
        for species, limit in ending.limits.items():
            for mixed in flask.before:
                found = mixed.concentrations.get(species, 0.0)
                if found > limit:
                    return self._too_much(species, found, limit)
        for act in draw.variant.procedure.every(TellProduct):
            saturated = self.solutes.saturated(act.solution.solute)
            reason = unsaturated(act, draw.truth, saturated) if saturated is not None else None
            if reason is not None:
                return "saturated", reason
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
                return self._sparing(salt.anion, f"{salt.name} is sparingly soluble and comes down{coats}")
        return None

    def _sparing(self, anion: str, reason: str) -> Refused:
        """Of the salt of an acid or of another one: another acid mends the first."""
        return ("salt" if self.bank.ions[anion].acids else "solubility", reason)

    # ------------------------------------------------------------ a flask, in steps

    def _refusal_before(self, ending: Ending, half_way: bool, draw: Draw) -> Refused | None:
        procedure = draw.variant.procedure
        flask = flask_before(ending.titration, procedure, draw.truth, self.solutes.held)
        indicator = procedure.indicator(ending.titration, draw.indicator)
        return self._verdict(ending, indicator, flask, half_way) if flask is not None else None

    def _verdict(self, ending: Ending, indicator: str, flask: LastFlask, half_way: bool = False) -> Refused | None:
        rounded = ending.rounded(flask)
        key = (ending.kind, indicator, rounded, half_way)
        if key not in self._kept:
            if len(self._kept) > _MOST_KEPT:
                self._kept.clear()
            judge = self._judged_half_way if half_way else self._judged
            self._kept[key] = judge(ending, indicator, rounded)
        return self._kept[key]

    def _judged_half_way(self, ending: Ending, name: str, rounded: Rounded) -> Refused | None:
        """A first end point after which the same flask is titrated on."""
        indicator = self.bank.indicators.get(name)
        if indicator is None or indicator.low is None:
            return ("indicator", f"{name} does not follow pH")
        end = EndPoint(self.solutes, ending, rounded)
        if not end.titre_cm3 > 0:
            return None
        for choice in range(self.solutes.choices((*ending.acting, ending.titration.titrant.species))):
            error = end.gone_percent(indicator, choice)
            if not abs(error) <= HALF_WAY_PERCENT:
                told = (
                    "never goes"
                    if math.isinf(error)
                    else f"is gone {abs(error):.1f} % {'early' if error < 0 else 'late'}"
                )
                return ("indicator", f"at the first end point the colour of {name} {told}")
        return None

    def _judged(self, ending: Ending, name: str, rounded: Rounded) -> Refused | None:
        indicator = self.bank.indicators.get(name)
        if indicator is None:
            return None
        if indicator.low is None or indicator.high is None:
            return ("indicator", f"{name} does not follow pH")
        end = EndPoint(self.solutes, ending, rounded)
        if not end.titre_cm3 > 0:
            return None
        for choice in range(self.solutes.choices((*ending.acting, ending.titration.titrant.species))):
            refused = self._shown(end, indicator, choice) or self._clouded(ending, end, indicator, choice)
            if refused is not None:
                return refused
        return None

    def _rising(self, ending: Ending, flask: LastFlask) -> bool:
        key = (ending.kind, ending.rounded(flask))
        if key not in self._rises:
            self._rises[key] = EndPoint(self.solutes, ending, key[1]).titration(0).rising
        return self._rises[key]

    # ------------------------------------------------------------ indicator and carbon dioxide

    def _shown(self, end: EndPoint, indicator: Indicator, choice: int) -> Refused | None:
        verdict = end.shown_by(indicator, choice)
        if verdict:
            return None
        for bystander in end.bystanders():
            if end.shown_by(indicator, choice, bystander):
                if bystander in self.solutes.held:
                    return (
                        "gas",
                        f"{self.bank.name_of(bystander)} left in the flask takes up alkali before {indicator.name} has "
                        f"changed: {_error(verdict)}",
                    )
                ion = unicode_text(self.solutes.acting_ion(bystander))
                return ("indicator", f"{ion} in the flask reacts too: {_error(verdict)}")
        return ("indicator", f"{indicator.name} does not show this end point: {_error(verdict)}")

    # ------------------------------------------------------------ hydroxides and other precipitates at the end point

    def _clouded(self, ending: Ending, end: EndPoint, indicator: Indicator, choice: int) -> Refused | None:
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
                    f"and {indicator.name} changes up to pH {indicator.high}: {HYDROXIDE_MARGIN_PH:g} must lie between, "
                    f"so an indicator would do that has changed by pH {onset - HYDROXIDE_MARGIN_PH:.1f}" if rising
                    else f"and the flask starts at pH {at_ph:.1f}"
                )  # fmt: skip
                return ("hydroxide", f"{hydroxide.solid} comes down from about pH {onset:.1f}, {told}")
        if ending.clouds:
            stop = indicator.stop if indicator.stop is not None else (indicator.low + indicator.high) / 2
            salt = self.solutes.precipitating(end.whole(), float(stop))
            if salt is not None:
                return self._sparing(salt.anion, f"{salt.name} comes down in the flask")
        return None


def _error(verdict: Verdict) -> str:
    if math.isinf(verdict.end_point_cm3):
        return "the colour never changes"
    if verdict.finishes_cm3 == 0:
        return "the colour has changed before any titrant is added"
    side = "early" if verdict.error_percent < 0 else "late"
    if abs(verdict.error_percent) <= 0.5:
        return "the colour drifts, without a sharp end point"
    return f"the end point is {abs(verdict.error_percent):.1f} % {side}"
