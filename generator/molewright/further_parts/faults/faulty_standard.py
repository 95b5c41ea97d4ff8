"""A solution that is made up to the mark comes in, and a fault; what the fault does to its strength goes out. The bench finds it.

The solution is prepared again with the fault, and a portion of it is titrated with a probe that takes up one for one what was
dissolved: a smaller titre means a more dilute solution. No direction is known beforehand, and nothing is worded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, Dissolve, MakeUp, Measure, Procedure, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution
from molewright.further_parts.faults.faulty_bench import read_titres
from molewright.further_parts.pieces import Calculation

Strength = Literal["too dilute", "too concentrated", ""]

NOTHING = LaboratoryFault(key="", told="", cause="", changes=())
_PROBE = Solution(name="probe", solute="probe", species="probe")
_PORTION = "probed portion"


@dataclass(frozen=True, slots=True)
class Preparation:
    """A solution made up to the mark in a volumetric flask: from a solid dissolved in a solvent, or from a measured solution."""

    made_up: MakeUp
    solid: Weigh | None = None
    solvent: str = ""
    stock: Measure | None = None

    @property
    def species(self) -> str:
        """What is counted in the solution."""
        if self.solid is not None:
            return self.solid.contents[0].species
        assert self.stock is not None
        return self.stock.solution.species


def preparation(procedure: Procedure) -> Preparation | None:
    """The first solution of a procedure that is made up with nothing but water; None where a reaction comes before the mark."""
    for operation in procedure.operations:
        if isinstance(operation, MakeUp):
            match _before(procedure, operation):
                case [Weigh(pieces="", weighed=True) as solid, Dissolve(solvent=solvent)]:
                    return Preparation(operation, solid=solid, solvent=solvent.removeprefix("an excess of "))
                case [Measure(apparatus="pipette" | "burette", excess=False, others=()) as stock]:
                    return Preparation(operation, stock=stock)
                case _:
                    continue
    return None


def _before(procedure: Procedure, made_up: MakeUp) -> list[object]:
    """All that is done in the vessel before it is made up."""
    until = procedure.operations[: procedure.operations.index(made_up)]
    return [one for one in until if getattr(one, "vessel", "") == made_up.vessel]


def strength_with(calculation: Calculation, made: Preparation, fault: LaboratoryFault) -> Strength:
    """What a fault does to what a portion of the solution holds; "" where it does nothing."""
    return compared(calculation, made, true_values(calculation), fault)


def compared(
    calculation: Calculation, made: Preparation, values: Mapping[Name, Fraction], fault: LaboratoryFault = NOTHING
) -> Strength:
    """The strength with other true values, or with a fault, beside the right one."""
    probed, own = _probed(calculation.draw.variant.procedure, made)
    titre = probed.titrations[-1].titre
    try:
        right = read_titres(probed, {**true_values(calculation), **own}, NOTHING)[titre]
        found = read_titres(probed, {**values, **own}, fault)[titre]
    except BenchFault as broken:
        raise Refusal("describe", broken.detail) from None
    return "too dilute" if found < right else "too concentrated" if found > right else ""


def true_values(calculation: Calculation) -> dict[Name, Fraction]:
    """Every true value of the experiment, the asked one too."""
    worked = calculation.worked
    return {**calculation.draw.truth, **calculation.given, worked.plan.asked: worked.exact}


def _probed(procedure: Procedure, made: Preparation) -> tuple[Procedure, dict[Name, Fraction]]:
    """The procedure up to the mark with a portion titrated after it, and the numbers that this titration needs."""
    until = procedure.operations[: procedure.operations.index(made.made_up) + 1]
    titration = Titrate(titrant=_PROBE, reactions=(), vessel=_PORTION, sought=made.species)
    operations = (*until, Aliquot(made.made_up.vessel, _PORTION), titration)
    own = {
        quantities.volume_taken(_PORTION): Fraction(10),
        quantities.concentration(_PROBE.name): Fraction(1, 10),
        titration.found_ratio: Fraction(1),
    }
    return replace(procedure, operations=operations), own
