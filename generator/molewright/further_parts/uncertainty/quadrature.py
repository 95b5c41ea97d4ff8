"""A calculation comes in; the stretch parts go out in which its standard uncertainties are combined in quadrature. Words nothing.

One rule for direct and back titrations (`budget`): each tolerance is divided by the root of three, passed on by its factor, squared and
added, and the root is taken (JCGM 100:2008, 4.3.7 and 5.1.2).
"""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.further_parts.pieces import Calculation, FurtherPart, FurtherPoint, Piece, Reckoning, Space, said
from molewright.further_parts.uncertainty.budget import LIMITS, Budget, budget_of, square_root, standard_of
from molewright.further_parts.uncertainty.differences import difference_in
from molewright.further_parts.uncertainty.factors import ask_with_factors, shares_to, times_factor
from molewright.further_parts.uncertainty.measured import FIGURES
from molewright.further_parts.uncertainty.percentages import ask_uncertainty, titre_and_others, titre_part
from molewright.further_parts.uncertainty.working import enough_figures, plus, rounded_off, span


def ask_combined(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The greatest uncertainty by the school rule, with factors where the answer rests on a difference; then the standard one."""
    budget = budget_of(calculation)
    if budget.plain:
        return *ask_uncertainty(calculation), _standard_part(budget)
    titre, _ = titre_and_others(budget)
    by_factors = ask_with_factors(calculation, budget, difference_in(calculation, budget), titre, exam=None)
    return titre_part(calculation.bank, titre), by_factors, _standard_part(budget)


def _standard_part(budget: Budget) -> FurtherPart:
    def printed_to(figures: int) -> Fraction:
        return standard_of(shares_to(budget, figures))

    exact = budget.standard
    figures = enough_figures(lambda many: [printed_to(many)], [exact], FIGURES)
    squares = plus(f"({times_factor(budget, one, figures)} ÷ √3)²" for one in budget.used)
    kind = "" if budget.plain else " of factors"
    line: tuple[Piece, ...] = (said("square root"), *rounded_off(printed_to(figures)))
    return FurtherPart(
        kind="combined uncertainty",
        demand=said(f"combine{kind}"),
        points=(
            FurtherPoint((Reckoning(squares),), "squares of percentage ÷ √3", (said(f"guide squares{kind}"),)),
            FurtherPoint((Reckoning(line),), Quantity(to_figures(exact, FIGURES), Unit.PERCENT), (said("guide root"),)),
        ),
        space=(Space(height_mm=24.0, rule_mm=45.0, unit=Unit.PERCENT),),
        hint=said("hint combine"),
        accepted=span([exact, printed_to(FIGURES), _stepwise(budget)]),
        unit=Unit.PERCENT,
    )


def _stepwise(budget: Budget) -> Fraction:
    """The same by somebody who rounds every standard uncertainty to two figures."""
    each = [to_figures(square_root(share**2 / LIMITS), FIGURES) for share in shares_to(budget, FIGURES)]
    return square_root(sum((Fraction(one) ** 2 for one in each), Fraction(0)))
