"""Reasons for a back titration: there for every substance that is titrated back, true to its procedure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest

from molewright.bank.definitions import BackReason, Bank, Variant
from molewright.draw.refusal import Refusal
from molewright.experiment.procedure import Measure, Pass, React, Remove, Weigh
from molewright.further_parts.pieces import Calculation, Said, Sample
from molewright.further_parts.reasoning.why_back import ask_why_back, reason_for

Calculate = Callable[..., Calculation]


# Archetypes with a reagent in excess of whose analyte the bank gives no reasons, and why not.
WITHOUT = {
    "soda-water-back": "sodium carbonate dissolves and is titrated directly just as well",
    "soda-water-back-fault": "the same",
    "barium-hydroxide-water": "barium hydroxide dissolves and is titrated directly just as well",
}


def has_excess(variant: Variant) -> bool:
    return any(isinstance(operation, Measure) and operation.excess for operation in variant.procedure.operations)


def back_variants(bank: Bank) -> Iterator[tuple[Variant, BackReason]]:
    """The variants that are titrated back, each with its reasons."""
    for archetype in bank.archetypes.values():
        for variant in archetype.variants:
            if has_excess(variant) and archetype.key not in WITHOUT:
                entries = [entry for entry in bank.back_reasons if fits(entry, variant)]
                assert entries, (archetype.key, dict(variant.roles))
                yield variant, entries[0]


def fits(entry: BackReason, variant: Variant) -> bool:
    operations = variant.procedure.operations
    reagents = {op.solution.solute for op in operations if isinstance(op, Measure) and op.excess}
    sought = {variant.roles["analyte"]}
    sought |= {content.species for op in operations if isinstance(op, Weigh) for content in op.contents}
    return bool(sought & set(entry.analytes)) and (not entry.reagents or bool(reagents & set(entry.reagents)))


def states(variant: Variant, entry: BackReason) -> set[str]:
    """The state symbols of what is analysed, in the reactions before the titration."""
    return {
        member.state
        for operation in variant.procedure.operations
        if isinstance(operation, React)
        for reaction in operation.reactions
        for member in reaction.left
        if member.formula.text in entry.analytes
    }


def test_every_archetype_with_a_reagent_in_excess_has_reasons_or_is_named(bank: Bank) -> None:
    assert len(list(back_variants(bank))) > 100
    for key in WITHOUT:
        assert not any("why back" in kind for kind in bank.archetypes[key].further_parts)
        assert all(has_excess(variant) for variant in bank.archetypes[key].variants)


def test_every_reason_of_the_bank_is_asked_for_somewhere(bank: Bank) -> None:
    asked = [
        v for archetype in bank.archetypes.values() if "why back" in archetype.further_parts for v in archetype.variants
    ]
    assert not [entry.analytes for entry in bank.back_reasons if not any(fits(entry, variant) for variant in asked)]


def test_what_is_said_not_to_dissolve_is_a_solid_or_a_liquid_in_its_reaction(bank: Bank) -> None:
    for variant, entry in back_variants(bank):
        reasons = " ".join(entry.reasons)
        if "dissolve in water" in reasons or "dissolves in water" in reasons:
            assert states(variant, entry) == {"s"}, variant.roles
        if "not mix with water" in reasons:
            assert states(variant, entry) == {"l"}, variant.roles


def test_what_is_in_solution_is_not_said_to_be_insoluble(bank: Bank) -> None:
    dissolved = [(v, e) for v, e in back_variants(bank) if "aq" in states(v, e)]
    assert dissolved
    for variant, entry in dissolved:
        assert "not dissolve" not in " ".join(entry.reasons), variant.roles


def test_what_is_said_to_be_boiled_off_or_to_come_over_leaves_its_vessel(bank: Bank) -> None:
    for variant, entry in back_variants(bank):
        operations, reasons = variant.procedure.operations, " ".join(entry.reasons)
        boiled = any(isinstance(op, Remove) and op.species == "NH3" for op in operations)
        driven = any(isinstance(op, Pass) and op.species == "NH3" for op in operations)
        assert ("boiled off" in reasons) == boiled, variant.roles
        assert ("comes over" in reasons) == driven, variant.roles


def test_two_oxidising_agents_are_said_of_manganese_dioxide_with_manganate(calculate: Calculate) -> None:
    # H. P. Talbot, Quantitative Chemical Analysis, 1921: the ore is reduced by an excess, and manganate(VII) takes the rest
    found = reason_for(calculate("manganese-dioxide-why"))
    assert found is not None
    assert any("oxidising agent" in reason for reason in found.reasons)


def test_an_oil_is_called_by_its_name_and_not_by_the_alkali_it_takes_up(calculate: Calculate) -> None:
    (part,) = ask_why_back(calculate("saponification-why"))
    assert isinstance(part.demand, Said)
    assert dict(part.demand.slots)["analyte"] == Sample()


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


# Words of reasons that tell nothing of why: small words, and what else a scene speaks of by them.
TELL_NOTHING = """
    the and that not there what which them they this its for from with all would when before during can has have does one two both any
    each use react make sure find titration water metal gas powder mixed passed left off may alkali
"""
DONE = frozenset({"titrat", "boil", "hydrolys", "exces"})  # what a stem says in any case, so that a title may
NO_ENDING = "(ation|ing|es|ed|e|s|ly|ion)$"


def telling(text: str, names: frozenset[str]) -> set[str]:
    """The words of a text that tell more than small words and names do, without their endings."""
    words = re.findall("[a-z]+", re.sub(r"\{\w+\}", " ", text.lower()))
    bare = {re.sub(NO_ENDING, "", word) for word in words if len(word) > 2}
    return bare - names - {re.sub(NO_ENDING, "", word) for word in TELL_NOTHING.split()}


def test_no_scene_and_no_title_tells_a_reason_that_a_later_part_asks_for(bank: Bank) -> None:
    """Any back titration may be followed by the question why it is one: its opening must not answer it."""
    called = [f"{one.name} {one.solution}" for one in bank.substances.values()]
    names = frozenset().union(
        *(telling(text, frozenset()) for text in (*called, "carbon dioxide nitrite sulfite nickel esters"))
    )
    titles = {id(variant): archetype.title for archetype in bank.archetypes.values() for variant in archetype.variants}
    told: dict[str, set[str]] = {}
    for variant, entry in back_variants(bank):
        reasons = frozenset().union(*(telling(reason, names) for reason in entry.reasons))
        told[titles[id(variant)]] = (telling(titles[id(variant)], names) & reasons) - DONE
        told |= {scene.opening: telling(scene.opening, names) & reasons for scene in variant.contexts}
    assert not {words: both for words, both in told.items() if both}
    assert telling("Ammonia escapes while it is titrated, so it is put into an excess of acid", names) >= {
        "escap",
        "exces",
    }
