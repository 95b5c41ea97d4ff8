"""A calculation comes in; parts on its percentage uncertainty by the school rule go out: of the titre, of the rest, of the answer.

Where the answer is a product or a quotient of what was measured, the percentages are added (common practice, no source). Where it rests
on a difference they are not: below exam style the absolute uncertainties are asked for on the way (`differences`), in exam style
the factors stand in a table (`factors`). Words nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Reckoning,
    Space,
    said,
)
from molewright.further_parts.uncertainty.budget import Budget, budget_of
from molewright.further_parts.uncertainty.differences import ask_step_by_step, difference_in
from molewright.further_parts.uncertainty.factors import ask_with_factors
from molewright.further_parts.uncertainty.measured import FIGURES, Measurement
from molewright.further_parts.uncertainty.working import (
    enough_figures,
    named_slip,
    percentages_point,
    percentages_to_fill,
    plus,
    reckoned,
    rounded_off,
    span,
    tolerance,
)


def ask_uncertainty(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The percentage uncertainty of the titre, of each other measurement, and of the answer."""
    budget = budget_of(calculation)
    titre, others = titre_and_others(budget)
    first = titre_part(calculation.bank, titre)
    if budget.plain:
        return first, _whole_part(calculation.bank, titre, others)
    difference = difference_in(calculation, budget)
    by_factors = ask_with_factors(calculation, budget, difference, titre)
    return first, *ask_step_by_step(calculation, budget, difference, titre), by_factors


def titre_and_others(budget: Budget) -> tuple[Measurement, tuple[Measurement, ...]]:
    """The one titre, and what else was measured. Raises Refusal where there are several titres or nothing else."""
    titres = [one for one in budget.used if one.kind == "burette"]
    others = tuple(one for one in budget.used if one.kind != "burette")
    if len(titres) != 1 or not others:
        raise Refusal("uncertainty", "there is not one printed titre beside other measurements")
    return titres[0], others


def titre_part(bank: Bank, titre: Measurement) -> FurtherPart:
    """The percentage uncertainty of the titre, for its own mark."""
    half = Quantity(to_figures(titre.percentage / 2, FIGURES), Unit.PERCENT)
    one = Quantity(to_figures(titre.percentage, 1), Unit.PERCENT)
    guidance = (said("guide two readings"), said("guide one figure", one=one))
    return FurtherPart(
        kind="uncertainty",
        demand=said("uncertainty titre", each=tolerance(titre)),
        points=(FurtherPoint((reckoned(titre),), titre.percentage_shown, guidance),),
        space=(Space(height_mm=14.0, rule_mm=45.0, unit=Unit.PERCENT),),
        hint=said("hint two readings"),
        accepted=span([titre.percentage]),
        unit=Unit.PERCENT,
        wrong=(FurtherWrongAnswer(half, (named_slip(bank, "one reading of a titre"),), 0),),
    )


def _whole_part(bank: Bank, titre: Measurement, others: tuple[Measurement, ...]) -> FurtherPart:
    every = (*others, titre)
    total = sum((one.percentage for one in every), Fraction(0))
    figures = enough_figures(lambda many: [_sum_to(every, many)], [total], FIGURES)
    terms = plus(one.percentage_to(figures).number_text for one in every)
    accepted = span([total, _sum_to(every, FIGURES), _sum_to(every, 1)])
    of_one = " of one" if len(others) == 1 else ""
    return FurtherPart(
        kind="uncertainty",
        demand=said(f"uncertainty whole{of_one}"),
        points=(
            percentages_point(others),
            FurtherPoint(
                (Reckoning((*terms, *rounded_off(_sum_to(every, figures)))),),
                Quantity(to_figures(total, FIGURES), Unit.PERCENT),
                (said("guide add percentages"),),
            ),
        ),
        space=(Space(height_mm=22.0, rule_mm=45.0, unit=Unit.PERCENT),),
        shown=(percentages_to_fill(others),),
        hint=said("hint add percentages"),
        accepted=accepted,
        unit=Unit.PERCENT,
        wrong=_whole_wrong(bank, titre, others, accepted),
    )


def _sum_to(every: Iterable[Measurement], figures: int) -> Fraction:
    return sum((one.percentage_to(figures).exact for one in every), Fraction(0))


def _whole_wrong(
    bank: Bank, titre: Measurement, others: tuple[Measurement, ...], accepted: tuple[Decimal, Decimal]
) -> tuple[FurtherWrongAnswer, ...]:
    """Absolute uncertainties added; and the percentage of a mass, where only one of its readings is counted."""
    wrong = []
    added = to_figures(sum((one.absolute for one in (*others, titre)), Fraction(0)), FIGURES)
    if not accepted[0] <= added <= accepted[1]:
        slip = named_slip(bank, "absolute uncertainties added")
        wrong.append(FurtherWrongAnswer(Quantity(added, Unit.PERCENT), (slip,), 0))
    for one in others:
        if one.kind == "balance":
            half = Quantity(to_figures(one.percentage / 2, FIGURES), Unit.PERCENT)
            wrong.append(FurtherWrongAnswer(half, (named_slip(bank, "one reading of a mass"),), 1))
    return tuple(wrong)
