"""A calculation comes in; its measurements go out with the factor by which each is passed on to the answer, and what they come to.

Two figures are told of an answer, for direct and back titrations alike:

* its greatest percentage uncertainty, the school rule: every error as large as its tolerance, and all in the worst direction. So the
  percentages add, each times the size of its factor, the sensitivity (x/y) dy/dx found from the derivation. Where the answer is a
  product or a quotient every factor is 1, and the plain sum is the rule.
* its combined standard uncertainty: independent errors partly cancel, so standard uncertainties combine in quadrature, each times its
  factor (JCGM 100:2008, 5.1.2). A tolerance is no standard uncertainty but a pair of limits; any value between them is taken to be as
  likely as any other, so it is divided by the root of three first (JCGM 100:2008, 4.3.7). A back titration's tolerances are those of
  the same apparatus, so the rule is the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

from molewright.derivation.sensitivity import Weights, sensitivities
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import Calculation
from molewright.further_parts.uncertainty.measured import Measurement, measurements

LIMITS = Fraction(3)  # the square of what limits are divided by
_PLACES = 30  # of a square root


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The measurements that an answer depends on, and the weight of each in every quantity on the way to it."""

    used: tuple[Measurement, ...]
    weights: Mapping[Name, Weights]  # by the quantity that is found
    asked: Name

    def factor(self, one: Measurement) -> Fraction:
        """By how many per cent the answer changes, up or down, where this measurement changes by one per cent."""
        return abs(self.weights[self.asked][one.name])

    @property
    def plain(self) -> bool:
        """Whether the answer is a product or a quotient of its measurements, so that percentages simply add."""
        return all(self.factor(one) == 1 for one in self.used)

    @property
    def greatest(self) -> Fraction:
        """The greatest percentage uncertainty of the answer, exactly."""
        return sum((self.factor(one) * one.percentage for one in self.used), Fraction(0))

    @property
    def standard(self) -> Fraction:
        """The combined standard uncertainty of the answer in per cent."""
        return standard_of(self.factor(one) * one.percentage for one in self.used)


def budget_of(calculation: Calculation) -> Budget:
    """The measurements of a calculation with their weights: a mass that no step uses makes an answer no more uncertain."""
    every = measurements(calculation.bank, calculation.draw)
    values = {**calculation.given, **{step.variable.name: step.exact for step in calculation.worked.steps}}
    asked = calculation.worked.plan.asked
    weights = sensitivities(calculation.system, calculation.worked.plan, values, [one.name for one in every])
    return Budget(used=tuple(one for one in every if one.name in weights[asked]), weights=weights, asked=asked)


def standard_of(percentages: Iterable[Fraction]) -> Fraction:
    """The combined standard uncertainty, in per cent, of tolerances that are passed on with these percentages."""
    return square_root(sum((one**2 for one in percentages), Fraction(0)) / LIMITS)


def square_root(exact: Fraction) -> Fraction:
    """The square root of a fraction, to thirty places."""
    with localcontext() as context:
        context.prec = 2 * _PLACES
        root = (Decimal(exact.numerator) / Decimal(exact.denominator)).sqrt()
        return Fraction(root.quantize(Decimal(1).scaleb(-_PLACES)))
