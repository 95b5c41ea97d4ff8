"""Checked calculations to ask further parts of: by archetype, asked quantity and variant, drawn once for the run."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

import pytest

from molewright.draw.stream import Stream
from molewright.further_parts.pieces import Calculation
from molewright.question.check import Question, Questions
from shared.figures import Make

Calculate = Callable[..., Calculation]
MOST_STREAMS = 60


def calculation_of(maker: Questions, question: Question, stream: str = "extras") -> Calculation:
    """What a maker of further parts is handed."""
    return Calculation(
        bank=maker.bank,
        draw=question.draw,
        system=question.system,
        worked=question.worked,
        mistakes=question.mistakes,
        given=question.given,
        masses=maker.masses,
        stream=Stream(stream),
        line=Stream(stream),
        plans=maker.plans,
        plausibility=maker.plausibility,
    )


def drawn(maker: Questions, key: str, asked: str, roles: tuple[tuple[str, str], ...]) -> Calculation:
    """The first drawn question of an archetype that asks for this and whose roles are these."""
    for number in range(MOST_STREAMS):
        question = maker.make(maker.bank.archetypes[key], Stream(f"{key}/{number}"))
        fits = question.draw.ask.quantity.text.startswith(asked)
        if fits and all(question.draw.variant.roles.get(role) == name for role, name in roles):
            return calculation_of(maker, question)
    raise AssertionError(f"{key} never asks for {asked} with {roles}")


@pytest.fixture(scope="session")
def calculate(questions: Questions) -> Calculate:
    """A calculation of the built-in banks: calculate("back-portions", "percentage", analyte="CaCO3")."""
    kept = cache(lambda key, asked, roles: drawn(questions, key, asked, roles))
    return lambda key, asked="", **roles: kept(key, asked, tuple(sorted(roles.items())))


@pytest.fixture(scope="session")
def draws(questions: Questions) -> Callable[[str], Iterator[Calculation]]:
    """The calculations that an archetype of the built-in banks draws, one after the other."""

    def one_by_one(key: str) -> Iterator[Calculation]:
        for number in range(MOST_STREAMS):
            yield calculation_of(questions, questions.make(questions.bank.archetypes[key], Stream(f"{key}/{number}")))

    return one_by_one


@pytest.fixture(scope="session")
def calculate_small(small_questions: Questions) -> Calculate:
    """The same of the small bank, which has a hydrate and a redox titration."""
    kept = cache(lambda key, asked, roles: drawn(small_questions, key, asked, roles))
    return lambda key, asked="", **roles: kept(key, asked, tuple(sorted(roles.items())))


@pytest.fixture(scope="session")
def make(questions: Questions) -> Make:
    """A question that lives from a figure, by its kind and seed; each is made once."""
    return cache(lambda key, seed: questions.make(questions.bank.archetypes[key], Stream(f"figures {key} {seed}")))
