"""What questions of one variant, asked quantity and form share goes in and out as one value: it is planned once for all of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from molewright.chem.conventions import Convention
from molewright.chem.masses import relative_mass
from molewright.derivation.derive import Plan, derive
from molewright.derivation.routes.search import Routes
from molewright.draw.chosen import Draw
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System
from molewright.slips.mistaken_route import SlipTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """What questions of one variant, asked quantity and form share: relations, plan, other routes, slips."""

    system: System
    plan: Plan
    routes: Routes
    slips: SlipTable
    hidden: tuple[Plan, ...] = ()  # to the numbers that are drawn and neither printed nor asked for

    def hidden_values(self, given: Mapping[Name, Fraction]) -> dict[Name, Fraction]:
        """What follows from the givens and the bench needs beside the answer, to replay every titre."""
        return {plan.asked: derive(self.system, plan, given).answer for plan in self.hidden}


def given_values(made: Draw, fixed: Mapping[Name, Fraction]) -> dict[Name, Fraction]:
    """Every known quantity of a draw in base units: what is printed, and `fixed` molar masses."""
    given = {name: quantity.in_base for name, quantity in made.given.items()}
    given.update(fixed)
    return given


def molar_masses(system: System, masses: Convention) -> dict[Name, Fraction]:
    """The fixed molar masses of a system by a convention, in g mol⁻¹."""
    return {name: Fraction(relative_mass(system.variables[name].subject, masses)) for name in system.fixed}
