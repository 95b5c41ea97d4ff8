"""Other right routes are found from the relations, and every one leads to the same exact answer."""

from __future__ import annotations

from fractions import Fraction

import pytest

from generator.bank.definitions import Bank
from generator.question.check import Questions
from generator.question.derive import plan
from generator.question.plans import Plans
from generator.question.routes import differing, find_routes
from generator.question.stream import Stream


@pytest.fixture(scope="module")
def maker(bank: Bank) -> Questions:
    return Questions(bank, Plans(bank.fingerprint, None))


def test_every_route_of_every_archetype_gives_the_exact_answer(bank: Bank, maker: Questions) -> None:
    counted = 0
    for archetype in bank.archetypes.values():
        if archetype.extras:
            continue
        for number in range(3):
            question = maker.make(archetype, Stream(f"routes/{archetype.key}/{number}"))
            routes = question.prepared.routes
            for route in routes.routes:
                values = routes.values({**question.draw.truth, **question.given}, route)
                assert values[question.prepared.plan.asked] == question.worked.exact, (archetype.key, route.family)
                assert differing(question.prepared.plan, route), "a route that is the main one again"
                counted += 1
    assert counted > 300


def test_a_back_titration_of_portions_has_the_routes_that_markers_know(bank: Bank, maker: Questions) -> None:
    # Scale up is the main one; scale down, concentration of the flask, equivalent volume, convert then subtract, titrant
    # scaled first: common practice, no source.
    question = maker.make(bank.archetypes["back-portions"], Stream("families"))
    assert {route.family for route in question.prepared.routes.routes} >= {"B", "C", "D", "H"}


def test_two_solutions_have_the_ratio_formula_as_a_route(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["direct-one-to-two"], Stream("formula"))
    assert "R" in {route.family for route in question.prepared.routes.routes}


def test_a_route_rounded_to_three_figures_stays_in_the_accepted_range(bank: Bank, maker: Questions) -> None:
    for number in range(40):
        question = maker.make(bank.archetypes["back-portions"], Stream(f"range/{number}"))
        low, high = question.worked.accepted.low.in_base, question.worked.accepted.high.in_base
        assert low <= question.worked.exact <= high


def test_no_route_is_sought_where_relations_yield_only_together(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["back-portions"], Stream("plain"))
    again = plan(question.system, question.draw.given, question.prepared.plan.asked)
    assert [step.target for step in again.steps] == [step.target for step in question.prepared.plan.steps]
    assert find_routes(question.system, again).routes == question.prepared.routes.routes
    assert isinstance(question.worked.exact, Fraction)
