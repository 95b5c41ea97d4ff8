"""A calculation and a fault come in; by how much solubility products or the constant of EDTA move the last end point goes out, in cm³.

Three faults act so: a precipitate left in the flask that the titrant dissolves again, acid in a titration by a coloured precipitate,
and too low a pH for EDTA. Nothing is known beforehand of the direction, or of which metal ions are held firmly enough.
"""

from __future__ import annotations

import math

from molewright.bank.definitions import EdtaAcid, LaboratoryFault, Precipitant
from molewright.bench.perform import BenchFault, perform
from molewright.experiment import quantities
from molewright.experiment.procedure import Titrate
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.faulty_bench import titrated
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.added import Reader
from molewright.plausibility.edta import EdtaRules
from molewright.plausibility.flask import LastFlask, flask_before
from molewright.plausibility.precipitation import PrecipitationRules, late_mol, salts_of, strength_at
from molewright.plausibility.solutes import Solutes

NEUTRAL_PH = 7.0  # of a titration with chromate as it should be
BUFFERED_PH = 10.0  # of one with EDTA


def concerns(fault: LaboratoryFault) -> bool:
    """Whether a fault acts through a constant."""
    return any(what in ("pH of flask", "titrant at the end") for what, _ in fault.changes)


def moved_by_constants(calculation: Calculation, fault: LaboratoryFault) -> dict[Name, float]:
    """By how much the last titre changes. Raises BenchFault where the flask cannot be followed."""
    procedure = calculation.draw.variant.procedure
    act = procedure.titrations[-1]
    flask = flask_before(act, procedure, calculation.draw.truth, Solutes(calculation.bank).held)
    if flask is None:
        raise BenchFault("a constant", f"what is in the flask of {act.titrant.name} cannot be followed")
    moles = 0.0
    for what, number in fault.changes:
        if what == "titrant at the end":
            moles += _dissolved_again(calculation, act, flask, float(number))
        elif act.titrant.species in (one.ion for one in calculation.bank.precipitation if isinstance(one, Precipitant)):
            moles += _late_by_acid(calculation, act, flask, float(number))
        elif any(isinstance(one, EdtaAcid) and one.titrated_as == act.titrant.species for one in calculation.bank.edta):
            moles -= _unbound(calculation, act, flask, float(number))
        else:
            raise BenchFault("a constant", f"the pH tells nothing of {act.titrant.name}")
    return {act.titre: moles / flask.titrant * 1000}


def _dissolved_again(calculation: Calculation, act: Titrate, flask: LastFlask, titrant: float) -> float:
    """Titrant taken up by a salt that was not filtered off, until its anions hold the titrant's in balance, in mol."""
    procedure = calculation.draw.variant.procedure
    reacted = perform(procedure, calculation.draw.truth).amounts
    for cation in titrated(act):
        salts = {one.solid.solid: one for one in salts_of(calculation.bank, cation).values()}
        own = next((one for one in salts.values() if one.anion == act.titrant.species), None)
        taken = reacted.get(quantities.amount(cation, act.vessel, "reacted"))
        for reaction in procedure.equations:
            solid = next((one.formula.text for one in reaction.right if one.formula.text in salts), "")
            if not solid or own is None or taken is None:
                continue
            held = float(taken * reaction.ratio(solid, cation))
            ratio = 10 ** (own.solid.pksp - salts[solid].solid.pksp)
            return min(held, ratio * titrant * (flask.volume_cm3 + flask.titre_cm3) / 1000)
    raise BenchFault("a constant", "no salt is left in the flask that the titrant dissolves")


def _late_by_acid(calculation: Calculation, act: Titrate, flask: LastFlask, at_ph: float) -> float:
    """Titrant run in before the coloured solid shows, beyond what a neutral solution needs, in mol."""
    bank, draw = calculation.bank, calculation.draw
    solutes = Solutes(bank)
    rules = PrecipitationRules(bank, solutes, Reader(bank))
    salts = salts_of(bank, act.titrant.species)
    shown = rules.indicator(act.titrant.species, act.indicator or draw.indicator)
    sought = next((one for one in titrated(act) if one in salts), "")
    if not sought or shown is None or shown.ion not in salts:
        raise BenchFault("a constant", "nothing is precipitated by the titrant with a colour of its own")
    total_cm3 = flask.volume_cm3 + flask.titre_cm3
    coloured, salt = salts[shown.ion].solid, salts[sought].solid
    late, right = (late_mol(coloured, salt, strength_at(shown, one), total_cm3) for one in (at_ph, NEUTRAL_PH))
    return late - right


def _unbound(calculation: Calculation, act: Titrate, flask: LastFlask, at_ph: float) -> float:
    """Metal ions that EDTA does not hold when as much of it is there as of them, beyond those in the right buffer, in mol."""
    solutes = Solutes(calculation.bank)
    rules = EdtaRules(calculation.bank, solutes, Reader(calculation.bank))
    metals = [one for one in titrated(act) if one in rules.metals]
    if not metals:
        raise BenchFault("a constant", f"no constant of {', '.join(titrated(act))} is known")
    total_cm3 = flask.volume_cm3 + flask.titre_cm3
    ions = solutes.ions({one: moles / total_cm3 * 1000 for one, moles in flask.amounts.items()})
    more = 0.0
    for metal in metals:
        strength = ions.get(metal, 0.0)
        logs = rules.log_k(metal, at_ph), rules.log_k(metal, BUFFERED_PH, rules.ammonia_of_a_buffer(BUFFERED_PH))
        loose, right = (math.sqrt(strength / 10**log_k) for log_k in logs)
        more += loose - right
    return more * total_cm3 / 1000
