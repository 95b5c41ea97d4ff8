"""A calculation and its course come in; the indicators that show its end point go out, and the steep part as the sheets print it.

What is suitable is computed from the flask. A key is one whose whole change lies within a drop or two round equivalence; another
suitable one (methyl orange with strong acid and alkali) is allowed at most. The printed steep part takes in the range of every key,
so that the scheme never accepts an indicator outside the range that it prints.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from molewright.bank.definitions import Indicator
from molewright.chem.end_point import Verdict, fits
from molewright.further_parts.curves.course import Course, halves
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.rules import Plausibility

DROP_CM3 = 0.05  # what leaves the jet of a burette at once; common practice, no source
TWO_DROPS_CM3 = 2 * DROP_CM3


class Ranged(NamedTuple):
    """An indicator that follows pH."""

    indicator: Indicator
    low: float
    high: float
    verdict: Verdict

    @property
    def name(self) -> str:
        """Its name in the bank."""
        return self.indicator.name

    def sharp(self, end_cm3: float) -> bool:
        """Whether two drops carry the pH through its whole range, and both are next to the equivalence point."""
        near = (
            end_cm3 - TWO_DROPS_CM3 <= self.verdict.starts_cm3 and self.verdict.finishes_cm3 <= end_cm3 + TWO_DROPS_CM3
        )
        return near and self.spread_cm3 <= TWO_DROPS_CM3

    @property
    def spread_cm3(self) -> float:
        """The volume that its whole change takes."""
        return self.verdict.finishes_cm3 - self.verdict.starts_cm3


def ranged(calculation: Calculation, found: Course) -> list[Ranged]:
    """The bank's indicators that follow pH, from acid to alkaline."""
    every = [
        Ranged(one, float(one.low), float(one.high), fits(float(one.low), float(one.high), found.steep))
        for one in calculation.bank.indicators.values()
        if one.low is not None and one.high is not None
    ]
    return sorted(every, key=lambda one: (one.low, one.high))


def suitable(calculation: Calculation) -> frozenset[str]:
    """The names of the indicators that show the last end point."""
    judge = Plausibility(calculation.bank)
    return frozenset(judge.suitable_indicators(calculation.draw.variant, calculation.draw))


def serving(calculation: Calculation, found: Course) -> list[Ranged]:
    """The suitable indicators that a key may name: those whose whole change is sharp."""
    names = suitable(calculation)
    return [one for one in ranged(calculation, found) if one.name in names and one.sharp(found.end_cm3)]


def printed_steep(calculation: Calculation, found: Course) -> tuple[Decimal, Decimal]:
    """The ends of the steep part as they are printed: in halves, and to a tenth where an indicator that serves decides."""
    low, high = (halves(end) for end in found.steep_part())
    for one in serving(calculation, found):
        assert one.indicator.low is not None
        assert one.indicator.high is not None
        low, high = min(low, one.indicator.low), max(high, one.indicator.high)
    return low, high
