"""Reducing an uncertainty: the largest contribution is that of plain arithmetic, and every change does what is said of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from molewright.draw.refusal import Refusal
from molewright.further_parts.pieces import Calculation, Rows, Said
from molewright.further_parts.uncertainty.budget import budget_of
from molewright.further_parts.uncertainty.measured import Measurement
from molewright.further_parts.uncertainty.reduce import CLEARLY, ask_reduce, changes_for, largest_of

Calculate = Callable[..., Calculation]


def keys(pieces: tuple[object, ...]) -> set[str]:
    return {piece.key for piece in pieces if isinstance(piece, Said)}


def of_kind(calculation: Calculation, kind: str) -> Measurement:
    return next(one for one in budget_of(calculation).used if one.kind == kind)


def test_the_titre_contributes_most_to_a_purity(calculate: Calculate) -> None:
    # by hand: 0.10 in at most 32 cm³ is 0.31 %; 0.06 in 25 is 0.24 %; 0.30 in 250 is 0.12 %; 0.001 in more than 1 g below 0.1 %
    calculation = calculate("direct-purity-reduce", "percentage")
    assert largest_of(budget_of(calculation)).kind == "burette"
    (part,) = ask_reduce(calculation)
    assert part.marks == 3
    assert part.points[0].answer == "titre"


def test_more_sample_or_a_weaker_titrant_raise_a_direct_titre(calculate: Calculate) -> None:
    calculation = calculate("direct-purity-reduce", "percentage")
    found = keys(tuple(changes_for(calculation, of_kind(calculation, "burette"))))
    assert found == {"reduce by sample", "reduce by titrant", "reduce by portion"}


def test_more_sample_lowers_a_back_titre_and_is_not_offered(calculate: Calculate) -> None:
    calculation = calculate("back-portions-reduce", "percentage")
    found = keys(tuple(changes_for(calculation, of_kind(calculation, "burette"))))
    assert found == {"reduce by titrant", "reduce by portion"}


def test_a_titrant_of_unknown_strength_is_not_chosen(calculate: Calculate) -> None:
    calculation = calculate("manganate-standard-uncertainty", "concentration")
    found = keys(tuple(changes_for(calculation, of_kind(calculation, "burette"))))
    assert found == {"reduce by sample", "reduce by portion"}


def test_a_larger_pipette_and_flask_are_offered_where_their_percentage_is_smaller(calculate: Calculate) -> None:
    # ISO 648 and ISO 1042, class B: 0.10 in 50 cm³ is 0.20 %, less than 0.06 in 25; 0.50 in 500 is 0.10 %, less than 0.30 in 250
    calculation = calculate("direct-purity-reduce", "percentage")
    for kind in ("pipette", "volumetric flask"):
        assert keys(tuple(changes_for(calculation, of_kind(calculation, kind)))) == {f"reduce by {kind}"}
    assert keys(tuple(changes_for(calculation, of_kind(calculation, "balance")))) == {"reduce by mass"}


def test_the_percentages_are_shown_where_they_were_not_asked_for(calculate: Calculate) -> None:
    (alone,) = ask_reduce(calculate("direct-purity-reduce", "percentage"))
    (after,) = ask_reduce(calculate("manganate-standard-uncertainty", "concentration"))
    assert any(isinstance(shown, Rows) for shown in alone.shown)
    assert not after.shown


def test_an_error_that_is_passed_on_small_is_not_called_the_largest(calculate: Calculate) -> None:
    # where most of the reagent was used up, the titre's percentage hardly reaches the answer and that of the reagent does
    calculation = calculate("back-portions", "percentage")
    found = budget_of(calculation).used
    exact = {step.variable.name: step.exact for step in calculation.worked.steps}
    left = next(value for name, value in exact.items() if name.stage == "left over")
    reacted = next(value for name, value in exact.items() if name.stage == "reacted")
    reagent = next(one for one in found if one.quantity.in_base == 50)
    titre = of_kind(calculation, "burette")
    if titre.percentage * left / reacted > CLEARLY * reagent.percentage * (1 + left / reacted):
        assert largest_of(budget_of(calculation)).kind == "burette"
    else:
        with pytest.raises(Refusal):
            largest_of(budget_of(calculation))


def test_nothing_clear_is_refused(calculate: Calculate) -> None:
    calculation = calculate("direct-purity-reduce", "percentage")
    titre = of_kind(calculation, "burette")
    with pytest.raises(Refusal):
        largest_of(replace(budget_of(calculation), used=(titre, titre)))


def test_the_example_keeps_to_one_burette(calculate: Calculate) -> None:
    (part,) = ask_reduce(calculate("direct-purity-reduce", "percentage"))
    example = next(line for line in part.points[2].lines if isinstance(line, Said) and line.key == "reduce example")
    slots = dict(example.slots)
    titre, percentage = slots["titre"], slots["percentage"]
    assert titre.in_base <= 45  # type: ignore[union-attr]
    assert abs(Fraction(percentage.number) - Fraction(10) / titre.exact) < Fraction(1, 100)  # type: ignore[union-attr]
