"""Other right routes are found from the relations, and every one leads to the same exact answer."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import to_figures
from molewright.derivation.derive import plan
from molewright.derivation.plans import Plans
from molewright.derivation.routes.search import FAMILIES, Route, differing, find_routes
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.for_each import for_every
from shared.quantities import q


@pytest.fixture(scope="module")
def maker(bank: Bank) -> Questions:
    return Questions(bank, Plans(bank.fingerprint, None))


@pytest.mark.thorough
def test_every_route_of_every_archetype_gives_the_exact_answer(bank: Bank, maker: Questions) -> None:
    counted = 0
    for archetype in bank.archetypes.values():
        if archetype.further_parts:
            continue
        for number in range(3):
            question = maker.make(archetype, Stream(f"routes/{archetype.key}/{number}"))
            routes = question.prepared.routes
            for route in routes.routes:
                if not route.holds(question.given):
                    continue
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


def routes_of(question: Question) -> dict[str, dict[str, Fraction]]:
    """The values of every route that holds, by its family."""
    routes = question.prepared.routes
    given = question.given
    return {route.family: routes.values(given, route) for route in routes.routes if route.holds(given)}


@for_every(alike=[True, False], family=FAMILIES)
def test_the_difference_of_titres_is_for_dilutions_alike_and_any_other_route_of_a_blank_for_those_that_are_not(
    family: str, alike: bool
) -> None:
    flask, other = q("made-up volume"), q("made-up volume of blank")
    values = {flask: Fraction(250), other: Fraction(250 if alike else 100)}
    assert Route(family, (), (), ((flask, other),)).holds(values) == (alike == (family == "E"))
    assert Route(family, (), ()).holds(values)


def test_the_difference_from_a_blank_stands_for_what_reacted(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["back-blank"], Stream("blank"))
    found = routes_of(question)["E"]
    given = question.given
    titrant = question.draw.variant.procedure.titrations[-1].titrant.name
    blank, sample = (given[q(f"titre of {titrant}, {end}")] for end in ("blank", "second"))
    by_hand = given[q(f"concentration of {titrant}")] * (blank - sample) / 1000  # n = c (V0 - V), common practice
    ((name, reacted),) = ((name, value) for name, value in found.items() if name.text.endswith("reacted in flask"))
    assert reacted == by_hand / (2 if name.subject == "H2SO4" else 1)


def test_a_blank_of_another_dilution_is_brought_to_that_of_the_sample(bank: Bank, maker: Questions) -> None:
    archetype = bank.archetypes["back-portions-blank"]
    unlike = 0
    for number in range(4):
        question = maker.make(archetype, Stream(f"dilution/{number}"))
        flasks = {str(quantity) for name, quantity in question.draw.given.items() if name.text.startswith("made-up")}
        found = routes_of(question)
        assert ("S" in found, "E" in found) == (len(flasks) == 2, len(flasks) == 1)
        assert {values[question.prepared.plan.asked] for values in found.values()} == {question.worked.exact}
        unlike += "S" in found
    assert unlike


def test_the_volume_for_all_the_reagent_less_the_titre_gives_what_reacted(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["back-portions"], Stream("families"))
    found = routes_of(question)["V"]
    given = question.given
    (whole,) = (
        value
        for name, value in found.items()
        if name.text.endswith("for all reagent") and name.text.startswith("volume")
    )
    (less,) = (
        value
        for name, value in found.items()
        if name.text.endswith("for what reacted") and name.text.startswith("volume")
    )
    titre = next(value for name, value in given.items() if name.text.startswith("titre"))
    assert less == whole - titre


@pytest.mark.parametrize(("key", "element"), [("fertiliser-nitrogen", "N"), ("nitrogen-absorbed", "N")])
def test_an_element_is_reached_without_its_compound(key: str, element: str, bank: Bank, maker: Questions) -> None:
    # NH3 holds one N, whatever the formula of the fertiliser
    seen = 0
    for number in range(8):
        question = maker.make(bank.archetypes[key], Stream(f"element/{number}"))
        asked = question.prepared.plan.asked
        twice = any(
            relation.kind == "contains"
            and relation.factor == 2
            and question.system.variables[relation.names[0]].subject == element
            for relation in question.system.relations
        )
        if asked.subject != element or not twice:
            continue
        seen += 1
        (route,) = (one for one in question.prepared.routes.routes if one.family == "N")
        step = next(one for one in route.steps if question.system.variables[one.target].subject == element)
        relation = question.prepared.routes.system.relations[step.relation]
        assert relation.factor == 1
        assert len(route.steps) < len(question.prepared.plan.steps)
        assert routes_of(question)["N"][asked] == question.worked.exact
    assert seen


def rounded_answer(question: Question, route: Route, figures: int) -> Fraction:
    """The answer by a route with every line rounded, worked with relations alone."""
    system = question.prepared.routes.system
    values = dict(question.given)
    for step in route.steps:
        values[step.target] = Fraction(to_figures(system.relations[step.relation].solved(step.target, values), figures))
    return values[question.prepared.plan.asked]


def accepted(question: Question, answer: Fraction) -> bool:
    return question.worked.accepted.low.in_base <= answer <= question.worked.accepted.high.in_base


BY_VOLUMES = (
    "T",
    "V",
)  # titres or volumes are subtracted: 47.62 cm3 less 24.80 cm3, in four figures as burettes are read


def test_a_route_rounded_to_three_figures_stays_in_the_accepted_range(bank: Bank, maker: Questions) -> None:
    for number in range(40):
        question = maker.make(bank.archetypes["back-portions"], Stream(f"range/{number}"))
        assert accepted(question, question.worked.exact)
        for route in question.prepared.routes.routes:
            if route.family not in BY_VOLUMES and route.holds(question.given):
                assert accepted(question, rounded_answer(question, route, 3)), (number, route.family)


@pytest.mark.parametrize(
    ("key", "family"), [("back-portions-reduce", "V"), ("iron-and-iron", "T"), ("hydroxide-and-carbonate", "T")]
)
def test_a_pupil_who_subtracts_volumes_in_four_figures_stays_in_the_accepted_range(
    key: str, family: str, bank: Bank, maker: Questions
) -> None:
    for number in range(40):
        question = maker.make(bank.archetypes[key], Stream(f"by volumes/{key}/{number}"))
        (route,) = (one for one in question.prepared.routes.routes if one.family == family)
        assert accepted(question, rounded_answer(question, route, 4)), number
        for figures in (4, 6):
            assert route in question.prepared.routes.followed(question.given, figures)
        assert route not in question.prepared.routes.followed(question.given, 3)


def test_no_route_is_sought_where_relations_yield_only_together(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["back-portions"], Stream("plain"))
    again = plan(question.system, question.draw.given, question.prepared.plan.asked)
    assert [step.target for step in again.steps] == [step.target for step in question.prepared.plan.steps]
    assert find_routes(question.system, again).routes == question.prepared.routes.routes
    assert isinstance(question.worked.exact, Fraction)
