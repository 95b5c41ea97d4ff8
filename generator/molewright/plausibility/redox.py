"""A draw of a redox or iodine titration comes in; the rule that it breaks goes out with its reason, or nothing.

The rules: acid, temperature, strength, iodide, alkali, indicator. Each follows from what is poured into the flask and from the
numbers on the bottles; what each species needs, and what spoils it, is told by banks/redox.yaml.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import fsum

from molewright.bank.definitions import Bank, RedoxEntry, Variant, Warmth
from molewright.chem.equilibrium import ph
from molewright.draw.chosen import Draw
from molewright.experiment import quantities
from molewright.experiment.procedure import Titrate
from molewright.experiment.quantities import Name
from molewright.machine.same import Same
from molewright.plausibility.added import Plenty, Reader
from molewright.plausibility.flask import last_flask
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Kept:
    refused: Refused | None
    bottles: tuple[tuple[Name, str, float, bool], ...]  # name of a concentration, species, limit, in the burette
    measured: (
        bool  # whether something in the last flask was measured that matters to its pH, or that holds what was made
    )


class RedoxRules:
    """Keeps what follows from the procedure alone from one draw to the next."""

    def __init__(self, bank: Bank, solutes: Solutes, reader: Reader) -> None:
        self.bank, self.solutes, self.reader = bank, solutes, reader
        self._kept: dict[tuple[Same, str], _Kept] = {}

    def concerns(self, variant: Variant) -> bool:
        """Whether anything that the bank says something of in redox is titrated, or titrated with."""
        return any(_species(one) & self.bank.redox.keys() for one in variant.procedure.titrations)

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks."""
        key = (Same(draw.variant), draw.indicator)
        kept = self._kept.get(key)
        if kept is None:
            kept = self._kept[key] = self._read(draw)
        if kept.refused is not None:
            return kept.refused
        for name, species, limit, titrant in kept.bottles:
            strength = draw.truth.get(name)
            if strength is not None and strength > limit:
                why = "is stronger than a burette of it is used" if titrant else "is more than dissolves"
                return ("strength", f"{species} at {float(strength):.3g} mol dm⁻³ {why}, {limit:g} mol dm⁻³")
        return self._in_flask(draw) if kept.measured else None

    def _entries(self, titration: Titrate) -> list[RedoxEntry]:
        """What the bank says of everything that reacts in a titration, in the bank's order."""
        involved = _species(titration)
        return [one for one in dict.fromkeys(self.bank.redox.values()) if involved.intersection(one.species)]

    def _read(self, draw: Draw) -> _Kept:
        variant = draw.variant
        bottles: list[tuple[Name, str, float, bool]] = []
        for bottle in variant.procedure.solutions():
            entry = self.bank.redox.get(bottle.species)
            if entry is not None and entry.saturated is not None:
                bottles.append((quantities.concentration(bottle.name), bottle.species, entry.saturated, False))
        for titration in variant.procedure.titrations:
            bottle = titration.titrant
            entry = self.bank.redox.get(bottle.species)
            if entry is not None and entry.strongest is not None:
                bottles.append((quantities.concentration(bottle.name), bottle.species, entry.strongest, True))
        refused = next((found for one in variant.procedure.titrations for found in self._judged(one, draw)), None)
        last = self._entries(variant.procedure.titrations[-1])
        there = _there(variant)
        holders = [entry.made.source for entry in last if entry.made is not None]
        limits = any(entry.low_ph or entry.high_ph for entry in last)
        held = any(self._gives(one, holder) for one in there for holder in holders)
        measured = held or (limits and any(self.solutes.acts(one) for one in there))
        return _Kept(refused, tuple(bottles), measured)

    # ------------------------------------------------------------ from the procedure alone

    def _judged(self, titration: Titrate, draw: Draw) -> Iterator[Refused]:
        plenty = self.reader.plenty(draw.variant.procedure, titration)
        involved, entries = _species(titration), self._entries(titration)
        there = _there(draw.variant)
        yield from self._spoilt(entries, involved, {*plenty.solutes, *there})
        for entry in entries:
            yield from self._acid(entry, titration, plenty, there)
        for entry in entries:
            if entry.warmth is not None and entry.warmth.reacts_with in involved:
                yield from _warmth(entry.warmth, plenty)
        for species in involved:
            yield from self._shown(species, titration.indicator or draw.indicator)
        for entry in entries:
            yield from self._made(entry, plenty, draw.variant)
        for entry in entries:
            yield from self._in_plenty(entry, plenty)

    def _spoilt(self, entries: list[RedoxEntry], involved: set[str], there: set[str]) -> Iterator[Refused]:
        """Something there that reacts as well, where electrons are titrated."""
        if not any(entry.oxidant for entry in entries):
            return
        for what, reason in (one for entry in entries for one in entry.spoilt_by):
            if what not in involved and any(self._gives(one, what) for one in there):
                yield ("acid", reason)

    def _acid(self, entry: RedoxEntry, titration: Titrate, plenty: Plenty, there: set[str]) -> Iterator[Refused]:
        needed = entry.acids and ("H+" in _species(titration) or titration.sought)
        if needed and plenty.acid not in entry.acids and not there.intersection(entry.acids):
            first = self.bank.name_of(entry.acids[0])
            yield ("acid", f"without {first} {entry.without_acid}")

    def _shown(self, species: str, indicator: str) -> Iterator[Refused]:
        """An indicator that the banks know must be that of a species that has one of its own."""
        showing = [one.name for one in self.bank.indicators.values() if one.shows == species]
        if indicator not in self.bank.indicators:
            return  # of an indicator that the banks do not know nothing can be said
        if showing and indicator not in showing:
            yield ("indicator", f"{indicator} does not show {self.bank.name_of(species)}")

    def _made(self, entry: RedoxEntry, plenty: Plenty, variant: Variant) -> Iterator[Refused]:
        if entry.made is None or not _reacts_before(entry.made.source, variant):
            return
        if not any(self._gives(one, entry.made.source) for one in (*plenty.solutes, *_there(variant))):
            yield ("iodide", entry.made.none)

    def _in_plenty(self, entry: RedoxEntry, plenty: Plenty) -> Iterator[Refused]:
        """The acid or the alkali that is there in plenty when it is titrated."""
        mild = entry.high_ph is not None and self.reader.natures.mild_up_to(plenty.alkali, entry.high_ph[0])
        if plenty.alkali and entry.high_ph is not None and not mild:
            yield ("alkali", f"{entry.high_ph[1]} in alkali")
        for acid, reason in entry.not_in:
            if plenty.acid == acid:
                yield ("acid", reason)
        strong = self.reader.natures.gives_hydrogen_ions(plenty.acid) and "concentrated" in plenty.words
        if strong and entry.low_ph is not None:
            yield ("acid", f"{entry.low_ph[1]} in strong acid")

    def _gives(self, species: str, what: str) -> bool:
        """Whether a species is an acid or ion, or brings that ion along."""
        return species == what or self.reader.natures.gives(species, what)

    # ------------------------------------------------------------ from the numbers

    def _in_flask(self, draw: Draw) -> Refused | None:
        """What was measured into the flask: its pH, and what is left to hold what was made from it in solution."""
        procedure = draw.variant.procedure
        last = procedure.titrations[-1]
        flask = last_flask(procedure, draw.truth, self.solutes.held)
        if flask is None:
            return None
        entries = self._entries(last)
        for entry in entries:
            if entry.made is not None and _reacts_before(entry.made.source, draw.variant):
                made = fsum(flask.amounts.get(one, 0.0) for one in entry.species)
                if flask.amounts.get(entry.made.source, made) < made:
                    return ("iodide", entry.made.little)
        per_dm3 = 1000 / flask.volume_cm3
        there = self.solutes.dissolved({one: moles * per_dm3 for one, moles in flask.amounts.items() if moles > 0})
        if not there:
            return None
        at_ph = ph(there)
        for entry in entries:
            if entry.high_ph and at_ph > entry.high_ph[0] and not self.reader.plenty(procedure, last).acid:
                return ("alkali", f"the flask is at pH {at_ph:.1f}, where {entry.high_ph[1]}")
            if entry.low_ph and at_ph < entry.low_ph[0]:
                return ("acid", f"the flask is at pH {at_ph:.1f}, where {entry.low_ph[1]}")
        return None


def _warmth(warmth: Warmth, plenty: Plenty) -> Iterator[Refused]:
    if plenty.warmed_c is None or plenty.warmed_c < warmth.low_c:
        yield ("temperature", warmth.below)
    elif plenty.warmed_c > warmth.high_c:
        yield ("temperature", f"{warmth.above} at {plenty.warmed_c:g} °C")


def _reacts_before(species: str, variant: Variant) -> bool:
    """Whether a reaction before the titration uses a species."""
    return any(member.formula.text == species for reaction in variant.procedure.equations for member in reaction.left)


def _species(titration: Titrate) -> set[str]:
    """Everything that reacts in a titration, the titrant too."""
    left = {member.formula.text for reaction in titration.reactions for member in reaction.left}
    return left | {titration.titrant.species}


def _there(variant: Variant) -> set[str]:
    """What is weighed or measured, by substance and by what it gives."""
    weighed = {one for content in variant.procedure.contents for one in (content.substance, content.species)}
    return weighed | {one for bottle in variant.procedure.poured for one in (bottle.solute, bottle.species)}
