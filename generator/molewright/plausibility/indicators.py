"""A titration and an indicator come in; whether it is of the kind of the equation goes out, and the order of its two colours.

What the burette holds decides the order: EDTA or a metal ion, an oxidant or a reductant, alkali or acid. Judges no sharpness and
computes no curve.
"""

from __future__ import annotations

from molewright.bank.definitions import Bank, EdtaAcid, EdtaIndicator, Indicator, PrecipitationIndicator
from molewright.experiment.procedure import Titrate
from molewright.plausibility.natures import Natures

Colours = tuple[str, str]
NO_COLOURS: Colours = ("", "")
BLEACHED = "colourless"


class IndicatorKinds:
    """What the indicators of one bank show."""

    def __init__(self, bank: Bank, natures: Natures) -> None:
        self.bank, self.natures = bank, natures
        self._edta = next((one.titrated_as for one in bank.edta if isinstance(one, EdtaAcid)), "")
        self._of_metals = frozenset(one.indicator for one in bank.edta if isinstance(one, EdtaIndicator))
        self._of_solids = {
            one.indicator: one.shows for one in bank.precipitation if isinstance(one, PrecipitationIndicator)
        }
        self._of_halves = frozenset(entry.reaction for entry in bank.reactions if entry.halves is not None)

    # ------------------------------------------------------------ the kind of a titration

    def exchanges_electrons(self, act: Titrate) -> bool:
        """Whether electrons change hands: an oxidant of the bank reacts, what an indicator shows, or two half-equations say so."""
        shown = {one.shows for one in self.bank.indicators.values() if one.shows}
        return (
            any(self.natures.is_oxidant(one) for one in species_of(act))
            or bool(shown & species_of(act))
            or any(reaction in self._of_halves for reaction in act.reactions)
        )

    def exchanges_protons(self, act: Titrate) -> bool:
        """Whether an acid or an alkali is run in, and no electrons change hands."""
        return self.natures.solutes.acts(act.titrant.species) and not self.exchanges_electrons(act)

    def unfit(self, act: Titrate, indicator: Indicator) -> str:
        """Why an indicator is not of the kind of a titration; "" where it is, and where nothing is known of the equation."""
        if indicator.follows_ph:
            bleached = act.titrant.species in indicator.bleached_by
            if self.exchanges_electrons(act) and not bleached:
                return f"{indicator.name} follows pH, and this titration exchanges electrons"
        elif self.exchanges_protons(act) and not self._reacts_with_metals(act):
            return f"{indicator.name} does not follow pH"
        elif self.exchanges_electrons(act):
            if not indicator.electrons and self._as_the_bank_has_them(act, indicator) is None:
                return f"{indicator.name} does not show the end of an exchange of electrons"
        elif indicator.electrons and self._reacts_with_metals(act):
            return f"{indicator.name} shows electrons, and this titration exchanges none"
        return ""

    def tells(self, act: Titrate, indicator: Indicator) -> bool:
        """Whether the bank knows what happens to an indicator in a titration, so that its colours may be asked for."""
        return self.by_burette(act, indicator) != NO_COLOURS

    def _reacts_with_metals(self, act: Titrate) -> bool:
        return self._edta in species_of(act)

    # ------------------------------------------------------------ the order of its colours

    def by_burette(self, act: Titrate, indicator: Indicator) -> Colours:
        """The colours before and at the end point, told by what is run in; two empty ones where that tells nothing."""
        titrant = act.titrant.species
        if titrant in indicator.bleached_by:
            return (indicator.acid_colour, BLEACHED)
        if indicator.follows_ph:
            return self._by_ph(act, indicator)
        before, after = indicator.acid_colour, indicator.base_colour
        first = self._as_the_bank_has_them(act, indicator)
        if first is None:
            return NO_COLOURS
        return (before, after) if first else (after, before)

    def _by_ph(self, act: Titrate, indicator: Indicator) -> Colours:
        titrant = act.titrant.species
        if self.exchanges_electrons(act):
            return NO_COLOURS
        if self.natures.is_acid(titrant):
            return in_order(indicator, rising=False)
        return in_order(indicator, rising=True) if self.natures.is_base(titrant) else NO_COLOURS

    def _as_the_bank_has_them(self, act: Titrate, indicator: Indicator) -> bool | None:
        """Whether the colours come in the order of the bank; None where the titration is of another kind."""
        titrant = act.titrant.species
        if indicator.shows:
            return titrant != indicator.shows if indicator.shows in species_of(act) else None
        if indicator.electrons:
            oxidants = {one for one in species_of(act) if self.natures.is_oxidant(one)}
            return titrant in oxidants if oxidants else None
        if indicator.name in self._of_metals:
            return titrant == self._edta if self._edta in species_of(act) else None
        if indicator.name in self._of_solids:
            return True if self._of_solids[indicator.name] == titrant else None
        return True  # somebody's own, of which nothing but its colours is known


def in_order(indicator: Indicator, rising: bool) -> Colours:
    """The colours of an indicator that follows pH, up to the one at which a pupil stops."""
    if rising:
        return (indicator.acid_colour, indicator.middle_colour or indicator.base_colour)
    return (indicator.base_colour, indicator.middle_colour or indicator.acid_colour)


def species_of(act: Titrate) -> set[str]:
    """Everything that reacts in a titration, the titrant too."""
    return {member.formula.text for reaction in act.reactions for member in reaction.left} | {act.titrant.species}
