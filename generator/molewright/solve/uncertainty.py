"""A worked experiment and the tolerances of its readings come in; the uncertainty of the answer goes out, reading by reading.

Percentages are added (the most that it can be), and so are their squares (the standard uncertainty), each as often as the answer
changes with its reading, by the exact factors of `derivation/sensitivity`: 0.10 cm³ in a titre counts for more in a back titration,
where it is taken from a larger amount.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.readers.described_experiment import Experiment
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.derivation.sensitivity import sensitivities
from molewright.derivation.worked import Worked, base_factor
from molewright.experiment.quantities import Name
from molewright.question.prepared import molar_masses

_PERCENT_PLACES = 2
_FIGURES = 2  # of an uncertainty


@dataclass(frozen=True, slots=True)
class Share:
    """One reading: how far it may be out, and by how many per cent the answer is out then."""

    name: Name
    tolerance: Quantity
    percent: Fraction


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The shares of all readings, and what they make together."""

    shares: tuple[Share, ...]
    answer: Quantity
    exact: Fraction  # the answer in its unit

    @property
    def percent(self) -> Fraction:
        """By how many per cent the answer may be out."""
        return sum((share.percent for share in self.shares), Fraction(0))

    @property
    def standard_percent(self) -> Fraction:
        """The standard uncertainty in per cent: each share by √3, as it may lie anywhere within, and squares added (JCGM 100)."""
        squares = sum((share.percent**2 for share in self.shares), Fraction(0)) / 3
        return Fraction((Decimal(squares.numerator) / Decimal(squares.denominator)).sqrt())

    @property
    def absolute(self) -> Quantity:
        """The same in the unit of the answer, to two figures."""
        return Quantity(to_figures(self.exact * self.percent / 100, _FIGURES), self.answer.unit, self.answer.scientific)


def uncertainty(experiment: Experiment, worked: Worked) -> Uncertainty | None:
    """What the tolerances of an experiment make of its answer; None where it tells none. None are told for whole numbers and a pH."""
    if not experiment.tolerances or experiment.system.variables[experiment.ask.quantity].settled:
        return None
    given = {name: quantity.in_base for name, quantity in experiment.given.items()}
    values = {**molar_masses(experiment.system, experiment.masses), **given}
    values |= {step.variable.name: step.exact for step in worked.steps}
    try:
        weights = sensitivities(experiment.system, worked.plan, values, tuple(experiment.tolerances))[worked.plan.asked]
    except ArithmeticError:
        return None
    shares = tuple(
        Share(name, tolerance, abs(weights.get(name, Fraction(0))) * tolerance.in_base / given[name] * 100)
        for name, tolerance in experiment.tolerances.items()
    )
    return Uncertainty(shares, worked.answer, worked.exact * base_factor(worked.answer))


def uncertainty_told(experiment: Experiment, worked: Worked) -> str:
    """The uncertainty in words; "" where no tolerances are told."""
    found = uncertainty(experiment, worked)
    if found is None:
        return ""
    each = "; ".join(
        f"{share.name} ± {share.tolerance}, {half_up(share.percent, _PERCENT_PLACES)} %" for share in found.shares
    )
    added = f"Added ± {half_up(found.percent, _PERCENT_PLACES)} %, ± {found.absolute}"
    return f"{each}. {added}; standard uncertainty {half_up(found.standard_percent, _PERCENT_PLACES)} %"
