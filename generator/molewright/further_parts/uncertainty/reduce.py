"""A calculation comes in; a part goes out that asks which measurement makes the answer most uncertain, and how to make it less so.

The largest contribution is computed, and a change is offered only if the bench, performed again with it, reads a larger titre.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.draw.burette_runs import BURETTE_CM3
from molewright.draw.refusal import Refusal
from molewright.further_parts.faults.conditions import unknown_in_burette
from molewright.further_parts.faults.faulty_bench import read_titres
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Piece,
    Rows,
    Sample,
    Strong,
    said,
    writing_lines,
)
from molewright.further_parts.uncertainty.budget import Budget, budget_of
from molewright.further_parts.uncertainty.measured import FIGURES, Measurement
from molewright.further_parts.uncertainty.working import called, tolerance

CLEARLY = Fraction(11, 10)  # how far the largest contribution must lie above the next
LARGER = Fraction(3, 2)  # the titre of the example
FULLEST_CM3 = BURETTE_CM3 - 5
TRIALS = (("weighed mass", Decimal("1.2")), ("titrant strength", Decimal("0.8")), ("portion volume", Decimal("1.2")))


def ask_reduce(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Which contribution is the largest, one change that makes it smaller, and why it does."""
    budget = budget_of(calculation)
    found = budget.used
    if len(calculation.draw.variant.procedure.titrations) != 1 or len(found) < 2:
        raise Refusal("reduce uncertainty", "there is not one titre beside other measurements")
    largest = largest_of(budget)
    changes = tuple(changes_for(calculation, largest))
    if not changes:
        raise Refusal("reduce uncertainty", f"nothing makes the percentage of the {largest.kind} smaller here")
    own = {"uncertainty", "combined uncertainty"} & set(calculation.draw.archetype.further_parts)
    return (
        FurtherPart(
            kind="reduce uncertainty",
            demand=said("reduce own" if own else "reduce"),
            points=(
                FurtherPoint(
                    (said("reduce largest", measurement=Strong(_short(largest)), percentage=largest.percentage_shown),),
                    _short(largest),
                    (said("guide reduce largest", measurement=called(largest)),),
                ),
                FurtherPoint((said("any one of"), *changes), "one change", (said("guide reduce change"),)),
                FurtherPoint(
                    (said("reduce reason", each=tolerance(largest)), *_example(largest)),
                    "the same uncertainty, a smaller percentage",
                ),
            ),
            space=(writing_lines(3),),
            shown=() if own else (_table(found),),
            hint=said("hint reduce"),
        ),
    )


def _short(one: Measurement) -> str:
    return {"burette": "titre", "balance": "mass"}.get(one.kind, one.kind)


def largest_of(budget: Budget) -> Measurement:
    """The measurement with the largest percentage, if it is so clearly, both as it is and as it is passed on to the answer."""
    first, *others = sorted(budget.used, key=lambda one: one.percentage, reverse=True)
    for one in others:
        if first.percentage < CLEARLY * one.percentage or _passed_on(budget, first) < CLEARLY * _passed_on(budget, one):
            raise Refusal("reduce uncertainty", "no measurement clearly contributes most")
    return first


def _passed_on(budget: Budget, one: Measurement) -> Fraction:
    return budget.factor(one) * one.percentage


def changes_for(calculation: Calculation, largest: Measurement) -> Iterator[Piece]:
    """Changes of the plan after which this measurement is a larger number with the same uncertainty."""
    draw = calculation.draw
    if largest.kind == "balance":
        yield said("reduce by mass", sample=Sample())
    if largest.kind == "burette":
        for what, factor in TRIALS:
            if _raises_titre(calculation, what, factor):
                yield _told(calculation, what)
    larger = [piece for piece in calculation.bank.apparatus if piece.kind == largest.kind and piece.tolerance is not None
              and piece.capacity.in_base > largest.quantity.in_base
              and piece.tolerance.in_base / piece.capacity.in_base * 100 < largest.percentage]  # fmt: skip
    if largest.kind in ("pipette", "volumetric flask") and larger and draw.given:
        yield said(f"reduce by {largest.kind}", quantity=larger[0].capacity)


def _raises_titre(calculation: Calculation, what: str, factor: Decimal) -> bool:
    """Whether the bench reads a larger titre after this change; the strength of what is sought cannot be chosen."""
    if what == "titrant strength" and unknown_in_burette(calculation.draw):
        return False
    worked, procedure = calculation.worked, calculation.draw.variant.procedure
    name = procedure.titrations[-1].titre
    there = {**calculation.given, worked.plan.asked: worked.exact}
    try:
        read = read_titres(procedure, there, LaboratoryFault(key="", told="", cause="", changes=((what, factor),)))[
            name
        ]
    except BenchFault:
        return False
    return read > calculation.given[name]


def _told(calculation: Calculation, what: str) -> Piece:
    if what == "titrant strength":
        return said("reduce by titrant", titrant=Bottle(calculation.draw.variant.procedure.titrations[-1].titrant.name))
    return said("reduce by sample", sample=Sample()) if what == "weighed mass" else said("reduce by portion")


def _example(largest: Measurement) -> tuple[Piece, ...]:
    """What a larger titre would make of the percentage; none for another measurement."""
    if largest.kind != "burette":
        return ()
    longer = min(largest.quantity.in_base * LARGER, FULLEST_CM3)
    titre = Quantity(half_up(longer, 0), Unit.CM3)
    share = Quantity(to_figures(largest.absolute / titre.exact * 100, FIGURES), Unit.PERCENT)
    return (said("reduce example", titre=titre, percentage=share),)


def _table(found: tuple[Measurement, ...]) -> Rows:
    rows = tuple((called(one), one.percentage_shown) for one in found)
    return Rows(
        heading=(said("apparatus head"), said("percentage head")),
        rows=rows,
        widths=(0.55, 0.45),
        summary=said("reduce summary"),
        width=0.7,
    )
