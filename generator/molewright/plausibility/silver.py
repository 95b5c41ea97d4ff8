"""A draw of a silver titration comes in; the rule that it breaks goes out with its reason, or nothing.

The rules: acid, alkali, indicator, precipitate. By chromate (after Mohr) and by thiocyanate (after Volhard), computed from the
solubility products of the bank and from the pH of what is in the flask.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from molewright.bank.definitions import Bank, SparingSalt, Variant
from molewright.chem.equilibrium import ph
from molewright.chem.solubility import SparingSolid
from molewright.draw.draw import Draw
from molewright.experiment.procedure import React, Remove, Titrate
from molewright.plausibility.added import Plenty, Reader
from molewright.plausibility.flask import LastFlask, last_flask
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]

SILVER, THIOCYANATE, CHROMATE = "Ag+", "SCN-", "CrO4^2-"
CHROMATE_CONCENTRATION = 0.005  # mol dm⁻³ of the indicator at the end point; common practice, no source
CHROMATE_PKA = 6.49  # of HCrO4-; CRC Handbook, from memory
LARGEST_ERROR_PERCENT = 0.5  # as for indicators of acids and bases
RANGES = {"potassium chromate": (6.5, 10.0), "dichlorofluorescein": (4.0, 10.0)}  # pH; common practice, no source
# Other metal ions that chromate precipitates, by pKsp: BaCrO4 1.2e-10, PbCrO4 2.8e-13; CRC Handbook, from memory.
CHROMATES = {"Ba^2+": 9.93, "Pb^2+": 12.55}
VOLHARD = "ammonium iron(III) sulfate"


class SilverRules:
    """Keeps what follows from the procedure alone from one draw to the next."""

    def __init__(self, bank: Bank, solutes: Solutes, reader: Reader) -> None:
        self.bank, self.solutes, self.reader = bank, solutes, reader
        self._salts: dict[str, SparingSalt] = {one.anion: one for one in bank.sparing if one.cation == SILVER}
        self._kept: dict[tuple[int, str], tuple[Variant, Refused | None]] = {}
        self._phs: dict[tuple[tuple[str, int], ...], float] = {}

    @staticmethod
    def concerns(variant: Variant) -> bool:
        """Whether silver ions are titrated, or titrated with."""
        last = variant.procedure.titrations[-1]
        return last.titrant.species in (SILVER, THIOCYANATE)

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks."""
        key = (id(draw.variant), draw.indicator)
        if key not in self._kept:
            self._kept[key] = (draw.variant, next(self._judged(draw), None))
        refused = self._kept[key][1]
        last = draw.variant.procedure.titrations[-1]
        if refused is not None or last.titrant.species != SILVER:
            return refused
        flask = last_flask(draw.variant.procedure, draw.truth)
        return None if flask is None else self._in_flask(last, last.indicator or draw.indicator, flask)

    # ------------------------------------------------------------ from the procedure alone

    def _judged(self, draw: Draw) -> Iterator[Refused]:
        last = draw.variant.procedure.titrations[-1]
        indicator = last.indicator or draw.indicator
        plenty = self.reader.plenty(draw.variant.procedure, last)
        if "HCl" in plenty.solutes:
            yield ("acid", "hydrochloric acid brings chloride ions of its own")
        if last.titrant.species == THIOCYANATE:
            yield from self._by_thiocyanate(draw.variant, indicator, plenty)
        elif indicator not in RANGES:
            yield ("indicator", f"{indicator or 'no indicator'} does not show silver ions in excess")
        elif plenty.acid:
            why = (
                "uses up chromate ions"
                if indicator == "potassium chromate"
                else "keeps the indicator off the precipitate"
            )
            yield ("acid", f"the acid in the flask {why}, so {indicator} changes late or not at all")
        elif plenty.alkali:
            yield ("alkali", "silver oxide comes down in alkali")

    def _by_thiocyanate(self, variant: Variant, indicator: str, plenty: Plenty) -> Iterator[Refused]:
        if plenty.acid != "HNO3":
            yield ("acid", "without nitric acid the iron(III) ions of the indicator are precipitated as hydroxide")
        if indicator != VOLHARD:
            yield ("indicator", f"{indicator or 'no indicator'} does not show thiocyanate ions in excess")
        removed = {op.species for op in variant.procedure.operations if isinstance(op, Remove)}
        thiocyanate = self._salts.get(THIOCYANATE)
        for salt in self._salts.values():
            solid = salt.solid
            if solid.solid in _made(variant) - removed and thiocyanate and solid.pksp < thiocyanate.solid.pksp:
                ratio = 10 ** (thiocyanate.solid.pksp - solid.pksp)
                yield ("precipitate", f"{salt.name} is {ratio:.0f} times as soluble as {thiocyanate.name} "
                                      "and reacts with thiocyanate ions unless it is filtered off")  # fmt: skip

    # ------------------------------------------------------------ from the numbers

    def _in_flask(self, act: Titrate, indicator: str, flask: LastFlask) -> Refused | None:
        at_ph = self._ph(flask)
        low, high = RANGES[indicator]
        if at_ph < low:
            return ("acid", f"the flask is at pH {at_ph:.1f}, and {indicator} needs pH {low:g} to {high:g}")
        if at_ph > high:
            return ("alkali", f"the flask is at pH {at_ph:.1f}, where silver oxide comes down")
        if indicator != "potassium chromate":
            return None
        chromate = chromate_at(at_ph)
        ions = self.solutes.ions({one: moles / flask.volume_cm3 * 1000 for one, moles in flask.amounts.items()})
        for metal, pksp in CHROMATES.items():
            if ions.get(metal, 0.0) * chromate > 10**-pksp:
                return ("precipitate", f"chromate ions precipitate the {metal} ions in the flask")
        return self._error(act, chromate, flask)

    def _error(self, act: Titrate, chromate: float, flask: LastFlask) -> Refused | None:
        """Silver ions left over, less halide ions left, when the red chromate begins to form."""
        salt_of = {m.formula.text for r in act.reactions for m in r.left} & self._salts.keys() & flask.amounts.keys()
        red = self._salts.get(CHROMATE)
        for halide in salt_of:
            salt = self._salts[halide].solid
            if red is None or (salt.cations, salt.anions) != (1, 1):
                continue
            late = late_mol(red.solid, salt, chromate, flask.volume_cm3 + flask.titre_cm3)
            error = late / flask.amounts[halide] * 100
            if abs(error) > LARGEST_ERROR_PERCENT:
                side = "early" if error < 0 else "late"
                return ("indicator", f"silver chromate comes {abs(error):.1f} % {side}")
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


def chromate_at(at_ph: float) -> float:
    """Chromate ions at the end point in mol dm⁻³: the rest of the indicator is hydrogenchromate at a low pH."""
    return CHROMATE_CONCENTRATION / (1 + 10 ** (CHROMATE_PKA - at_ph))


def late_mol(red: SparingSolid, salt: SparingSolid, chromate: float, total_cm3: float) -> float:
    """Silver ions less halide ions, in mol, when the red chromate begins to form; below 0 it comes early."""
    silver = math.sqrt(10**-red.pksp / chromate)
    return (silver - 10**-salt.pksp / silver) * total_cm3 / 1000


def _made(variant: Variant) -> set[str]:
    """The solids that reactions before the titration leave."""
    return {
        member.formula.text
        for operation in variant.procedure.operations
        if isinstance(operation, React)
        for reaction in operation.reactions
        for member in reaction.right
        if member.state == "s"
    }
