"""A calculation whose answer rests on a difference comes in; the part goes out in which factors stand in a table: exam style.

A factor is by how many per cent the answer changes where a measurement changes by one per cent (`budget`). The percentages, each times
its factor, add up to the greatest percentage uncertainty of the answer. Words nothing.
"""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Lettered,
    Named,
    Quotient,
    Reckoning,
    Rows,
    Said,
    Space,
    said,
)
from molewright.further_parts.uncertainty.budget import Budget
from molewright.further_parts.uncertainty.differences import Difference, asked_for, plain_sum
from molewright.further_parts.uncertainty.measured import FIGURES, Measurement
from molewright.further_parts.uncertainty.working import (
    called,
    enough_figures,
    named_slip,
    percentages_point,
    plus,
    quantity,
    rounded_off,
    span,
    tolerance_of_each,
)

FACTOR_FIGURES = 3


def shown_factor(budget: Budget, one: Measurement) -> Quantity:
    """A factor as it stands in the table: 1.73, and 1 where a measurement is passed on as it is."""
    exact = budget.factor(one)
    return Quantity(to_figures(exact, 1 if exact == 1 else FACTOR_FIGURES), Unit.NONE)


def times_factor(budget: Budget, one: Measurement, figures: int) -> str:
    """A percentage times its factor, as a line of working has it; the percentage alone where the factor is 1."""
    share = one.percentage_to(figures).number_text
    factor = shown_factor(budget, one)
    return share if factor.exact == 1 else f"{factor.number_text} × {share}"


def shares_to(budget: Budget, figures: int) -> list[Fraction]:
    """The percentages times their factors, from the numbers as they are printed."""
    return [shown_factor(budget, one).exact * one.percentage_to(figures).exact for one in budget.used]


def ask_with_factors(
    calculation: Calculation, budget: Budget, difference: Difference, titre: Measurement, exam: bool | None = True
) -> FurtherPart:
    """The percentages of the other measurements, each times its factor, and their sum; `exam` says in which style it is printed."""
    others = tuple(one for one in budget.used if one is not titre)
    figures = enough_figures(lambda many: [sum(shares_to(budget, many), Fraction(0))], [budget.greatest], FIGURES)
    total = sum(shares_to(budget, figures), Fraction(0))
    terms = plus(times_factor(budget, one, figures) for one in budget.used)
    accepted = span([budget.greatest, *(sum(shares_to(budget, many), Fraction(0)) for many in (FIGURES, 1))])
    rows = tuple(
        (called(one), tolerance_of_each(one), shown_factor(budget, one), said("found above") if one is titre else "")
        for one in budget.used
    )
    return FurtherPart(
        kind="uncertainty",
        demand=said(
            "uncertainty by factors",
            named=Named(difference.name),
            difference=difference.equation,
            answer=asked_for(calculation),
        ),
        points=(
            percentages_point(others),
            FurtherPoint(
                (Reckoning(terms),),
                "each percentage × its factor",
                (said("guide factors"), *_reasons(budget, difference)),
            ),
            FurtherPoint(
                (Reckoning((said("sum of shares"), *rounded_off(total))),),
                quantity(budget.greatest, Unit.PERCENT),
                (said("guide sum of factors"),),
            ),
        ),
        space=(Space(height_mm=26.0, rule_mm=45.0, unit=Unit.PERCENT),),
        shown=(
            Rows(
                heading=(said("apparatus head"), said("tolerance head"), said("factor head"), said("percentage head")),
                rows=rows,
                widths=(0.32, 0.30, 0.12, 0.26),
                summary=said("factor summary"),
            ),
        ),
        hint=said("hint factors"),
        accepted=accepted,
        unit=Unit.PERCENT,
        wrong=(*plain_sum(calculation.bank, budget, accepted, 1), *_halved(calculation, others)),
        exam=exam,
    )


def _halved(calculation: Calculation, others: tuple[Measurement, ...]) -> tuple[FurtherWrongAnswer, ...]:
    """The percentage of a mass, where only one of its readings is counted."""
    slip = named_slip(calculation.bank, "one reading of a mass")
    halves = (
        Quantity(to_figures(one.percentage / 2, FIGURES), Unit.PERCENT) for one in others if one.kind == "balance"
    )
    return tuple(FurtherWrongAnswer(half, (slip,), 2) for half in halves)


def _reasons(budget: Budget, difference: Difference) -> tuple[Said, ...]:
    """Where the factors come from: each term as a share of the difference."""
    found: list[Said] = []
    for term in difference.terms:
        if budget.factor(term.measured[0]) != 1:
            ratio = Quotient((Lettered(term.name),), (Lettered(difference.name),))
            found.append(said("guide factor", ratio=Reckoning((ratio, "=", shown_factor(budget, term.measured[0])))))
    return tuple(found)
