"""Two equations in two amounts: read off the relations, solved as on paper, and none where there is no such pair."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import build_experiment
from molewright.derivation.plans import Plans
from molewright.derivation.simultaneous import TwoUnknowns, mixture, two_unknowns
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.question.prepared import molar_masses
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_text, solve
from shared.quantities import q

# 0.530 g of Na2CO3 (5 mmol) and 0.420 g of NaHCO3 (5 mmol) take 15 mmol of HCl: M 106.0 and 84.0, on paper
SODA = """
experiment: Washing soda
procedure:
  - weigh: {{sample: mixture, contains: [Na2CO3, NaHCO3], pure: yes, mass: 0.950 g}}
  - dissolve
  - titrate: {{with: HCl, concentration: 0.500 mol dm-3, titre: 30.00 cm3}}
asked: percentage of {asked} in mixture
"""


@pytest.fixture(scope="module")
def chemicals(bank: Bank) -> Chemicals:
    return Chemicals(substances=bank.substances, reactions=bank.reactions)


def soda(asked: str, chemicals: Chemicals) -> tuple[Any, Any, TwoUnknowns]:
    experiment = build_experiment(parse_tree(SODA.format(asked=asked), "by hand"), chemicals)
    worked = solve(experiment, Plans("none", None))
    known = {**molar_masses(experiment.system, "one place"), **{n: q.in_base for n, q in experiment.given.items()}}
    known |= {step.variable.name: step.exact for step in worked.steps[:-1]}
    found = two_unknowns(experiment.system, known, worked.plan.asked)
    assert found is not None
    return experiment, worked, found


def test_the_equations_are_those_of_mass_and_of_amount(chemicals: Chemicals) -> None:
    _, _, found = soda("Na2CO3", chemicals)
    assert (found.x, found.y) == (q("amount of Na2CO3 in mixture"), q("amount of NaHCO3 in mixture"))
    assert (found.first.a, found.first.b, found.first.c) == (106, 84, Fraction("0.950"))
    assert (found.second.a, found.second.b, found.second.c) == (2, 1, Fraction("0.015"))
    assert (found.first.says, found.second.says) == ("mass", "amount")


def test_the_equations_are_found_in_whatever_order_the_relations_stand(chemicals: Chemicals) -> None:
    experiment, worked, found = soda("Na2CO3", chemicals)
    known = {**molar_masses(experiment.system, "one place"), **{n: q.in_base for n, q in experiment.given.items()}}
    known |= {step.variable.name: step.exact for step in worked.steps[:-1]}
    turned = replace(experiment.system, relations=tuple(reversed(experiment.system.relations)))
    assert two_unknowns(turned, known, worked.plan.asked) == found


@pytest.mark.parametrize("asked", ["Na2CO3", "NaHCO3"])
def test_x_is_the_amount_that_the_answer_rests_on(asked: str, chemicals: Chemicals) -> None:
    _, worked, found = soda(asked, chemicals)
    assert found.value == Fraction("0.005")
    assert found.x == q(f"amount of {asked} in mixture")
    assert found.asked.a * found.value + found.asked.c == worked.exact


def test_solve_prints_both_equations_and_what_is_left(chemicals: Chemicals) -> None:
    experiment, worked, _ = soda("Na2CO3", chemicals)
    text = as_text(experiment, worked).replace("\N{NO-BREAK SPACE}", " ")
    for line in ("(1) 106.0x + 84.0y = 0.950", "(2) 2x + y = 1.500 × 10⁻²", "84.0 × (2) − (1):", "62x = 1.26 − 0.950 = 0.31",
                 "x = 0.31 / 62 = 5.000 × 10⁻³ mol"):  # fmt: skip
        assert line in text


@pytest.mark.parametrize("key", ["dolomite-mixture", "two-carbonates", "salt-substitute"])
def test_the_equations_of_a_mixture_give_what_its_chain_gives(key: str, bank: Bank, questions: Questions) -> None:
    for number in range(3):
        question = questions.make(bank.archetypes[key], Stream(f"mixture/{key}/{number}"))
        values = {**question.given, **{step.variable.name: step.exact for step in question.worked.steps}}
        relations = tuple(step.relation for step in question.worked.steps if step.relation is not None)
        found = mixture(question.system, relations, values)
        assert found is not None
        x = found.value
        y = (found.second.c - found.second.a * x) / found.second.b
        assert values[found.x] == x > 0
        assert y > 0
        assert found.first.a * x + found.first.b * y == found.first.c  # both masses make up the whole sample


def test_an_ordinary_question_is_no_mixture(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("none"))
    relations = tuple(step.relation for step in question.worked.steps if step.relation is not None)
    assert mixture(question.system, relations, question.given) is None
