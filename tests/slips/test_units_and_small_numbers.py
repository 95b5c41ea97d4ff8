"""A wrong prefix, a forgotten thousand and a small number missed in a formula have names of their own; each worked by hand."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest

from molewright.answer.judge import wrong_alone
from molewright.answer.printed import SlipFacts, Slips
from molewright.answer.recognise import Explained
from molewright.answer.written import as_written
from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import base_factor
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions


@pytest.fixture(scope="module")
def slip_facts(bank: Bank) -> Mapping[str, SlipFacts]:
    return {one.key: SlipFacts(name=one.name, often=one.often, near=one.near, first=one.first) for one in bank.slips}


def named(question: Question, number: Fraction, facts: Mapping[str, SlipFacts]) -> Explained:
    """What explains a wrong number that is written to the figures of the answer."""
    answer, factor = question.worked.answer, base_factor(question.worked.answer)
    seen = tuple(
        Slips(tuple(slip.key for slip in one.slips), one.exact * factor, one.lost, one.marks)
        for one in question.mistakes.every()
    )
    points = frozenset(point.number for point in question.points)
    written = as_written(Quantity(to_figures(number, max(3, answer.figures)), answer.unit))
    return wrong_alone(question.worked.accepted, written, seen, facts, points, frozenset({max(points)})).explained


def test_grams_where_milligrams_are_asked_for_are_a_wrong_prefix_first(
    bank: Bank, questions: Questions, slip_facts: Mapping[str, SlipFacts]
) -> None:
    found = 0
    for seed in range(20):
        made = questions.make(bank.archetypes["vitamin-tablets"], Stream(f"prefix/{seed}"))
        if made.worked.answer.unit is Unit.MG:
            explained = named(made, made.worked.accepted.exact / 1000, slip_facts)
            assert explained.keys[0] == ("S75",)
            assert slip_facts["S75"].name.startswith("wrong prefix")
            found += 1
    assert found


def test_a_volume_left_in_dm3_has_a_name(bank: Bank, questions: Questions, slip_facts: Mapping[str, SlipFacts]) -> None:
    made = questions.make(bank.archetypes["direct-expected-titre"], Stream("thousand"))
    assert made.worked.answer.unit is Unit.CM3
    assert ("S76",) in named(made, made.worked.accepted.exact / 1000, slip_facts).keys


# Relative atomic masses to one place: C 12.0, H 1.0, N 14.0, O 16.0, S 32.1, Ca 40.1, Cu 63.5; the sums on paper.
@pytest.mark.parametrize(
    ("key", "substance", "masses"),
    [
        ("back-portions", "CaCO3", {"molar_first": "68.1"}),  # one O of three
        ("copper-crystals", "CuSO4.5H2O", {"molar_first": "201.6"}),  # its water is no small number
        ("back-ammonium-why", "(NH4)2SO4", {"molar_first": "126.1", "molar_last": "84.1", "molar_plain": "78.1"}),
    ],
)
def test_a_molar_mass_with_a_small_number_missed_is_worked_by_hand(
    bank: Bank, questions: Questions, key: str, substance: str, masses: Mapping[str, str]
) -> None:
    for seed in range(60):
        made = questions.make(bank.archetypes[key], Stream(f"small/{seed}"))
        found = made.prepared.slips.surroundings.constants
        if substance in made.draw.variant.roles.values() and "molar_first" in found:
            assert {word: found[word] for word in ("molar_first", "molar_last", "molar_plain") if word in found} == {
                word: Fraction(mass) for word, mass in masses.items()
            }
            return
    pytest.fail(f"{key} never asks for a mass of {substance}")
