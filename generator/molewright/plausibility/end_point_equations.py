"""What is in a flask, a titrant and an indicator come in; the equations of the end point that is seen go out, with what is to be said.

An indicator that follows pH decides how many protons each acid or base of the flask has exchanged where its colour stops, by the
curve computed for it alone; without one the bank's equation counts where the curve has a steep part there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

from molewright.bank.definitions import Bank, Indicator, ReactionEntry, Titrated
from molewright.chem.curve import Titration
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import Reaction, parse_reaction, require_whole
from molewright.errors import Mistake
from molewright.experiment.procedure import Titrate
from molewright.plausibility.indicators import IndicatorKinds
from molewright.plausibility.natures import Natures
from molewright.plausibility.solutes import HYDROXIDE, Solutes

_STRENGTH = 0.1  # mol dm⁻³ of flask and titrant where nobody knows the numbers yet: what people titrate
_FLASK_CM3 = 25.0
_LEAST_HEIGHT = 1.0  # of the steep part; under that no indicator shows it
_OUT = 0.03  # by how much of the whole the colour may come early or late
_SHARP = 0.01  # the same, for what is recommended
_UNTOUCHED = 0.05  # protons of each that may have gone where a species is taken not to react
_MOST_STAGES = 4
_WATER = "H2O"


@dataclass(frozen=True, slots=True)
class _Found:
    """What happens to one species: its equation (None: nothing), whether an end point shows it, what is to be said."""

    species: str
    entry: ReactionEntry | None
    clean: bool
    note: str = ""


class EndPointEquations:
    """The equations of the bank, and those that its ions make, at the end point of an indicator."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.solutes = Solutes(bank)
        self.natures = Natures(self.solutes)
        self.kinds = IndicatorKinds(bank, self.natures)

    def titrated(self, present: Sequence[str], made: frozenset[str], titrant: str, indicator: str) -> Titrated | None:
        """What the titrant titrates; None where it is no strong acid or alkali or meets none that the bank knows.

        `made` are species that an earlier reaction made. Raises Mistake where the indicator shows an end point for which neither
        bank nor ions have an equation.
        """
        carried = self._protons(titrant)
        if not carried:
            return None
        seen = self._indicator(indicator)
        found = [
            self._at(one, titrant, carried, seen if seen is not None and seen.follows_ph else None, one in made)
            for one in present
            if one != titrant and self.solutes.acts(one) and self._reacts(one, carried)
        ]
        counted = [one for one in found if one.entry is not None and one.clean]
        if not counted:
            counted = [one for one in found if one.entry is not None]
            return Titrated(_entries(counted), _notes(counted)) if counted else None
        left = [one for one in found if not one.clean and ((one.note and one.species not in made) or seen is not None)]
        strange = [one for one in present if one in made and self.solutes.parts(one) is None and _may_give_protons(one)]
        also = [one.species for one in counted if one.species in made]
        told = [f"{titrant} also titrates {one}, which an earlier reaction made" for one in also if len(counted) > 1]
        told += [f"the banks do not know whether {one} reacts with {titrant}: it is taken not to" for one in strange]
        return Titrated(_entries(counted), (*told, *_notes(left)))

    def doubts(self, act: Titrate, present: Sequence[str]) -> tuple[str, ...]:
        """What is to be said of the indicator of a titration whose equations are known; nothing where it suits or none is named."""
        if not act.indicator:
            return ()
        partners = [
            (one.formula.text, reaction)
            for reaction in act.reactions
            for one in reaction.left
            if one.formula.text in present and one.formula.text != act.titrant.species
        ]
        serve = self._shown_by(act, [one for one, _ in partners])
        instead = f". These show it: {', '.join(serve)}" if serve else ""
        indicator = self._indicator(act.indicator)
        if indicator is None:
            return (
                f"the banks know no indicator '{act.indicator}', so nobody looked whether it shows this end point{instead}",
            )
        unfit = self.kinds.unfit(act, indicator)
        if unfit:
            return (f"{unfit}{instead}",)
        carried = self._protons(act.titrant.species)
        if not carried or not indicator.follows_ph:
            return ()
        return tuple(
            f"{self._early_or_late(species, act.titrant.species, gone, float(wanted), indicator)}{instead}"
            for species, reaction in partners
            if self.solutes.acts(species)
            for wanted in (reaction.ratio(act.titrant.species, species) * abs(carried),)
            for gone in (self._gone(species, act.titrant.species, carried, indicator),)
            if abs(gone - float(wanted)) > _OUT * float(wanted)
        )

    def _early_or_late(self, species: str, titrant: str, gone: float, wanted: float, indicator: Indicator) -> str:
        return (
            f"{indicator.name} does not show the end point of {species} with {titrant} by this equation: where its colour stops, "
            f"{gone:.2g} mol of protons have gone over for each mole of {species}, and the equation has {wanted:.3g}"
        )

    def _shown_by(self, act: Titrate, partners: Sequence[str]) -> tuple[str, ...]:
        """The indicators of the bank that show the end point of every equation of a titration of acids and alkalis."""
        titrant, carried = act.titrant.species, self._protons(act.titrant.species)
        acting = [one for one in partners if self.solutes.acts(one)]
        if not carried or not acting:
            return ()
        wanted = {
            one: float(reaction.ratio(titrant, one)) * abs(carried)
            for reaction in act.reactions
            for one in acting
            if reaction.has(one)
        }
        return tuple(
            name
            for name, seen in self.bank.indicators.items()
            if seen.follows_ph
            and all(
                abs(self._gone(one, titrant, carried, seen) - many) <= _SHARP * many for one, many in wanted.items()
            )
        )

    def _indicator(self, name: str) -> Indicator | None:
        """An indicator by its name, in capitals or not."""
        folded = name.casefold()
        return next((one for known, one in self.bank.indicators.items() if known.casefold() == folded), None)

    # ------------------------------------------------------------ one species

    def _at(self, species: str, titrant: str, carried: int, indicator: Indicator | None, made: bool) -> _Found:
        if indicator is None:
            return self._unseen(species, titrant, carried, made)
        gone = self._gone(species, titrant, carried, indicator)
        stages = round(gone)
        if stages and abs(gone - stages) <= _OUT * stages:
            entry = self._entry(species, titrant, carried, stages, made)
            return _Found(species, entry, entry is not None)
        if gone <= _UNTOUCHED:
            return _Found(species, None, True)
        if made:  # of one that was there all along, `doubts` tells it
            told = (
                f"where {indicator.name} stops, about {gone:.2g} mol of protons of each mole of {species} may be gone"
            )
            return _Found(
                species, None, False, f"{species}, which an earlier reaction made, is taken not to react; {told}"
            )
        return _Found(species, self._bank_entry(species, titrant, None), False)

    def _unseen(self, species: str, titrant: str, carried: int, made: bool) -> _Found:
        entry = self._bank_entry(species, titrant, None)
        if entry is not None:
            stages = entry.reaction.ratio(titrant, species) * abs(carried)
            shown = any(
                abs(self._gone(species, titrant, carried, one) - stages) <= _OUT * stages
                for one in self.bank.indicators.values()
                if one.follows_ph
            )
            return _Found(species, entry, shown, "" if shown else self._drifts(species, titrant))
        heights = {at: self._height(species, titrant, at / abs(carried)) for at in range(1, _MOST_STAGES)}
        steep_at = [at for at, height in heights.items() if height >= _LEAST_HEIGHT]
        made_up = self._entry(species, titrant, carried, steep_at[-1], made) if steep_at else None
        return _Found(species, made_up, made_up is not None)

    def _drifts(self, species: str, titrant: str) -> str:
        return (
            f"the pH drifts while {species} is titrated with {titrant}: no indicator of the banks shows the end point"
        )

    def _reacts(self, species: str, carried: int) -> bool:
        """Whether a strong acid or alkali finds something in it to react with."""
        ions = [ion for _, ion in self.solutes.parts(species) or ()]
        if carried > 0:
            return any(ion.protons < 0 or ion.lost for ion in ions)
        left = (len(pkas) - ion.lost for ion in ions for pkas in (self.solutes.pkas[name] for name in ion.acids))
        return any(ion.protons > 0 for ion in ions) or any(one > 0 for one in left)

    def _protons(self, titrant: str) -> int:
        """Protons that one of it gives, below zero those that it takes; 0 for what is neither a strong acid nor an alkali."""
        found = 0
        for count, ion in self.solutes.parts(titrant) or ():
            found += count * ion.protons
            stages = [pka for name in ion.acids for pka in self.solutes.pkas[name][ion.lost :]]
            found += sum(count for pka in stages if pka < 3) if self.natures.gives_hydrogen_ions(titrant) else 0
        return found

    def _curve(self, species: str, titrant: str) -> Titration:
        flask, burette = (self.solutes.dissolved({one: _STRENGTH}) for one in (species, titrant))
        return Titration(flask=flask, flask_cm3=_FLASK_CM3, titrant=burette)

    def _gone(self, species: str, titrant: str, carried: int, indicator: Indicator) -> float:
        """Protons exchanged for each of it where the colour of an indicator stops."""
        assert indicator.low is not None
        assert indicator.high is not None
        stop = indicator.stop if indicator.stop is not None else (indicator.low + indicator.high) / 2
        volume = self._curve(species, titrant).volume_at(float(stop))
        return abs(carried) * volume / _FLASK_CM3

    def _height(self, species: str, titrant: str, share: float) -> float:
        return self._curve(species, titrant).steep(share * _FLASK_CM3).height

    # ------------------------------------------------------------ its equation

    def _bank_entry(self, species: str, titrant: str, ratio: Fraction | None) -> ReactionEntry | None:
        """The bank's equation of both, dissolved if there is one so, with so many of the titrant for each of the species."""
        both = [one for one in self.bank.reactions if {species, titrant} <= set(one.reactants())]
        both.sort(key=lambda one: one.state_of(species) == "s")
        fit = (one for one in both if ratio is None or one.reaction.ratio(titrant, species) == ratio)
        return next(fit, None)

    def _entry(self, species: str, titrant: str, carried: int, stages: int, made: bool) -> ReactionEntry | None:
        ratio = Fraction(stages, abs(carried))
        found = self._bank_entry(species, titrant, ratio)
        if found is not None:
            return found
        if made and any(self.solutes.leaves_as_a_gas(ion.formula) for _, ion in self.solutes.parts(species) or ()):
            return None  # carbon dioxide that was set free leaves the flask
        reaction = self._of_ions(species, titrant, carried, stages)
        if reaction is None:
            raise Mistake(
                f"the banks have no equation in which {ratio} {titrant} react with each {species}, as the indicator shows",
                expected="the equation of that end point",
                do=f"Write 'reaction: ...' in this line, with {ratio} {titrant} for each {species}.",
            )
        return ReactionEntry(reaction=reaction)

    def _of_ions(self, species: str, titrant: str, carried: int, stages: int) -> Reaction | None:
        """The equation that the ions of both make when so many protons go over."""
        many, of_titrant = abs(carried) // gcd(stages, abs(carried)), stages // gcd(stages, abs(carried))
        ions = self._split(species, many)
        turned = stages * many
        for _ in range(turned):
            if not self._turn(ions, -1 if carried > 0 else 1):
                return None
        for count, ion in self.solutes.parts(titrant) or ():
            formula = ion.formula
            if formula == HYDROXIDE or formula == "H+":
                continue
            bare = next(
                (one for one in self._family(formula) if carried > 0), formula
            )  # hydrogensulfate gave up its own
            ions[bare] = ions.get(bare, 0) + count * of_titrant
        water = turned if carried < 0 else ions.pop(_WATER, 0)
        right = [*self._joined(ions), *([f"{water if water > 1 else ''}{_WATER}"] if water else [])]
        left = [f"{n if n > 1 else ''}{one}" for n, one in ((many, species), (of_titrant, titrant))]
        reaction = parse_reaction(f"{' + '.join(left)} -> {' + '.join(right)}")
        try:
            require_whole(reaction)
        except Mistake:
            return None
        return reaction

    def _split(self, species: str, many: int) -> dict[str, int]:
        return {ion.formula: count * many for count, ion in self.solutes.parts(species) or ()}

    def _family(self, formula: str) -> tuple[str, ...]:
        """The last ion of the family of an ion of a strong acid, where that gives up all its protons: sulfate."""
        entry = self.bank.ions[formula]
        if not entry.acids or any(pka >= 3 for pka in self.solutes.pkas[entry.acids[0]][entry.lost :]):
            return ()
        pkas = self.bank.acids[entry.acids[0]].pkas
        return tuple(
            one.formula for one in self.bank.ions.values() if one.acids == entry.acids and one.lost == len(pkas)
        )

    def _turn(self, ions: dict[str, int], step: int) -> bool:
        """One proton goes over to (step −1) or away from (step 1) what holds it best or least."""
        free = HYDROXIDE if step < 0 else "H+"
        if ions.get(free):
            _move(ions, free, _WATER if step < 0 else "")
            return True
        acting = [self.bank.ions[one] for one in ions if ions[one] and self.bank.ions[one].acids]
        for ion in acting:
            after = next(
                (one for one in self.bank.ions.values() if one.acids == ion.acids and one.lost == ion.lost + step), None
            )
            if after is not None:
                _move(ions, ion.formula, after.formula)
                return True
        return False

    def _joined(self, ions: dict[str, int]) -> Iterable[str]:
        """The ions as solutes of the bank as far as they make such, the rest as they are."""
        left = {one: count for one, count in ions.items() if count}
        written: dict[str, int] = {}
        for solute in self.bank.solutes.values():
            while len(solute.gives) == 2 and all(left.get(ion, 0) >= count for count, ion in solute.gives):
                for count, ion in solute.gives:
                    left[ion] -= count
                written[solute.formula] = written.get(solute.formula, 0) + 1
        written |= {one: count for one, count in left.items() if count}
        return [f"{count if count > 1 else ''}{one}" for one, count in written.items()]


def _move(ions: dict[str, int], one: str, into: str) -> None:
    ions[one] -= 1
    if into:
        ions[into] = ions.get(into, 0) + 1


def _may_give_protons(species: str) -> bool:
    return species != _WATER and parse_formula(species, PLACEHOLDERS).count("H") > 0


def _entries(found: Iterable[_Found]) -> tuple[ReactionEntry, ...]:
    return tuple(one.entry for one in found if one.entry is not None)


def _notes(found: Iterable[_Found]) -> tuple[str, ...]:
    return tuple(one.note for one in found if one.note)
