"""The kinds that rules about shapes are asked of: among them is everything that is done, asked, added or related in any kind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import get_args

import pytest

from molewright.bank.definitions import Archetype
from molewright.bank.definitions.archetypes import FURTHER_PARTS
from molewright.experiment.procedure import Operation
from molewright.experiment.relations.relating import relate
from shared.banks import built_in
from shared.composed_sheets import LEVELS_IN_TURN, SHEETS, SHEETS_ONCE
from shared.covering import ask_every_kind, cover, covering

KINDS = built_in().archetypes


@pytest.fixture(autouse=True)
def few_kinds() -> Iterator[None]:
    """Whatever this run was asked for."""
    before = ask_every_kind(False)
    yield
    ask_every_kind(before)


def done(kind: Archetype) -> set[object]:
    return {type(one) for form in kind.variants for one in form.procedure.operations}


def asked(kind: Archetype) -> set[object]:
    return {(ask.quantity.kind, ask.unit) for form in kind.variants for ask in form.asks}


def related(kind: Archetype) -> set[object]:
    return {one.kind for form in kind.variants for one in relate(form.procedure, form.unknown).relations}


def added(kind: Archetype) -> set[object]:
    return set(kind.further_parts)


def stretched(kind: Archetype) -> set[object]:
    return set(kind.stretch)


def titrated(kind: Archetype) -> set[object]:
    return {len(form.procedure.titrations) for form in kind.variants}


def under(kind: Archetype) -> set[object]:
    return {kind.topic}


def read_off(kind: Archetype) -> set[object]:
    return {kind.graph, kind.runs, kind.course and kind.course.order}


@pytest.mark.thorough
@pytest.mark.parametrize("seen", [done, asked, related, added, stretched, titrated, under, read_off])
def test_what_is_in_any_kind_is_in_one_of_the_few(seen: Callable[[Archetype], set[object]]) -> None:
    few = covering(KINDS)
    assert set().union(*(seen(KINDS[key]) for key in few)) == set().union(*map(seen, KINDS.values()))
    assert len(few) < len(KINDS) / 3


def test_every_further_part_and_most_operations_are_in_the_few() -> None:
    few = [KINDS[key] for key in covering(KINDS)]
    assert len(set().union(*map(done, few))) > len(get_args(Operation)) / 2
    assert set().union(*map(added, few)) >= {*FURTHER_PARTS} - set().union(*map(stretched, few))


def test_a_cover_takes_the_kind_that_shows_most_and_no_more_than_it_needs() -> None:
    shown = {"left": "ab", "broad": "abcd", "odd": "e", "right": "cd"}
    shapes = {name: frozenset((one,) for one in letters) for name, letters in shown.items()}
    assert cover(shapes) == ["broad", "odd"]


def test_the_whole_sweep_is_asked_for_by_an_option() -> None:
    ask_every_kind(True)
    assert covering(KINDS) == sorted(KINDS)
    assert covering(["bleach", "back-portions"]) == ["back-portions", "bleach"]


def test_every_kind_has_its_sheets_read_and_the_few_at_every_level() -> None:
    assert [key for key, *_ in SHEETS_ONCE] == sorted(KINDS)
    assert set(SHEETS_ONCE) <= set(SHEETS)
    for key in covering(KINDS):
        assert {(level, style) for one, level, style in SHEETS if one == key} == {
            *LEVELS_IN_TURN,
            ("scaffolded", "dm3"),
        }
