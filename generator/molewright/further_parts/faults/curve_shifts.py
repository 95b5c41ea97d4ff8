"""A calculation and a fault come in; by how much the curve moves each end point goes out, in cm³. No direction is known beforehand.

The curve is that of what is really in the flask (carbon dioxide too), once as the experiment is told and once with the fault: another
indicator, more of a gas, an alkali that has taken some up, or so much indicator that it counts as an acid itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from molewright.bank.definitions import Indicator, LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.chem.curve import Titration
from molewright.chem.equilibrium import Solute
from molewright.experiment.procedure import Operation, Procedure, Remove, Titrate
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.faulty_bench import IN_BOTTLE, titrated
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.flask import LastFlask, flask_before
from molewright.plausibility.solutes import Solutes

IN_FLASK = frozenset({"gas left", "gas added", "indicator added"})
SUITS = (
    0.01  # of the titre: as far as an indicator used beside a fault of the bottle may change beside the question's own
)


def concerns(fault: LaboratoryFault) -> bool:
    """Whether a fault acts along the curve."""
    return bool(fault.indicator) or any(what in IN_FLASK or what == IN_BOTTLE for what, _ in fault.changes)


def moved_by_curve(calculation: Calculation, fault: LaboratoryFault) -> dict[Name, float]:
    """By how much each titre that the fault is part of changes. Raises BenchFault where no curve or no end point is to be had.

    A fault of the bottle is one of every titration with it; any other one of the last titration.
    """
    titrations = calculation.draw.variant.procedure.titrations
    changes = {what: float(number) for what, number in fault.changes}
    if IN_BOTTLE in changes:
        acts = tuple(one for one in titrations if one.titrant.name == titrations[-1].titrant.name)
    else:
        acts = titrations[-1:]
    found: dict[Name, float] = {}
    for act in acts:
        right = _Flask(calculation, act, fault.gas)
        flask = _Flask(calculation, act, fault.gas, boiled=False) if "gas left" in changes else right
        indicator, usual = fault.indicator or right.indicator, right.end(right.indicator, {})
        if IN_BOTTLE in changes and abs(right.end(indicator, {}) / usual - 1) > SUITS:
            raise BenchFault("an indicator", f"{indicator} does not suit what is in the flask of {act.titrant.name}")
        found[act.titre] = flask.end(indicator, changes) - usual
    return found


class _Flask:
    """What is titrated, and with what; not boiled, it keeps the gas that should have left it."""

    def __init__(self, calculation: Calculation, act: Titrate, gas: str, boiled: bool = True) -> None:
        self.gas = gas
        self.bank, self.solutes, self.act = calculation.bank, Solutes(calculation.bank), act
        procedure = calculation.draw.variant.procedure
        if not boiled:
            procedure = Procedure(tuple(one for one in procedure.operations if not _drives_off(one, gas)))
        flask = flask_before(act, procedure, calculation.draw.truth, self.solutes.held)
        known = all(map(self.solutes.acts, (act.titrant.species, *titrated(act))))
        if flask is None or not known:
            raise BenchFault("a curve", f"what is in the flask of {act.titrant.name} cannot be followed by pH")
        self.flask: LastFlask = flask
        self.indicator = act.indicator or calculation.draw.indicator
        per_dm3 = 1000 / flask.volume_cm3
        self.there = self.solutes.dissolved({one: moles * per_dm3 for one, moles in flask.amounts.items()})

    def end(self, name: str, changes: Mapping[str, float]) -> float:
        """The volume at which the colour is seen to change."""
        indicator = self.bank.indicators.get(name)
        if indicator is None or indicator.low is None or indicator.high is None:
            raise BenchFault("an indicator", f"{name or 'no indicator'} does not follow pH")
        curve = self._curve(indicator, changes)
        found = curve.volume_at(_seen_at(indicator, curve.rising))
        if not 0 < found < math.inf:
            raise BenchFault("an end point", f"{name} shows none")
        return found

    def _curve(self, indicator: Indicator, changes: Mapping[str, float]) -> Titration:
        flask, titrant = list(self.there), {self.act.titrant.species: self.flask.titrant}
        volume_cm3 = self.flask.volume_cm3
        for what, number in changes.items():
            if what == "gas left":
                flask = [replace(one, concentration=number * one.concentration) if one.gas else one for one in flask]
            elif what == IN_BOTTLE:
                titrant[self.gas] = number * self.flask.titrant
            elif what == "gas added":
                flask += self.solutes.dissolved({self.gas: number / volume_cm3})
            elif what == "indicator added":  # half of it has changed in the middle of its range
                flask.append(_of_the_bottle(indicator, number, volume_cm3))
        closed = Titration(flask=tuple(flask), flask_cm3=volume_cm3, titrant=self.solutes.dissolved(titrant))
        if closed.rising or not any(solute.gas for solute in flask):
            return closed
        return Titration(
            flask=tuple(flask),
            flask_cm3=volume_cm3,
            titrant=closed.titrant,
            gas_left=self.solutes.gas_kept((*self.flask.amounts, self.gas)),
        )


def _drives_off(operation: Operation, gas: str) -> bool:
    return isinstance(operation, Remove) and operation.species == gas


def _of_the_bottle(indicator: Indicator, added_cm3: float, volume_cm3: float) -> Solute:
    """So much of an indicator's bottle as a solute of the flask, in the form in which the bottle holds it."""
    if indicator.bottled is None:
        raise BenchFault("an indicator", f"nothing is known of a bottle of {indicator.name}")
    protons = 1 if indicator.bottled.form == "acid" else 0
    return Solute((_middle(indicator),), protons, indicator.bottled.strength * added_cm3 / volume_cm3)


def _middle(indicator: Indicator) -> float:
    assert indicator.low is not None
    assert indicator.high is not None
    return float(indicator.low + indicator.high) / 2


def _seen_at(indicator: Indicator, rising: bool) -> float:
    """The pH at which a pupil stops; where the colour fades away, when the last of it is gone."""
    if not rising and indicator.acid_colour == "colourless":
        assert indicator.low is not None
        return float(indicator.low)
    return float(indicator.stop) if indicator.stop is not None else _middle(indicator)
