"""A back titration of portions comes in; parts go out that ask why portions are taken, and what it would cost to leave liquid behind.

What stays undissolved keeps some of the liquid. A portion has the strength of the whole, so it does not matter there; it would where
all of the liquid was to be titrated, or where it was made up without rinsings. The effect is computed from the question's own numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.derivation.evaluated import evaluate
from molewright.derivation.worked import base_factor
from molewright.draw.refusal import Refusal
from molewright.experiment.procedure import Measure
from molewright.experiment.quantities import FLASK, PORTION, amount, volume_made_up, volume_taken
from molewright.further_parts.curves.reaction_course import outwards
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Named,
    Quotient,
    Reckoning,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)
from molewright.further_parts.wrong_numbers import Wrong, wrong_numbers

KEPT_CM3 = (Decimal("1.5"), Decimal("4.0"))  # by grains and a filter paper
_STEP = Decimal("0.5")
_FIGURES = 3
_LEAST = Fraction(1, 50)  # of the answer: less could be taken for rounding
_HALF = Fraction(1, 100)  # of a value, to either side, for what is rounded on the way


def ask_why_portions(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Why a portion and not all of the liquid, or why the flask is made up, and why several portions."""
    made_up = bool(_set_up(calculation)[1])
    first = "portions made up" if made_up else "portions not all"
    return (
        FurtherPart(
            kind="why portions",
            demand=said(f"why {first}"),
            points=(
                FurtherPoint((said(f"reason {first}"),), "a reason", (said(f"guide {first}"),)),
                FurtherPoint((said("reason several portions"),), "several titres to compare"),
            ),
            space=(writing_lines(2),),
            hint=said(f"hint {first}"),
        ),
    )


def ask_kept_liquid(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """How much of the reagent would be missed with liquid that stays behind, and what would be found then."""
    reagent, made_up, residue = _set_up(calculation)
    worked, draw, bank = calculation.worked, calculation.draw, calculation.bank
    volume = draw.given.get(reagent.volume)
    left = amount(reagent.solution.species, FLASK, "left over")
    over = next((step for step in worked.steps if step.variable.name == left), None)
    titre = draw.variant.procedure.titrations[-1].titre
    if volume is None or over is None or titre not in calculation.given:
        raise Refusal("kept liquid", "what is left over, or in how much liquid, is not told")
    steps = int((KEPT_CM3[1] - KEPT_CM3[0]) / _STEP)
    kept = Quantity(KEPT_CM3[0] + _STEP * calculation.stream.whole(0, steps), Unit.CM3)
    share = kept.in_base / volume.in_base
    missed_exact = over.exact * share
    missed = Quantity(to_figures(missed_exact, _FIGURES), Unit.MOL, in_standard_form(missed_exact, Unit.MOL))
    factor = base_factor(worked.answer)
    wrong, less = (
        evaluate(worked.plan.expression, {**calculation.given, titre: calculation.given[titre] * other}) * factor
        for other in (1 - share, 1 + share)
    )
    right = worked.exact * factor
    if abs(wrong / right - 1) < _LEAST or (worked.answer.unit is Unit.PERCENT and wrong >= 100):
        raise Refusal("kept liquid", "the effect would be too small, or more than all of the sample would be found")
    found = Quantity(to_figures(wrong, _FIGURES), worked.answer.unit)
    shown = Quantity(over.shown.number, Unit.MOL, over.shown.scientific)
    key = "kept made up" if made_up else "kept not all"
    return (
        FurtherPart(
            kind="kept liquid",
            demand=said(key, residue=residue, kept=kept, volume=volume, reagent=Bottle(reagent.solution.name),
                        formula=Chemical(reagent.solution.species)),
            points=(FurtherPoint((Reckoning((shown, "×", Quotient((kept,), (volume,)), "=", Strong(missed))),), missed),),
            space=(Space(height_mm=14.0, rule_mm=45.0, unit=Unit.MOL),),
            hint=said("hint kept"),
            accepted=_about(missed),
            unit=Unit.MOL,
            wrong=wrong_numbers(bank, _about(missed), Unit.MOL, _wrongly_missed(calculation, reagent, over.exact, share)),
        ),
        FurtherPart(
            kind="kept answer",
            demand=said("kept answer", quantity=Named(worked.plan.asked)),
            points=(
                FurtherPoint((said("kept counted", formula=Chemical(reagent.solution.species)),), "counted as reacted"),
                FurtherPoint((said("kept found", found=Strong(found)),), found),
            ),
            space=(Space(height_mm=22.0, rule_mm=45.0, unit=found.unit),),
            hint=said("hint kept answer"),
            accepted=_about(found),
            unit=found.unit,
            wrong=wrong_numbers(bank, _about(found), found.unit, (
                ("what is missing counted the wrong way", less, 0),
                ("answer changed by the share of the liquid", right * (1 - share), 0),
                ("answer changed by the share of the liquid", right * (1 + share), 1),
            )),
        ),
    )  # fmt: skip


def _wrongly_missed(calculation: Calculation, reagent: Measure, over: Fraction, share: Fraction) -> Iterator[Wrong]:
    """What would be missing of all that was added or of one portion, or with the made-up volume for that of the liquid; in mol."""
    given, reacted = calculation.given, amount(reagent.solution.species, FLASK, "reacted")
    spent = next((step.exact for step in calculation.worked.steps if step.variable.name == reacted), None)
    if spent is not None:
        yield "share taken of all that was added", (over + spent) * share, 0
    volume, made_up, taken = reagent.volume, volume_made_up(FLASK), volume_taken(PORTION)
    if taken in given:
        yield "share taken of one portion", over * share * given[taken] / given.get(made_up, given[volume]), 0
    if made_up in given:
        yield "share taken of the made-up volume", over * share * given[volume] / given[made_up], 0


def _set_up(calculation: Calculation) -> tuple[Measure, bool, Said | str]:
    """The reagent in excess, whether the flask is made up, and what stays undissolved.

    Raises Refusal where no portions of a mixture with a solid in it are taken.
    """
    procedure = calculation.draw.variant.procedure
    material = calculation.draw.variant.material
    reagents = [act for act in procedure.reagents if act.vessel == FLASK]
    if len(reagents) != 1 or not procedure.portions_of(FLASK) or material is None or not material.residue:
        raise Refusal("why portions", "no portions are taken of a mixture in which something stays undissolved")
    return reagents[0], any(act.vessel == FLASK for act in procedure.made_up), material.residue


def _about(found: Quantity) -> tuple[Decimal, Decimal]:
    """What is accepted: one per cent to either side, outwards."""
    return outwards((found.exact * (1 - _HALF), found.exact * (1 + _HALF)), found.places)
