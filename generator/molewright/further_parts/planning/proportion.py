"""A plan for a titre comes in; the same plan by proportion with the first experiment goes out, or nothing where it is none.

In a direct titration one line leads from the first experiment to the next, so the part is worth that line and not the chain back from
the titre, which is right as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import STEP_FIGURES, Worked, shown_value
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPoint,
    Lettered,
    Piece,
    Quotient,
    Reckoning,
    Strong,
    said,
)


@dataclass(frozen=True, slots=True)
class _Known:
    """A number of the first experiment: exactly, in base units, and as it is written."""

    exact: Fraction
    written: Quantity


def by_proportion(
    calculation: Calculation, worked: Worked, titre: tuple[Name, Quantity], assumed: tuple[Name, Quantity]
) -> tuple[FurtherPoint, ...] | None:
    """The mark points of a plan by proportion: a factor for the titre wanted, one for what is assumed, and their product.

    `worked` is the plan worked back from the titre; `titre` and `assumed` are what is wanted and what is taken for granted.
    """
    wanted, (read, aim), (share, taken) = worked.plan.asked, titre, assumed
    first, was = _known(calculation, wanted), _known(calculation, read)
    before: tuple[FurtherPoint, ...] = ()
    had = _known(calculation, share)
    if had is None and (found := _share_found(calculation, share)) is not None:
        had, before = found
    if first is None or was is None or had is None:
        return None
    more = Fraction(aim.in_base) / was.exact
    own = share == calculation.worked.plan.asked and taken == calculation.worked.answer
    other = Fraction(1) if own else had.exact / taken.in_base  # the same substance again: nothing but the titre changes
    for first_turn, second_turn in product((1, -1), repeat=2):
        if worked.exact == first.exact * more**first_turn * other**second_turn:
            ratios = [(aim, was.written)[::first_turn]]
            if other != 1:
                ratios.append((had.written, taken)[::second_turn])
            return *before, *_points(calculation, worked, first, ratios)
    return None


def _known(calculation: Calculation, name: Name) -> _Known | None:
    """What a pupil knows of the first experiment: what is printed, and what was found in the calculation."""
    printed = calculation.draw.given.get(name)
    if printed is not None:
        return _Known(printed.in_base, printed)
    worked = calculation.worked
    if not calculation.draw.archetype.calculated:
        return None
    if name == worked.plan.asked:
        return _Known(worked.exact, worked.answer)
    step = next((step for step in worked.steps if step.variable.name == name), None)
    return None if step is None else _Known(step.exact, step.shown)


def _share_found(calculation: Calculation, share: Name) -> tuple[_Known, tuple[FurtherPoint, ...]] | None:
    """The percentage of the first sample where the pupil has found the mass of the substance in it, and the point for it."""
    for relation in calculation.system.relations:
        if relation.kind == "percentage" and relation.names[0] == share:
            part, whole = (_known(calculation, name) for name in relation.names[1:])
            if part is None or whole is None:
                return None
            exact = part.exact / whole.exact * 100
            written = shown_value(calculation.system.variables[share], exact)
            line = Reckoning((Lettered(share), "=", Quotient((_bare(part.written),), (_bare(whole.written),)), "×", "100",
                              "=", Strong(written)))  # fmt: skip
            return _Known(exact, written), (FurtherPoint((line,), written),)
    return None


def _points(
    calculation: Calculation,
    worked: Worked,
    first: _Known,
    ratios: Sequence[tuple[Quantity, ...]],
) -> tuple[FurtherPoint, ...]:
    """A point for each ratio, of what stands above to what stands below, and one for the product."""
    wanted = worked.plan.asked
    factors: list[Quantity] = []
    points: list[FurtherPoint] = []
    for top, bottom in ratios:
        factor = Quantity(to_figures(top.in_base / bottom.in_base, STEP_FIGURES), Unit.NONE)
        line = Reckoning((Quotient((_bare(top),), (_bare(bottom.to(top.unit)),)), "=", Strong(factor)))
        points.append(FurtherPoint((line,), factor, (said("guide proportional"),)))
        factors.append(factor)
    start = first.written.to(calculation.system.variables[wanted].unit)
    factored: list[Piece] = [_bare(start)]
    for factor in factors:
        factored += ["×", factor]
    line = Reckoning((Lettered(wanted), "=", *factored, "=", Strong(worked.answer)))
    return (*points, FurtherPoint((line,), worked.answer, (said("guide plan step"),)))


def _bare(quantity: Quantity) -> Quantity:
    return Quantity(quantity.number, Unit.NONE, quantity.scientific)
