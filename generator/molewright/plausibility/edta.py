"""A draw of an EDTA titration comes in; the rule that it breaks goes out with its reason, or nothing.

The rules: buffer, EDTA, indicator, hydroxide, metal. Computed from the constants of banks/edta.yaml at the pH that the procedure
tells, and from the concentrations in the flask.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from math import fsum

from molewright.bank.definitions import Bank, EdtaAcid, EdtaBuffer, EdtaIndicator, EdtaMetal, Variant
from molewright.chem.equilibrium import PKW_25C, fractions
from molewright.chem.solubility import precipitates_before
from molewright.draw.chosen import Draw
from molewright.experiment.procedure import Titrate
from molewright.machine.same import Same
from molewright.plausibility.added import Reader
from molewright.plausibility.flask import flask_before
from molewright.plausibility.solutes import Solutes

Refused = tuple[str, str]

LEAST_LOG_K = 8.0  # of the conditional constant; common practice, no source
FRESH_PH = (
    1.0  # a fresh hydroxide is seen this much later than its solubility product says (banks/solubility_products.yaml)
)
MOST_LEFT = 0.01  # of a metal that is to be out of the way, as a share of what is titrated


class EdtaRules:
    """Keeps what follows from the procedure alone from one draw to the next."""

    def __init__(self, bank: Bank, solutes: Solutes, reader: Reader) -> None:
        self.solutes, self.reader = solutes, reader
        acid = next((one for one in bank.edta if isinstance(one, EdtaAcid)), None)
        self.pkas = acid.pkas if acid is not None else ()
        self.titrant = acid.titrated_as if acid is not None else ""
        self.buffers = [one for one in bank.edta if isinstance(one, EdtaBuffer)]
        self.metals = {one.metal: one for one in bank.edta if isinstance(one, EdtaMetal)}
        self.known = bank.indicators.keys()
        self.indicators = {one.indicator: one for one in bank.edta if isinstance(one, EdtaIndicator)}
        self._kept: dict[tuple[Same, str], Refused | None] = {}

    def concerns(self, variant: Variant) -> bool:
        """Whether EDTA is titrated, or titrated with."""
        return any(self.titrant in _species(one) for one in variant.procedure.titrations)

    def refusal(self, draw: Draw) -> Refused | None:
        """The first rule that the draw breaks."""
        if not self.pkas:
            return None
        key = (Same(draw.variant), draw.indicator)
        if key not in self._kept:
            self._kept[key] = next(self._judged(draw), None)
        return self._kept[key] or next(self._in_flask(draw), None)

    def bare(self, at_ph: float) -> float:
        """The part of free EDTA that has lost all its protons at a pH."""
        return fractions(self.pkas, at_ph)[0]

    def log_k(self, metal: str, at_ph: float, ammonia: float = 0.0) -> float:
        """log10 of the conditional constant of a metal ion at a pH, with so much free ammonia (mol dm⁻³)."""
        return self.metals[metal].log_k + math.log10(self.bare(at_ph)) + math.log10(self.free(metal, ammonia))

    def free(self, metal: str, ammonia: float) -> float:
        """The part of a metal's ions without EDTA that is not held by ammonia either."""
        betas = self.metals[metal].ammines if metal in self.metals else ()
        return 1 / (1 + fsum(10**beta * ammonia**count for count, beta in enumerate(betas, 1)))

    # ------------------------------------------------------------ from the procedure alone

    def _judged(self, draw: Draw) -> Iterator[Refused]:
        procedure = draw.variant.procedure
        reacting = {m.formula.text for r in procedure.equations
                    if any(one.formula.text == self.titrant for one in r.left) for m in r.left}  # fmt: skip
        for titration in procedure.titrations:
            if self.titrant not in _species(titration):
                continue
            at_ph = self._ph(draw, titration)
            if at_ph is None:
                yield ("buffer", "nothing sets the pH at which EDTA is to hold the metal ions")
                continue
            for metal in sorted((_species(titration) | reacting) & self.metals.keys()):
                found = self.log_k(metal, at_ph, self._ammonia(draw, titration, at_ph))
                if found < LEAST_LOG_K:
                    yield ("EDTA", f"at pH {at_ph:g} EDTA holds {metal} with a constant of 10^{found:.1f} only")
            name = titration.indicator or (draw.indicator if titration is procedure.titrations[-1] else "")
            yield from self._shown(name, at_ph)

    def _shown(self, name: str, at_ph: float) -> Iterator[Refused]:
        indicator = self.indicators.get(name)
        if indicator is None and name and name not in self.known:
            return  # of an indicator that the banks do not know nothing can be said
        if indicator is None:
            yield ("indicator", f"{name} does not show metal ions" if name else "nothing shows metal ions")
        elif not indicator.low <= at_ph <= indicator.high:
            yield ("indicator", f"{name} serves from pH {indicator.low:g} to {indicator.high:g}, not at pH {at_ph:g}")

    def _ph(self, draw: Draw, titration: Titrate) -> float | None:
        return self.reader.plenty(draw.variant.procedure, titration).ph

    def _ammonia(self, draw: Draw, titration: Titrate, at_ph: float) -> float:
        plenty = self.reader.plenty(draw.variant.procedure, titration)
        return self.ammonia_of_a_buffer(at_ph) if "buffer" in plenty.words else 0.0

    def ammonia_of_a_buffer(self, at_ph: float) -> float:
        """The free base that a buffer of a pH brings along, in mol dm⁻³."""
        return next((one.free for one in self.buffers if one.low <= at_ph <= one.high), 0.0)

    # ------------------------------------------------------------ from the numbers

    def _in_flask(self, draw: Draw) -> Iterator[Refused]:
        """A metal that is titrated must stay in solution; one that is not must be out of the way, or not be held by EDTA."""
        for titration in draw.variant.procedure.titrations:
            if titration.titrant.species != self.titrant:
                continue
            at_ph = self._ph(draw, titration)
            flask = flask_before(titration, draw.variant.procedure, draw.truth, self.solutes.held)
            if flask is None or at_ph is None:
                continue
            ammonia = self._ammonia(draw, titration, at_ph)
            ions = self.solutes.ions({one: n / flask.volume_cm3 * 1000 for one, n in flask.amounts.items()})
            sought = _species(titration) & self.metals.keys()
            titrated = fsum(ions.get(metal, 0.0) for metal in sought)
            for metal, strength in ions.items():
                if metal not in self.metals:
                    continue
                hydroxide = self.solutes.hydroxides.get(metal)
                loose = strength * self.free(metal, ammonia)
                down = hydroxide is not None and precipitates_before(hydroxide, loose, at_ph - FRESH_PH)
                if metal in sought and down:
                    yield ("hydroxide", f"the hydroxide of {metal} comes down at pH {at_ph:g}")
                if metal not in sought and self.log_k(metal, at_ph, ammonia) >= LEAST_LOG_K:
                    left = strength
                    if hydroxide is not None:
                        alkali = 10 ** (at_ph - FRESH_PH - PKW_25C)
                        left = min(strength, 10**-hydroxide.pksp / alkali**hydroxide.anions)
                    if left > MOST_LEFT * titrated:
                        yield ("metal", f"{metal} would be titrated too at pH {at_ph:g}")


def _species(titration: Titrate) -> set[str]:
    """Everything that reacts in a titration, the titrant too."""
    left = {member.formula.text for reaction in titration.reactions for member in reaction.left}
    return left | {titration.titrant.species}
