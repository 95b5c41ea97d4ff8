"""A draw of a redox or iodine titration comes in; the rule that it breaks goes out with its reason, or nothing.

The rules: acid, temperature, strength, iodide, alkali, indicator. Each follows from what is poured into the flask and from the
numbers on the bottles. Sources: H. P. Talbot, Quantitative Chemical Analysis, 1921 (public domain), for acids and warming; the
limits of strength: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from molewright.bank.definitions import Bank, Variant
from molewright.chem.equilibrium import ph
from molewright.draw.draw import Draw
from molewright.experiment import procedure as names
from molewright.experiment.procedure import Measure, React, Titrate, Weigh
from molewright.plausibility.added import Plenty, Reader
from molewright.plausibility.flask import last_flask
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]

MANGANATE, DICHROMATE, IODINE, THIOSULFATE, IODIDE = "MnO4-", "Cr2O7^2-", "I2", "S2O3^2-", "I-"
IRON, ETHANEDIOATES = "Fe^2+", frozenset({"H2C2O4", "C2O4^2-", "HC2O4-"})
CHLORIDE = re.compile(r"Cl(?!O)")

# In the burette: a stronger manganate(VII) hides its scale, a stronger dichromate is no reagent for pupils, and iodine needs ever
# more iodide to stay in solution.
STRONGEST = {MANGANATE: 0.025, DICHROMATE: 0.020, IODINE: 0.10}
# In any bottle, in mol dm⁻³ at 20 °C: 6.4 g of KMnO4 and 12 g of K2Cr2O7 in 100 g of water; CRC Handbook, from memory.
SATURATED = {MANGANATE: 0.38, DICHROMATE: 0.36}

WARM_C = (55.0, 85.0)  # ethanedioate: slow below, decomposing above
THIOSULFATE_PH = (0.3, 9.0)  # thiosulfate breaks up in stronger acid; iodine turns into iodate in stronger alkali


@dataclass(frozen=True, slots=True)
class _Kept:
    variant: Variant  # kept, so that its id stays its own
    refused: Refused | None
    bottles: tuple[tuple[str, str, float, bool], ...]  # name of a concentration, species, limit, in the burette
    measured: bool  # whether something in the iodine's flask was measured that matters to its pH or its iodide


class RedoxRules:
    """Keeps what follows from the procedure alone from one draw to the next."""

    def __init__(self, bank: Bank, solutes: Solutes, reader: Reader) -> None:
        self.bank, self.solutes, self.reader = bank, solutes, reader
        self._kept: dict[tuple[int, str], _Kept] = {}

    @staticmethod
    def concerns(variant: Variant) -> bool:
        """Whether an oxidant is titrated, or titrated with."""
        return any(_species(one) & {MANGANATE, DICHROMATE, IODINE} for one in variant.procedure.titrations)

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks."""
        key = (id(draw.variant), draw.indicator)
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

    def _read(self, draw: Draw) -> _Kept:
        variant = draw.variant
        bottles: list[tuple[str, str, float, bool]] = []
        for bottle in variant.procedure.solutions():
            if bottle.species in SATURATED:
                bottles.append((names.concentration(bottle.name), bottle.species, SATURATED[bottle.species], False))
        for titration in variant.procedure.titrations:
            bottle = titration.titrant
            if bottle.species in STRONGEST:
                bottles.append((names.concentration(bottle.name), bottle.species, STRONGEST[bottle.species], True))
        refused = next((found for one in variant.procedure.titrations for found in self._judged(one, draw)), None)
        last = variant.procedure.titrations[-1]
        measured = _is_iodine(last) and any(self.solutes.acts(one) or IODIDE in one for one in _there(variant))
        return _Kept(variant, refused, tuple(bottles), measured)

    # ------------------------------------------------------------ from the procedure alone

    def _judged(self, titration: Titrate, draw: Draw) -> Iterator[Refused]:
        plenty = self.reader.plenty(draw.variant.procedure, titration)
        involved = _species(titration)
        if involved & {MANGANATE, DICHROMATE}:
            yield from self._acid(titration, involved, plenty, draw.variant)
        if MANGANATE in involved and involved & ETHANEDIOATES:
            yield from _warmth(plenty)
        if _is_iodine(titration):
            yield from self._iodine(titration, plenty, draw)

    def _acid(self, titration: Titrate, involved: set[str], plenty: Plenty, variant: Variant) -> Iterator[Refused]:
        there = _there(variant)
        if MANGANATE in involved and ("HCl" in plenty.solutes or any(CHLORIDE.search(one) for one in there)):
            yield ("acid", "manganate(VII) ions oxidise the chloride ions in the flask")
        if "HNO3" in (*plenty.solutes, *there) and (IRON in involved or MANGANATE in involved):
            yield ("acid", "nitric acid oxidises what is to be titrated")
        needed = "H+" in involved or bool(titration.sought)
        measured = "H2SO4" in there or (DICHROMATE in involved and "HCl" in there)
        if needed and plenty.acid not in ("H2SO4", "HCl") and not measured:
            solid = "manganese(IV) oxide forms" if MANGANATE in involved else "dichromate(VI) ions do not react"
            yield ("acid", f"without sulfuric acid {solid}")

    def _iodine(self, titration: Titrate, plenty: Plenty, draw: Draw) -> Iterator[Refused]:
        indicator = titration.indicator or draw.indicator
        if indicator not in ("", "starch"):
            yield ("indicator", f"{indicator} does not show iodine")
        makes_iodine = [
            reaction
            for operation in draw.variant.procedure.operations
            if isinstance(operation, React)
            for reaction in operation.reactions
            if any(member.formula.text == IODIDE for member in reaction.left)
        ]
        if makes_iodine and "KI" not in plenty.solutes and not {"KI", "NaI", IODIDE} & _there(draw.variant):
            yield ("iodide", "no iodide ions were added to make the iodine from")
        if plenty.alkali:
            yield ("alkali", "iodine turns into iodate ions in alkali")
        if plenty.acid == "HNO3":
            yield ("acid", "nitric acid oxidises iodide ions")
        elif self.reader.natures.gives_hydrogen_ions(plenty.acid) and "concentrated" in plenty.words:
            yield ("acid", "thiosulfate ions break up in strong acid")

    # ------------------------------------------------------------ from the numbers

    def _in_flask(self, draw: Draw) -> Refused | None:
        """What was measured into the flask of an iodine titration: its pH, and the iodide left to hold the iodine."""
        procedure = draw.variant.procedure
        flask = last_flask(procedure, draw.truth)
        if flask is None:
            return None
        iodine, iodide = flask.amounts.get(IODINE, 0.0), flask.amounts.get(IODIDE)
        makes = any(IODIDE in {m.formula.text for m in r.left}
                    for op in procedure.operations if isinstance(op, React) for r in op.reactions)  # fmt: skip
        if makes and iodide is not None and iodide < iodine:
            return ("iodide", "too little iodide is left to keep the iodine in solution")
        per_dm3 = 1000 / flask.volume_cm3
        there = self.solutes.dissolved({one: moles * per_dm3 for one, moles in flask.amounts.items() if moles > 0})
        if not there:
            return None
        low, high = THIOSULFATE_PH
        at_ph = ph(there)
        if at_ph > high and not self.reader.plenty(procedure, procedure.titrations[-1]).acid:
            return ("alkali", f"the flask is at pH {at_ph:.1f}, where iodine turns into iodate ions")
        if at_ph < low:
            return ("acid", f"the flask is at pH {at_ph:.1f}, where thiosulfate ions break up")
        return None


def _warmth(plenty: Plenty) -> Iterator[Refused]:
    low, high = WARM_C
    if plenty.warmed_c is None or plenty.warmed_c < low:
        yield ("temperature", "ethanedioate ions react slowly with manganate(VII) ions unless they are warmed")
    elif plenty.warmed_c > high:
        yield ("temperature", f"ethanedioic acid decomposes at {plenty.warmed_c:g} °C")


def _is_iodine(titration: Titrate) -> bool:
    return IODINE in _species(titration)


def _species(titration: Titrate) -> set[str]:
    """Everything that reacts in a titration, the titrant too."""
    left = {member.formula.text for reaction in titration.reactions for member in reaction.left}
    return left | {titration.titrant.species}


def _there(variant: Variant) -> set[str]:
    """What is weighed or measured, by substance and by what it gives."""
    found: set[str] = set()
    for operation in variant.procedure.operations:
        if isinstance(operation, Weigh):
            found |= {one for content in operation.contents for one in (content.substance, content.species)}
        if isinstance(operation, Measure):
            found |= {
                one for bottle in (operation.solution, *operation.others) for one in (bottle.solute, bottle.species)
            }
    return found
