"""Indicators: the pH range of one and the steep part of a curve come in, a verdict with its reason goes out.

Never knows an indicator by name: its range comes from the bank.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from molewright.chem.curve import Steep
from molewright.errors import Mistake


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether an indicator fits, why, and where its colour changes. True in a condition where it fits."""

    fits: bool
    reason: str
    end_point_cm3: float  # infinite where the colour never changes
    error_percent: float  # of the equivalence volume; below 0 where the colour changes too early
    starts_cm3: float
    finishes_cm3: float

    def __bool__(self) -> bool:
        return self.fits


def end_point_volume(
    indicator_low: float, indicator_high: float, steep: Steep, *, stop_ph: float | None = None
) -> float:
    """The volume at which a pupil stops: where the pH passes the middle of the range, or `stop_ph`."""
    return steep.titration.volume_at((indicator_low + indicator_high) / 2 if stop_ph is None else stop_ph)


def titration_error_percent(end_point_cm3: float, steep: Steep) -> float:
    """How far the end point lies from the equivalence point, in per cent of the equivalence volume."""
    return 100 * (end_point_cm3 / steep.equivalence_cm3 - 1)


def fits(
    indicator_low: float,
    indicator_high: float,
    steep: Steep,
    *,
    stop_ph: float | None = None,
    tolerance_percent: float = 0.5,
    spread_percent: float = 3.0,
) -> Verdict:
    """Whether an indicator shows this equivalence point.

    It does if its whole range lies inside the steep part. It also does if the error at the colour where the pupil
    stops is within `tolerance_percent` and the change is over within `spread_percent` of the equivalence volume: so
    methyl orange is allowed for 0.1 mol dm⁻³ strong acid with strong base, as textbooks allow it (OpenStax,
    Chemistry 2e, 14.7), although its range begins below the steep part. A pupil told where to stop (`stop_ph`) sees
    the change only up to there; the rest may take as long as it will.
    """
    if not indicator_low < indicator_high:
        raise Mistake(f"an indicator range from pH {indicator_low} to {indicator_high}", expected="the lower pH first")
    if stop_ph is not None and not indicator_low - 0.5 <= stop_ph <= indicator_high + 0.5:
        raise Mistake(
            f"stopping at pH {stop_ph}", expected=f"a pH in the indicator's range, {indicator_low} to {indicator_high}"
        )
    titration = steep.titration
    low_cm3, high_cm3 = titration.volume_at(indicator_low), titration.volume_at(indicator_high)
    starts, finishes = min(low_cm3, high_cm3), max(low_cm3, high_cm3)
    end_point = end_point_volume(indicator_low, indicator_high, steep, stop_ph=stop_ph)
    error = titration_error_percent(end_point, steep)
    seen_until = finishes if stop_ph is None else end_point
    spread = 100 * (seen_until - starts) / steep.equivalence_cm3 if math.isfinite(seen_until) else math.inf
    span = f"pH {indicator_low:.1f} to {indicator_high:.1f}"
    inside = steep.low <= indicator_low and indicator_high <= steep.high
    fit = inside or (abs(error) <= tolerance_percent and spread <= spread_percent)

    if inside:
        reason = f"the whole change, {span}, lies inside the steep part, pH {steep.low:.1f} to {steep.high:.1f}"
    elif finishes == 0:
        reason = f"the change, {span}, is over before any titrant is added"
    elif math.isinf(end_point):
        reason = f"the pH never passes through the change, {span}"
    elif not fit and abs(error) <= tolerance_percent:
        ending = f"to {seen_until:.2f} cm³" if math.isfinite(seen_until) else "and is never complete"
        reason = f"the change, {span}, is spread from {starts:.2f} cm³ {ending}, so there is no sharp end point"
    else:
        side = "before" if error < 0 else "after"
        allowed = f", within the {tolerance_percent:g} % allowed" if fit else ""
        reason = (
            f"the colour changes at {end_point:.2f} cm³, {abs(error):.2f} % {side} the equivalence point at "
            f"{steep.equivalence_cm3:.2f} cm³{allowed}"
        )
    return Verdict(
        fits=fit, reason=reason, end_point_cm3=end_point, error_percent=error, starts_cm3=starts, finishes_cm3=finishes
    )
