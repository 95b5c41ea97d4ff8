"""Steps of a derivation come in; pieces that print them as lines of working go out, with whatever values the page shows."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, finite_places, half_up
from molewright.chem.units import Unit
from molewright.derivation.worked import Worked, WorkedStep
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import Calculation, Solved


def as_written(exact: Fraction) -> Quantity:
    """A number as it stands in working where nothing says with how many figures: a count, a wrong molar mass."""
    places = finite_places(exact)
    return Quantity(half_up(exact, 6 if places is None else places), Unit.NONE)


def step_line(
    step: WorkedStep, shown: Mapping[Name, Quantity], found: Quantity, rounded: Quantity | None, bold: bool = True
) -> Solved:
    """One step as a line; `shown` holds every quantity as it stands on the page."""
    assert step.relation is not None
    others = tuple((name, shown[name]) for name in step.relation.names if name != step.variable.name)
    return Solved(
        relation=step.relation,
        target=step.variable.name,
        written=others,
        found=found,
        rounded=rounded,
        idle=step.idle,
        bold=bold,
    )


def page(calculation: Calculation, worked: Worked, given: Mapping[Name, Quantity]) -> dict[Name, Quantity]:
    """Every quantity as it stands on the page: printed, known by its formula, or found in a step."""
    shown = {name: molar_mass(calculation, name) for name in calculation.system.fixed}
    shown.update((name, quantity.to(quantity.unit.base)) for name, quantity in given.items())
    shown.update((step.variable.name, step.shown) for step in worked.steps)
    return shown


def molar_mass(calculation: Calculation, name: Name) -> Quantity:
    """A molar mass that a formula tells, with the places of the paper's atomic masses: 90.0, not 90."""
    return Quantity(relative_mass(calculation.system.variables[name].subject, calculation.masses), Unit.NONE)
