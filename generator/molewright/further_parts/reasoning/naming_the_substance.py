"""A calculation that ends at a relative mass comes in; a part that asks what it belongs to goes out. Works no mass out."""

from __future__ import annotations

from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.experiment.identity import Candidate, nearest_candidate, stands_for, substances, unknown_letter
from molewright.further_parts.pieces import (
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Rows,
    Said,
    Space,
    Strong,
    said,
)

ELEMENT, SUBSTANCE = "element", "substance"
ASKED = ("atomic mass", "molar mass")
"""Kinds of quantity that tell what something is."""
_LINE_MM = 2.0  # a name needs no room for working
_REASON_MM = 16.0


def name_unknown(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The part after the calculation of a relative atomic mass, or of the molar mass of what the bank lists: what is it, and why?

    Two marks: the name, and the reason, which is the nearest mass of those that it may be (common practice, no source). No part
    where anything else is asked. Raises Refusal where answers that are accepted lead to different names.
    """
    asked = calculation.worked.steps[-1].variable
    variant = calculation.draw.variant
    if asked.kind not in ASKED or not variant.unknown or not calculation.draw.archetype.calculated:
        return ()
    if asked.kind == "atomic mass":
        return (_element(calculation, asked.subject, sorted(variant.unknown)[0]),)
    if variant.may_be is None or variant.may_be.unknown != asked.subject:
        return ()
    return (_substance(calculation, asked.subject),)


def _element(calculation: Calculation, symbol: str, unknown: str) -> FurtherPart:
    may_be = calculation.bank.unknown_elements
    family, among = may_be.family(unknown), may_be.candidates(unknown, calculation.masses)
    if family is None:
        raise Refusal("name", f"no family of elements is known for {unknown}")
    found = _found(calculation, among)
    letter = Chemical(symbol)
    told = family.told
    listed = ", ".join(f"{one.formula}\N{NO-BREAK SPACE}{one.mass}" for one in among)
    reason = said("the element reason", mass=Quantity(found.mass), value=calculation.worked.answer, family=told)
    return FurtherPart(
        kind=ELEMENT,
        demand=said("name element", formula=letter),
        points=(
            FurtherPoint((said("the element", formula=letter, element=Strong(found.name)),), found.told,
                       (said("guide element", elements=listed),)),
            FurtherPoint((reason,), "a reason", (said("guide element reason", family=told),)),
        ),
        space=_space(letter),
        hint=said("hint element", family=told),
        candidates=among,
    )  # fmt: skip


def _substance(calculation: Calculation, unknown: str) -> FurtherPart:
    may_be = calculation.draw.variant.may_be
    assert may_be is not None
    among = substances(unknown, [(one.formula, one.name) for one in may_be.substances], calculation.masses)
    found = _found(calculation, among)
    formula = Chemical(unknown)
    letter, element = unknown_letter(unknown), stands_for(unknown, found.formula)
    guidance: list[Said] = [said("guide substance")]
    if element:
        guidance.append(said("guide substance element", letter=Chemical(letter), element=Chemical(element)))
    rows = tuple((one.name, Chemical(one.formula), Quantity(one.mass)) for one in among)
    heading = (
        said("substance head"),
        said("formula head"),
        said("molar mass head", unit=calculation.worked.answer.unit.unbroken),
    )
    return FurtherPart(
        kind=SUBSTANCE,
        demand=said("name substance", formula=formula),
        points=(
            FurtherPoint((said("the substance", formula=formula, name=Strong(found.name), found=Chemical(found.formula)),),
                       found.told, tuple(guidance)),
            FurtherPoint((said("the substance reason", mass=Quantity(found.mass, calculation.worked.answer.unit),
                             value=calculation.worked.answer),), "a reason", (said("guide substance reason"),)),
        ),
        space=_space(formula),
        shown=(Rows(heading=heading, rows=rows, widths=(0.44, 0.32, 0.24), summary=said("substance summary")),),
        hint=said("hint substance"),
        candidates=among,
    )  # fmt: skip


def _space(formula: Chemical) -> tuple[Space, ...]:
    return (
        Space(height_mm=_LINE_MM, rule_mm=65.0, label=said("label name", formula=formula)),
        Space(height_mm=_REASON_MM, ruled=True),
    )


def _found(calculation: Calculation, among: tuple[Candidate, ...]) -> Candidate:
    """The candidate that every accepted answer leads to."""
    worked = calculation.worked
    found = nearest_candidate(worked.exact, among)
    if any(nearest_candidate(end.in_base, among) != found for end in (worked.accepted.low, worked.accepted.high)):
        raise Refusal("name", f"an answer that is accepted lies nearer to another than {found.name}")
    return found
