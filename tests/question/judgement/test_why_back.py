"""Reasons for a back titration: there for every substance that is titrated back, true to the state symbols of its reaction."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from generator.bank.definitions import Bank, Variant
from generator.question.draw import Refusal
from generator.question.judgement.extras import Calculation, Said
from generator.question.judgement.why_back import ask_why_back, reason_for
from generator.question.procedure import Measure, React, Remove, Weigh

Calculate = Callable[..., Calculation]


def back_variants(bank: Bank) -> Iterator[Variant]:
    for archetype in bank.archetypes.values():
        if "why back" in archetype.extras:
            yield from archetype.variants


def test_every_variant_that_is_asked_why_has_its_reasons(bank: Bank) -> None:
    known = {
        (analyte, reagent)
        for entry in bank.back_reasons
        for analyte in entry.analytes
        for reagent in entry.reagents or ("",)
    }
    found = {(variant.roles["analyte"], variant.roles["reagent"]) for variant in back_variants(bank)}
    assert found
    assert all((analyte, reagent) in known or (analyte, "") in known for analyte, reagent in found)


def test_what_is_said_not_to_dissolve_is_a_solid_in_its_reaction(bank: Bank) -> None:
    for variant in back_variants(bank):
        reasons = " ".join(next(e for e in bank.back_reasons if variant.roles["analyte"] in e.analytes).reasons)
        if "dissolve in water" in reasons or "dissolves in water" in reasons:
            states = {
                member.state
                for operation in variant.procedure.operations
                if isinstance(operation, React)
                for reaction in operation.reactions
                for member in reaction.left
                if member.formula.text == variant.roles["analyte"]
            }
            assert states == {"s"}, variant.roles


def test_what_is_said_to_escape_is_boiled_off(bank: Bank) -> None:
    for variant in back_variants(bank):
        reasons = " ".join(next(e for e in bank.back_reasons if variant.roles["analyte"] in e.analytes).reasons)
        removed = any(isinstance(operation, Remove) for operation in variant.procedure.operations)
        assert ("boiled off" in reasons) == removed, variant.roles


def test_two_marks_for_any_two_of_the_reasons(calculate: Calculate) -> None:
    (part,) = ask_why_back(calculate("back-portions", "percentage", analyte="CaCO3"))
    assert part.marks == 2
    listed = [line for line in part.points[0].lines if isinstance(line, Said) and line.written]
    assert len(listed) >= 2


def test_a_direct_titration_is_not_asked_why(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_why_back(calculate("direct-purity"))


def test_a_reason_goes_with_its_reagent(calculate: Calculate) -> None:
    ammonium = calculate("back-portions-ammonium")
    found = reason_for(ammonium)
    assert found is not None
    assert set(found.reagents) == {"NaOH", "KOH"}
    assert any(isinstance(op, Measure) and op.excess for op in ammonium.draw.variant.procedure.operations)
    assert any(isinstance(op, Weigh) for op in ammonium.draw.variant.procedure.operations)
