"""A calculation and the bank's reasons come in; a part goes out that asks why a back titration is done. States no fact of its own."""

from __future__ import annotations

from generator.bank.definitions import BackReason
from generator.question.draw import Refusal
from generator.question.judgement.conditions import is_back
from generator.question.judgement.extras import (
    Bottle,
    Calculation,
    Chemical,
    ExtraPart,
    ExtraPoint,
    Piece,
    Said,
    Sample,
    Space,
    said,
)
from generator.question.procedure import Measure

MARKS = 2  # common practice: one for each of two reasons


def ask_why_back(calculation: Calculation) -> tuple[ExtraPart, ...]:
    """Why a back titration and not a direct one."""
    found = reason_for(calculation)
    if found is None or not is_back(calculation.draw):
        raise Refusal("why back", "the bank has no reason for a back titration of this substance")
    slots = _slots(calculation)
    reasons = tuple(Said(text, slots, written=True) for text in found.reasons)
    ignore = (said("guide ignore", what=Said(found.ignore, slots, written=True)),) if found.ignore else ()
    return (
        ExtraPart(
            "why back",
            said("why back", analyte=dict(slots)["analyte"], reagent=dict(slots)["reagent"]),
            (
                ExtraPoint((said("any two of"), *reasons), "a reason", ignore),
                ExtraPoint((said("second reason"),), "a second reason"),
            ),
            (Space(24.0, ruled=True),),
            hint=said("hint why back"),
        ),
    )


def reason_for(calculation: Calculation) -> BackReason | None:
    """The reasons of the bank for this analyte with this reagent in excess."""
    roles = calculation.draw.variant.roles
    for entry in calculation.bank.back_reasons:
        fits = not entry.reagents or roles.get("reagent", "") in entry.reagents
        if roles.get("analyte", "") in entry.analytes and fits:
            return entry
    return None


def _slots(calculation: Calculation) -> tuple[tuple[str, Piece], ...]:
    procedure = calculation.draw.variant.procedure
    excess = [op.solution.name for op in procedure.operations if isinstance(op, Measure) and op.excess]
    return (
        ("analyte", Chemical(calculation.draw.variant.roles.get("analyte", ""))),
        ("sample", Sample()),
        ("titrant", Bottle(procedure.titrations[-1].titrant.name)),
        ("reagent", Bottle(excess[0]) if excess else ""),
    )
