"""A calculation comes in; the stretch parts go out in which its uncertainties are combined in quadrature. Words nothing.

The combination is that of JCGM 100:2008, 5.1.2, for independent inputs. A back titration passes the error of its titre on enlarged;
a direct one passes every error on as it is, and there the tolerances are turned into standard uncertainties first (JCGM 100:2008,
4.3.7: any value between the limits is as likely as any other, so half their distance is divided by the root of three).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.conditions import is_back
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Lettered,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Space,
    Strong,
    said,
)
from molewright.further_parts.uncertainty.percentages import (
    FIGURES,
    Measurement,
    ask_uncertainty,
    combined_relative,
    enough_figures,
    outcome,
    rounded_off,
    sensitivity,
    span,
    square_root,
    used_measurements,
)

_NEGLIGIBLE = Fraction(1, 10**6)  # between a sensitivity found by differences and the ratio that it should be
LIMITS = Fraction(3)  # the square of what limits are divided by


def ask_combined(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """After the school rule, the combination in quadrature: with the factor of a back titration, or of standard uncertainties."""
    if is_back(calculation.draw):
        return _of_back(calculation)
    found = used_measurements(calculation)
    measured = outcome(calculation)
    weights = [abs(sensitivity(measured, calculation.given, one.name)) for one in found]
    if any(abs(weight - 1) > _NEGLIGIBLE for weight in weights):
        raise Refusal("uncertainty", "not every error is passed on as it is")
    return *ask_uncertainty(calculation), _standard_part(found)


def standard_percentage(found: tuple[Measurement, ...]) -> Fraction:
    """The combined standard uncertainty in per cent, each tolerance taken as limits of equally likely values."""
    return square_root(sum((one.percentage**2 for one in found), Fraction(0)) / LIMITS)


def _standard_part(found: tuple[Measurement, ...]) -> FurtherPart:
    exact = standard_percentage(found)
    answer = Quantity(to_figures(exact, FIGURES), Unit.PERCENT)
    each = [Quantity(to_figures(square_root(one.percentage**2 / LIMITS), FIGURES), Unit.PERCENT) for one in found]
    stepwise = sum((Fraction(one.number) ** 2 for one in each), Fraction(0))

    def printed_to(figures: int) -> Fraction:
        squares = sum((one.percentage_to(figures).exact ** 2 for one in found), Fraction(0))
        return square_root(squares / LIMITS)

    figures = enough_figures(printed_to, exact)
    squares: list[Piece] = []
    for one in found:
        squares += [*(["+"] if squares else []), f"({one.percentage_to(figures).number_text} ÷ √3)²"]
    return FurtherPart(
        kind="combined uncertainty",
        demand=said("combine limits"),
        points=(
            FurtherPoint((Reckoning(tuple(squares)),), "squares of percentage ÷ √3", (said("guide limits"),)),
            FurtherPoint(
                (Reckoning((said("square root"), *rounded_off(printed_to(figures)))),), answer, (said("guide root"),)
            ),
        ),
        space=(Space(height_mm=24.0, rule_mm=45.0, unit=Unit.PERCENT),),
        hint=said("hint limits"),
        accepted=span((exact, printed_to(FIGURES), square_root(stepwise))),
        unit=Unit.PERCENT,
    )


def _of_back(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """How the error of the titre is passed on, and the combination in quadrature with that factor."""
    found = used_measurements(calculation)
    measured = outcome(calculation)
    weights = {one.name: abs(sensitivity(measured, calculation.given, one.name)) for one in found}
    titre = calculation.slips.surroundings.titre
    passed = weights.get(titre) if titre is not None else None
    balance = next((s.relation for s in calculation.worked.steps if s.relation and s.relation.kind == "balance"), None)
    if balance is None or passed is None:
        raise Refusal("uncertainty", "nothing is left over that could pass an error on")
    spent, left, _ = balance.names
    exact = {step.variable.name: step.exact for step in calculation.worked.steps}
    if spent not in exact or left not in exact or abs(exact[left] / exact[spent] - passed) > _NEGLIGIBLE:
        raise Refusal("uncertainty", "an error is not passed on as left over ÷ reacted")
    weight = Quantity(to_figures(passed, FIGURES), Unit.NONE)
    combined = combined_relative(measured, calculation.given, {one.name: one.percentage for one in found})
    weighing = _weight_part(calculation, left, spent, weight, passed)
    return *ask_uncertainty(calculation), weighing, _combined_part(found, weights, passed, combined)


def _weight_part(calculation: Calculation, left: Name, spent: Name, weight: Quantity, passed: Fraction) -> FurtherPart:
    shown = {step.variable.name: step.shown for step in calculation.worked.steps}
    ratio = Quotient((Lettered(left),), (Lettered(spent),))
    numbers = Quotient((_bare(shown[left]),), (_bare(shown[spent]),))
    return FurtherPart(
        kind="combined uncertainty",
        demand=said("passed on", left=Lettered(left), reacted=Lettered(spent)),
        points=(
            FurtherPoint((Reckoning((ratio, "=", numbers, "=", Strong(weight))),), weight, (said("guide passed on"),)),
        ),
        space=(Space(height_mm=16.0, rule_mm=45.0),),
        hint=said("hint passed on"),
        accepted=span((passed, Fraction(shown[left].number) / Fraction(shown[spent].number))),
    )


def _bare(quantity: Quantity) -> Quantity:
    return Quantity(quantity.number, Unit.NONE, quantity.scientific)


def _combined_part(
    found: tuple[Measurement, ...], weights: Mapping[Name, Fraction], passed: Fraction, combined: Fraction
) -> FurtherPart:
    answer = Quantity(to_figures(combined, FIGURES), Unit.PERCENT)
    plain = {one.name for one in found if abs(weights[one.name] - 1) < _NEGLIGIBLE}

    def weight(one: Measurement, figures: int) -> Quantity:
        return Quantity(Decimal(1) if one.name in plain else to_figures(weights[one.name], figures), Unit.NONE)

    def printed(figures: int) -> Fraction:
        terms = [weight(one, figures).exact * one.percentage_to(figures).exact for one in found]
        return square_root(sum((term**2 for term in terms), Fraction(0)))

    figures = enough_figures(printed, combined)
    rows: list[tuple[Piece, ...]] = []
    squares: list[Piece] = []
    for one in found:
        own = abs(weights[one.name] - passed) < _NEGLIGIBLE
        rows.append((said(f"apparatus {one.kind}", quantity=one.quantity),
                     said("your factor") if own else weight(one, figures)))  # fmt: skip
        share = one.percentage_to(figures).number_text
        factor = weight(one, figures).number_text
        squares += [*(["+"] if squares else []), f"{share}²" if one.name in plain else f"({factor} × {share})²"]
    return FurtherPart(
        kind="combined uncertainty",
        demand=said("combine"),
        points=(
            FurtherPoint((Reckoning(tuple(squares)),), "squares of factor × percentage", (said("guide squares"),)),
            FurtherPoint(
                (Reckoning((said("square root"), *rounded_off(printed(figures)))),), answer, (said("guide root"),)
            ),
        ),
        space=(Space(height_mm=24.0, rule_mm=45.0, unit=Unit.PERCENT),),
        shown=(
            Rows(
                heading=(said("apparatus head"), said("factor head")),
                rows=tuple(rows),
                widths=(0.60, 0.40),
                summary=said("factor summary"),
                width=0.6,
            ),
        ),
        hint=said("hint quadrature"),
        accepted=span((combined, printed(FIGURES))),
        unit=Unit.PERCENT,
    )
