"""A calculation and the bank's reasons come in; a part goes out that asks why a back titration is done. States no fact of its own."""

from __future__ import annotations

from molewright.bank.definitions import BackReason
from molewright.chem.formula import parse_formula
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.further_parts.faults.conditions import in_excess, reagent_asked
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Piece,
    Said,
    Sample,
    said,
    writing_lines,
)

MARKS = 2  # common practice: one for each of two reasons


def ask_why_back(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Why a back titration and not a direct one."""
    if reagent_asked(calculation.draw):
        raise Refusal("why back", "the substance that is titrated back is the known one here")
    found = reason_for(calculation)
    if found is None:
        raise Refusal("why back", "the bank has no reason for a back titration of this substance")
    slots = _slots(calculation)
    reasons = tuple(Said(text, slots, written=True) for text in found.reasons)
    ignore = (said("guide ignore", what=Said(found.ignore, slots, written=True)),) if found.ignore else ()
    return (
        FurtherPart(
            kind="why back",
            demand=said("why back", analyte=dict(slots)["analyte"], reagent=dict(slots)["reagent"]),
            points=(
                FurtherPoint((said("any two of"), *reasons), "a reason", ignore),
                FurtherPoint((said("second reason"),), "a second reason", worked=False),
            ),
            space=(writing_lines(MARKS),),
            hint=said("hint why back"),
        ),
    )


def reason_for(calculation: Calculation) -> BackReason | None:
    """The reasons of the bank for what is analysed here with this reagent in excess; None where nothing is in excess."""
    draw = calculation.draw
    reagents = {measured.solution.solute for measured in in_excess(draw)}
    sought = {draw.variant.roles.get("analyte", ""), *_dissolved(draw)}
    for entry in calculation.bank.back_reasons:
        if reagents and sought & set(entry.analytes) and (not entry.reagents or reagents & set(entry.reagents)):
            return entry
    return None


def _dissolved(draw: Draw) -> set[str]:
    """What the weighed substances react as, which may be known by no other name: the esters of an oil."""
    return {content.species for content in draw.variant.procedure.contents}


def _what_reacts(draw: Draw, analyte: str) -> str:
    """The substance that is there, where another stands for it in the answer: of a hardness told as CaCO3 it is CaSO4."""
    solution = next((one for one in draw.variant.procedure.solutions() if one.solute == analyte), None)
    if solution is None or parse_formula(solution.species).charge:
        return analyte
    return solution.species


def _slots(calculation: Calculation) -> tuple[tuple[str, Piece], ...]:
    draw = calculation.draw
    reagents = [measured.solution for measured in in_excess(draw)]
    analyte = draw.variant.roles.get("analyte", "")
    told_by_reagent = any(analyte == reagent.solute for reagent in reagents)  # an oil by the alkali that it takes up
    return (
        ("analyte", Sample() if told_by_reagent else Chemical(_what_reacts(draw, analyte))),
        ("sample", Sample()),
        ("titrant", Bottle(draw.variant.procedure.titrations[-1].titrant.name)),
        ("reagent", Bottle(reagents[0].name) if reagents else ""),
    )
