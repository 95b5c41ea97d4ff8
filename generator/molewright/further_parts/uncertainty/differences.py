"""A calculation whose answer rests on a difference comes in; the difference goes out, and the parts that follow it step by step.

Percentages add in products and quotients, absolute uncertainties in sums and differences (school rule; common practice, no source). The
way is that of the calculation: the percentage uncertainties of what is subtracted, their absolute ones, that of the difference,
its percentage, and what comes after. This is the weighted sum of the budget, term by term, where no measurement is used twice; a
calculation in which one is has no such parts. Words nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, figures_to_show, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import WorkedStep
from molewright.draw.refusal import Refusal
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Lettered,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Space,
    Strong,
    said,
)
from molewright.further_parts.uncertainty.budget import Budget
from molewright.further_parts.uncertainty.measured import FIGURES, Measurement
from molewright.further_parts.uncertainty.working import (
    enough_figures,
    named_slip,
    percentages_point,
    percentages_to_fill,
    plus,
    quantity,
    rounded_off,
    span,
)

_ROUNDINGS: tuple[tuple[int | None, int | None], ...] = ((None, None), (3, 3), (2, None), (2, 2), (1, None))
"""Figures of the measurements' percentages, and of what is worked out from them: each is a fair way to round."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """An uncertain quantity that a difference is made of: its value exactly and as printed, and what it was found from."""

    name: Name
    exact: Fraction
    shown: Quantity
    measured: tuple[Measurement, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """The one step that subtracts: what it finds, its terms with their signs, the uncertain ones, and what is measured besides."""

    step: WorkedStep
    signs: tuple[tuple[Name, int], ...]
    terms: tuple[Term, ...]
    after: tuple[Measurement, ...]

    @property
    def name(self) -> Name:
        """The quantity that it finds."""
        return self.step.variable.name

    @property
    def equation(self) -> Reckoning:
        """The difference in symbols: n(HCl reacted) = n(HCl total) − n(HCl left over)."""
        pieces: list[Piece] = [Lettered(self.name), "="]
        for name, sign in self.signs:
            pieces += [*(["+" if sign > 0 else "−"] if len(pieces) > 2 else []), Lettered(name)]
        return Reckoning(tuple(pieces))


# ------------------------------------------------------------------ which difference


def difference_in(calculation: Calculation, budget: Budget) -> Difference:
    """The one difference that an answer rests on, all else being products and quotients. Raises Refusal where there is none such."""
    steps = calculation.worked.steps
    sums = [step for step in steps if step.relation is not None and _is_uncertain_sum(step, budget)]
    if len(sums) != 1 or any(step.relation is None for step in steps):
        raise Refusal("uncertainty", "the answer does not rest on one difference")
    step = sums[0]
    assert step.relation is not None
    _, shares = step.relation.alone(step.variable.name)
    ordered = sorted(shares, key=lambda pair: -pair[1])  # what is subtracted from comes first
    signs = tuple((name, int(share)) for name, share in ordered if abs(share) == 1)
    if len(signs) != len(shares) or sorted(sign for _, sign in signs) != [-1, 1]:
        raise Refusal("uncertainty", "what the answer rests on is no plain difference")
    found = {one.variable.name: one for one in steps}
    terms = tuple(_term(name, found.get(name), budget) for name, _ in signs if budget.weights.get(name))
    inside = {one.name for term in terms for one in term.measured}
    if len(inside) != sum(len(term.measured) for term in terms):
        raise Refusal("uncertainty", "a measurement is used on both sides of the difference")
    after = tuple(one for one in budget.used if one.name not in inside)
    weights = budget.weights[step.variable.name]
    simply = [budget.factor(one) == 1 for one in after]
    simply += [budget.factor(one) == abs(weights[one.name]) for one in budget.used if one.name in inside]
    if not all(simply):
        raise Refusal("uncertainty", "a measurement is used again after the difference")
    return Difference(step=step, signs=signs, terms=terms, after=after)


def _is_uncertain_sum(step: WorkedStep, budget: Budget) -> bool:
    return step.relation is not None and step.relation.form == "sum" and bool(budget.weights[step.variable.name])


def _term(name: Name, step: WorkedStep | None, budget: Budget) -> Term:
    weights = budget.weights[name]
    if any(abs(weight) != 1 for weight in weights.values()):
        raise Refusal("uncertainty", "what is subtracted is no plain product or quotient")
    measured = tuple(one for one in budget.used if one.name in weights)
    if len(measured) != len(weights):
        raise Refusal("uncertainty", "a measurement cancels out after the difference")
    if step is None:  # the measurement itself
        printed = measured[0].quantity
        return Term(name=name, exact=printed.in_base, shown=printed.to(printed.unit.base), measured=measured)
    return Term(name=name, exact=step.exact, shown=step.shown, measured=measured)


# ------------------------------------------------------------------ numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class _Numbers:
    """What the parts find, one after the other: percentages and absolute uncertainties of the terms, then of the difference."""

    terms: tuple[Fraction, ...]  # per cent
    absolute: tuple[Fraction, ...]
    whole: Fraction  # their sum
    percentage: Fraction  # of the difference
    answer: Fraction  # per cent


def _worked_out(difference: Difference, first: int | None, then: int | None, shown: bool = False) -> _Numbers:
    """The numbers with the measurements' percentages rounded to `first` figures and what follows to `then`; None: not rounded.

    `shown`: from the values as they stand on the page, and so that a sum is carried on as it is printed before it is rounded.
    """

    def sum_of(measured: Iterable[Measurement]) -> Fraction:
        return sum((_to(one.percentage, first) for one in measured), Fraction(0))

    def carried(exact: Fraction) -> Fraction:
        return _to(exact, figures_to_show(exact, FIGURES + 1, FIGURES)) if shown else _to(exact, then)

    terms = tuple(_to(sum_of(term.measured), then) for term in difference.terms)
    values = [Fraction(term.shown.number) if shown else term.exact for term in difference.terms]
    absolute = tuple(_to(share * value / 100, then) for share, value in zip(terms, values, strict=True))
    whole = sum(absolute, Fraction(0))
    found = Fraction(difference.step.shown.number) if shown else difference.step.exact
    percentage = carried(whole) / found * 100
    answer = carried(percentage) + sum_of(difference.after)
    return _Numbers(terms=terms, absolute=absolute, whole=whole, percentage=percentage, answer=answer)


def _to(exact: Fraction, figures: int | None) -> Fraction:
    return exact if figures is None else Fraction(to_figures(exact, figures))


def _all_of(numbers: _Numbers) -> tuple[Fraction, ...]:
    return (*numbers.terms, numbers.whole, numbers.percentage, numbers.answer)


# ------------------------------------------------------------------ parts


def ask_step_by_step(
    calculation: Calculation, budget: Budget, difference: Difference, titre: Measurement
) -> tuple[FurtherPart, ...]:
    """The percentages of the terms, the uncertainty of their difference, and the percentage of the answer: below exam style."""
    exactly = _worked_out(difference, None, None)
    assert exactly.answer == budget.greatest
    figures = enough_figures(
        lambda many: _all_of(_worked_out(difference, many, many, shown=True)), _all_of(exactly), FIGURES + 1
    )
    printed = _worked_out(difference, figures, figures, shown=True)
    fair = [_worked_out(difference, first, then) for first, then in _ROUNDINGS]
    return (
        _terms_part(budget, difference, titre, figures, fair),
        _difference_part(calculation.bank, difference, printed, fair, figures),
        _answer_part(calculation, budget, difference, printed, fair, figures),
    )


def _terms_part(
    budget: Budget, difference: Difference, titre: Measurement, figures: int, fair: list[_Numbers]
) -> FurtherPart:
    """The percentage of each measurement, and of the term that rests on most of them."""
    others = tuple(one for one in budget.used if one is not titre)
    at = max(range(len(difference.terms)), key=lambda index: len(difference.terms[index].measured))
    most = difference.terms[at]
    shares = [one.percentage_to(figures) for one in most.measured]
    total = sum((one.exact for one in shares), Fraction(0))
    of_one = " of one" if len(others) == 1 else ""
    return FurtherPart(
        kind="uncertainty",
        demand=said(f"uncertainty of a term{of_one}", term=Lettered(most.name)),
        points=(
            percentages_point(others),
            FurtherPoint(
                (Reckoning((*plus(one.number_text for one in shares), *rounded_off(total))),),
                quantity(total, Unit.PERCENT),
                (said("guide percentages of a product"),),
            ),
        ),
        space=(Space(height_mm=22.0, rule_mm=45.0, unit=Unit.PERCENT),),
        shown=(percentages_to_fill(others),),
        hint=said("hint percentages of a product"),
        accepted=span(one.terms[at] for one in fair),
        unit=Unit.PERCENT,
        exam=False,
    )


def _difference_part(
    bank: Bank, difference: Difference, printed: _Numbers, fair: list[_Numbers], figures: int
) -> FurtherPart:
    """The absolute uncertainty of each term, and of their difference: the same, where all else that is subtracted is exact."""
    unit = difference.step.variable.unit
    accepted = span(one.whole for one in fair)
    several = len(difference.terms) > 1
    lines: list[Piece] = []
    for term, share, absolute in zip(difference.terms, printed.terms, printed.absolute, strict=True):
        percentage = quantity(share, Unit.PERCENT, figures)
        bare = Quantity(term.shown.number, Unit.NONE, term.shown.scientific)
        found = quantity(absolute, unit, figures)
        ending: tuple[Piece, ...] = ("=", Strong(found)) if several else rounded_off(absolute, unit)
        ratio = Quotient((percentage.number_text,), ("100",))
        lines.append(Reckoning((said("uncertainty in", what=Lettered(term.name)), "=", ratio, "×", bare, *ending)))
    answer = quantity(printed.whole, unit)
    points: tuple[FurtherPoint, ...] = (FurtherPoint(tuple(lines), answer, (said("guide absolute"),)),)
    wrong: tuple[FurtherWrongAnswer, ...] = ()
    if several:
        terms = [quantity(one, unit, figures) for one in printed.absolute]
        sums = (
            *plus(Quantity(one.number, Unit.NONE, one.scientific) for one in terms),
            *rounded_off(printed.whole, unit),
        )
        points = (
            FurtherPoint(tuple(lines), "; ".join(map(str, terms)), (said("guide absolute"),)),
            FurtherPoint((Reckoning(sums),), answer, (said("guide add absolute"),)),
        )
        less = to_figures(abs(printed.absolute[0] - sum(printed.absolute[1:])), FIGURES)
        if less and not accepted[0] <= less <= accepted[1]:
            slip = named_slip(bank, "uncertainties of a difference subtracted")
            wrong = (FurtherWrongAnswer(Quantity(less, unit, answer.scientific), (slip,), 1),)
    return FurtherPart(
        kind="uncertainty",
        demand=said(
            "uncertainty of the difference" if several else "uncertainty of less what is exact",
            difference=difference.equation,
            first=Lettered(difference.terms[0].name),
            second=Lettered(difference.terms[-1].name),
            what=Lettered(difference.name),
            named=Named(difference.name),
            unit=unit,
        ),
        points=points,
        space=(Space(height_mm=22.0 if several else 14.0, rule_mm=45.0, unit=unit),),
        hint=said("hint absolute"),
        accepted=accepted,
        unit=unit,
        wrong=wrong,
        exam=False,
    )


def _answer_part(
    calculation: Calculation,
    budget: Budget,
    difference: Difference,
    printed: _Numbers,
    fair: list[_Numbers],
    figures: int,
) -> FurtherPart:
    """The percentage of the difference, and that of the answer with what is measured besides."""
    step = difference.step
    bare = Quantity(step.shown.number, Unit.NONE, step.shown.scientific)
    whole = quantity(printed.whole, Unit.NONE, figures_to_show(printed.whole, FIGURES + 1, FIGURES))
    whole = Quantity(whole.number, Unit.NONE, quantity(printed.whole, step.variable.unit).scientific)
    share = Reckoning((Quotient((whole,), (bare,)), "×", "100", *rounded_off(printed.percentage)))
    points = [
        FurtherPoint((share,), quantity(printed.percentage, Unit.PERCENT), (said("guide share of the difference"),))
    ]
    if difference.after:
        carried = quantity(printed.percentage, Unit.PERCENT, figures_to_show(printed.percentage, FIGURES + 1, FIGURES))
        terms = plus([carried.number_text, *(one.percentage_to(figures).number_text for one in difference.after)])
        line = Reckoning((*terms, *rounded_off(printed.answer)))
        points.append(
            FurtherPoint((line,), quantity(printed.answer, Unit.PERCENT), (said("guide percentages of a product"),))
        )
    return FurtherPart(
        kind="uncertainty",
        demand=said(
            "uncertainty of the answer" if difference.after else "uncertainty of the same",
            what=Lettered(difference.name),
            answer=asked_for(calculation),
        ),
        points=tuple(points),
        space=(Space(height_mm=20.0, rule_mm=45.0, unit=Unit.PERCENT),),
        hint=said("hint percentage of the answer"),
        accepted=span(one.answer for one in fair),
        unit=Unit.PERCENT,
        wrong=plain_sum(calculation.bank, budget, span(one.answer for one in fair), 0),
        exam=False,
    )


def asked_for(calculation: Calculation) -> Piece:
    """The answer as a sentence calls it; a whole number is uncertain before it is rounded only."""
    asked = calculation.worked.steps[-1].variable
    named = Named(asked.name)
    return said("before rounding", quantity=named) if asked.whole else named


def plain_sum(
    bank: Bank, budget: Budget, accepted: tuple[Decimal, Decimal], marks: int
) -> tuple[FurtherWrongAnswer, ...]:
    """What somebody finds who adds the percentages as if the answer were a product."""
    added = to_figures(sum((one.percentage for one in budget.used), Fraction(0)), FIGURES)
    if accepted[0] <= added <= accepted[1]:
        raise Refusal("uncertainty", "the plain sum of the percentages would not show")
    slip = named_slip(bank, "percentages of a difference added")
    return (FurtherWrongAnswer(Quantity(added, Unit.PERCENT), (slip,), marks),)
