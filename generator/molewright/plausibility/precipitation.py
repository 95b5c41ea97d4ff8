"""A draw of a titration by precipitation comes in; the rule that it breaks goes out with its reason, or nothing.

The rules: acid, alkali, indicator, precipitate. Computed from the solubility products of the bank, from what banks/precipitation.yaml
says of indicators, and from the pH of what is in the flask.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from molewright.bank.definitions import Bank, Precipitant, PrecipitationIndicator, SparingSalt, Variant
from molewright.chem.equilibrium import ph
from molewright.chem.solubility import SparingSolid, ionic_product
from molewright.draw.chosen import Draw
from molewright.experiment.procedure import Remove, Titrate
from molewright.machine.same import Same
from molewright.plausibility.added import Plenty, Reader
from molewright.plausibility.flask import LastFlask, last_flask
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]

LARGEST_ERROR_PERCENT = 0.5  # as for indicators of acids and bases
TITRATED_PKSP = 8.0  # from here on a solid of two ions takes up what is titrated; common practice, no source


class PrecipitationRules:
    """Keeps what follows from the procedure alone from one draw to the next."""

    def __init__(self, bank: Bank, solutes: Solutes, reader: Reader) -> None:
        self.bank, self.solutes, self.reader = bank, solutes, reader
        self.precipitants = {one.ion: one for one in bank.precipitation if isinstance(one, Precipitant)}
        self._kept: dict[tuple[Same, str], Refused | None] = {}
        self._phs: dict[tuple[tuple[str, int], ...], float] = {}

    def concerns(self, variant: Variant) -> bool:
        """Whether an ion is run in that precipitates what it is titrated with."""
        return variant.procedure.titrations[-1].titrant.species in self.precipitants

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks."""
        last = draw.variant.procedure.titrations[-1]
        name = last.indicator or draw.indicator
        key = (Same(draw.variant), draw.indicator)
        if key not in self._kept:
            self._kept[key] = next(self._judged(draw.variant, last, name), None)
        refused = self._kept[key]
        shown = self.indicator(last.titrant.species, name)
        if refused is not None or shown is None or shown.low is None or shown.high is None:
            return refused
        flask = last_flask(draw.variant.procedure, draw.truth, self.solutes.held)
        return None if flask is None else self._in_flask(last, shown, (shown.low, shown.high), flask)

    def indicator(self, titrant: str, name: str) -> PrecipitationIndicator | None:
        """What the bank says of an indicator that shows this titrant in excess; None where it does not show it."""
        entries = (one for one in self.bank.precipitation if isinstance(one, PrecipitationIndicator))
        return next((one for one in entries if one.shows == titrant and one.indicator == name), None)

    # ------------------------------------------------------------ from the procedure alone

    def _judged(self, variant: Variant, last: Titrate, name: str) -> Iterator[Refused]:
        titrant = last.titrant.species
        plenty = self.reader.plenty(variant.procedure, last)
        yield from self._brought(last, plenty)
        shown = self.indicator(titrant, name)
        if shown is None and name and name not in self.bank.indicators:
            return  # of an indicator that the banks do not know nothing can be said
        if shown is None:
            told = self.bank.name_of(titrant)
            yield ("indicator", f"{name} does not show {told} in excess" if name else f"nothing shows {told} in excess")
        elif shown.needs_acid and plenty.acid != shown.needs_acid:
            yield ("acid", shown.without_acid)
        elif plenty.acid and not shown.needs_acid:
            yield ("acid", f"the acid in the flask {shown.in_acid}, so {name} changes late or not at all")
        elif plenty.alkali:
            yield ("alkali", f"{self.precipitants[titrant].in_alkali} in alkali")
        for cation in self._titrated_by(last):
            yield from self._dissolving(salts_of(self.bank, cation), titrant, _left(variant))

    def _titrated_by(self, act: Titrate) -> list[str]:
        """The cations of a titration that the titrant's ions precipitate."""
        left = {member.formula.text for reaction in act.reactions for member in reaction.left}
        return [salt.cation for salt in self.bank.sparing if salt.anion == act.titrant.species and salt.cation in left]

    def _brought(self, act: Titrate, plenty: Plenty) -> Iterator[Refused]:
        """An acid whose own ions take up what is titrated, or what it is titrated with."""
        natures = self.reader.natures
        for cation in (act.titrant.species, *self._titrated_by(act)):
            for anion, salt in salts_of(self.bank, cation).items():
                acids = [one for one in plenty.solutes if natures.is_acid(one) and natures.gives(one, anion)]
                if acids and salt.solid.pksp >= TITRATED_PKSP:
                    acid, ion = self.bank.substances[acids[0]].solution, self.bank.name_of(anion)
                    yield ("acid", f"{acid} brings {ion} of its own")

    def _dissolving(self, salts: dict[str, SparingSalt], titrant: str, there: set[str]) -> Iterator[Refused]:
        """A solid there that is more soluble than the one that the titrant makes, and so gives its cation up to it."""
        own = salts[titrant]
        for salt in salts.values():
            if salt.solid.solid in there and salt.solid.pksp < own.solid.pksp:
                ratio = 10 ** (own.solid.pksp - salt.solid.pksp)
                yield ("precipitate", f"{salt.name} is {ratio:.0f} times as soluble as {own.name} "
                                      f"and reacts with {self.bank.name_of(titrant)} unless it is filtered off")  # fmt: skip

    # ------------------------------------------------------------ from the numbers

    def _in_flask(
        self, act: Titrate, shown: PrecipitationIndicator, between: tuple[float, float], flask: LastFlask
    ) -> Refused | None:
        at_ph = self._ph(flask)
        low, high = between
        if at_ph < low:
            return ("acid", f"the flask is at pH {at_ph:.1f}, and {shown.indicator} needs pH {low:g} to {high:g}")
        if at_ph > high:
            in_alkali = self.precipitants[act.titrant.species].in_alkali
            return ("alkali", f"the flask is at pH {at_ph:.1f}, where {in_alkali}")
        if not shown.ion:
            return None
        strength = strength_at(shown, at_ph)
        ions = self.solutes.ions({one: moles / flask.volume_cm3 * 1000 for one, moles in flask.amounts.items()})
        for salt in self.bank.sparing:
            counts = (salt.solid.cations, salt.solid.anions)
            if salt.anion != shown.ion or salt.cation == act.titrant.species or not ions.get(salt.cation):
                continue
            if ionic_product(counts, (ions[salt.cation], strength)) > 10**-salt.solid.pksp:
                ion = self.bank.name_of(shown.ion)
                return ("precipitate", f"{ion} precipitate the {salt.cation} ions in the flask")
        return self._error(act, shown.ion, strength, flask)

    def _error(self, act: Titrate, own_ion: str, strength: float, flask: LastFlask) -> Refused | None:
        """Titrant left over, less what it titrates left, when the coloured solid begins to form."""
        salts = salts_of(self.bank, act.titrant.species)
        left = {m.formula.text for r in act.reactions for m in r.left}
        coloured = salts.get(own_ion)
        for anion in left & salts.keys() & flask.amounts.keys():
            salt = salts[anion].solid
            if coloured is None or (salt.cations, salt.anions) != (1, 1):
                continue
            late = late_mol(coloured.solid, salt, strength, flask.volume_cm3 + flask.titre_cm3)
            error = late / flask.amounts[anion] * 100
            if abs(error) > LARGEST_ERROR_PERCENT:
                side = "early" if error < 0 else "late"
                return ("indicator", f"{coloured.name} comes {abs(error):.1f} % {side}")
        return None

    def _ph(self, flask: LastFlask) -> float:
        acting = {
            one: moles / flask.volume_cm3 * 1000 for one, moles in flask.amounts.items() if self.solutes.acts(one)
        }
        if not acting:
            return 7.0
        key = tuple((one, round(8 * math.log2(strength))) for one, strength in acting.items())
        if key not in self._phs:
            middle = {one: 2 ** (step / 8) for one, step in key}
            self._phs[key] = ph(self.solutes.dissolved(middle))
        return self._phs[key]


def salts_of(bank: Bank, cation: str) -> dict[str, SparingSalt]:
    """The sparingly soluble salts of a cation, by their anions."""
    return {one.anion: one for one in bank.sparing if one.cation == cation}


def strength_at(shown: PrecipitationIndicator, at_ph: float) -> float:
    """An indicator's own ions at the end point in mol dm⁻³: at a low pH the rest of it is their acid."""
    return shown.strength / (1 + 10 ** (shown.pka - at_ph))


def late_mol(coloured: SparingSolid, salt: SparingSolid, strength: float, total_cm3: float) -> float:
    """Titrant less what it titrates, in mol, when the coloured solid begins to form; below 0 it comes early."""
    titrant = math.sqrt(10**-coloured.pksp / strength)
    return (titrant - 10**-salt.pksp / titrant) * total_cm3 / 1000


def _left(variant: Variant) -> set[str]:
    """The solids that reactions before the titration make and that are not filtered off."""
    removed = {op.species for op in variant.procedure.every(Remove)}
    made = {
        member.formula.text
        for reaction in variant.procedure.equations
        for member in reaction.right
        if member.state == "s"
    }
    return made - removed
