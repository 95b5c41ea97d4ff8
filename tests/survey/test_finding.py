"""Kinds of question are found by the words that a teacher has for them."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.survey.finding import MOST_FOUND, Kinds, topics_of


@pytest.fixture(scope="module")
def kinds(bank: Bank) -> Kinds:
    return Kinds(bank)


def test_a_kind_is_found_by_material_chemical_topic_title_and_what_it_asks_for(bank: Bank, kinds: Kinds) -> None:
    for words in (
        "limestone",
        "manganate",
        "purity",
        "hydrate",
        "vinegar",
        "hardness",
        "aliquot limestone",
        "NaOH",
        "Limestones",
    ):
        assert kinds.find(words), words
    for one in kinds.find("limestone"):
        assert any(
            "limestone" in variant.material.name for variant in bank.archetypes[one.key].variants if variant.material
        )
    assert kinds.find("limestone aliquot")[0].topic == "back titration with an aliquot"


def test_a_misspelt_word_is_taken_for_its_nearest_and_nonsense_for_none(kinds: Kinds) -> None:
    assert kinds.find("limstone") == kinds.find("limestone")
    for words in ("", " ", "qqqqqq", "limestone qqqqqq", "?!"):
        assert kinds.find(words) == ()
    assert len(kinds.find("a")) <= MOST_FOUND


@pytest.mark.thorough
def test_every_kind_is_found_by_its_own_title(kinds: Kinds) -> None:
    lost = [one.key for one in kinds.every if one not in kinds.find(one.key.replace("-", " "))]
    assert lost == []


def test_topics_that_come_into_no_mixture_stand_last(bank: Bank) -> None:
    topics = topics_of(bank)
    assert sum(count for _, count in topics) == len(bank.archetypes)
    by_name = [bank.topics[topic].only_by_name for topic, _ in topics]
    assert by_name == sorted(by_name)
