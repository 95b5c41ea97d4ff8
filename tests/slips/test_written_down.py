"""Which wrong answers a pupil would write down, in which order they are printed, and that marking knows the others all the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.chem.units import parse_unit
from molewright.draw.stream import Stream
from molewright.experiment.procedure import MakeUp
from molewright.experiment.relations.variables import Variable
from molewright.question.check import Questions
from molewright.slips.written_down import how_often, is_common, likeliest, would_be_written
from shared.quantities import q

KINDS = {
    "percentage": "percentage of CaCO3 in chalk",
    "water": "water in Na2CO3",
    "mass": "mass of CaCO3",
    "volume": "titre of NaOH",
}


@pytest.mark.parametrize(
    ("kind", "wrong", "right", "unit", "written"),
    [
        ("percentage", "121", "87.2", "%", True),  # many do
        ("percentage", "87200", "87.2", "%", False),
        ("percentage", "872", "87.2", "%", False),
        ("percentage", "0.872", "87.2", "%", True),  # the fraction
        ("percentage", "-11.5", "87.2", "%", False),
        ("mass", "-0.303", "0.382", "g", False),
        ("mass", "0", "0.382", "g", False),
        ("mass", "382", "0.382", "g", True),  # one prefix missed
        ("mass", "382000", "0.382", "g", False),
        ("volume", "18600", "18.6", "cm3", True),
        ("volume", "0.0000186", "18.6", "cm3", False),
        ("water", "12.6", "7", "", True),
        ("water", "123", "7", "", False),
        ("water", "0.555", "7", "", False),
    ],
)
def test_what_cannot_be_at_a_glance_is_not_written_down(
    kind: str, wrong: str, right: str, unit: str, written: bool
) -> None:
    asked = Variable(name=q(KINDS[kind]))
    values = (Quantity(Decimal(number), parse_unit(unit)) for number in (wrong, right))
    assert would_be_written(*values, asked) is written


def test_what_is_printed_comes_by_how_often_and_the_rest_is_still_recognised(bank: Bank, questions: Questions) -> None:
    left_out = 0
    for seed in range(4):
        question = questions.make(bank.archetypes["back-portions"], Stream(f"written/{seed}"))
        every = question.mistakes.wrong
        printed = likeliest(every, question.worked.answer, question.worked.steps[-1].variable)
        right, asked = question.worked.answer, question.worked.steps[-1].variable
        shown = [
            one
            for one in every
            if not one.hidden
            and one.slips[0].often != "low"
            and would_be_written(one.answer, right, asked, is_common(one.slips[0]))
        ]
        answers = Counter(slip.key for one in shown for slip in one.slips)
        often = [how_often(one.slips, answers) for one in printed]
        assert often == sorted(often, reverse=True)
        recognised = {slip.key for one in question.mistakes.every() for slip in one.slips}
        left = [one for one in every if one not in printed]
        left_out += len(left)
        assert all(slip.key in recognised for one in left for slip in one.slips)
    assert left_out


def test_a_mistake_is_told_once_at_its_likeliest_value_and_a_factor_forgotten_always(
    bank: Bank, questions: Questions
) -> None:
    """On paper: one tenth of the salt makes the molar mass ten times as large, so that x is ten times as large and more."""
    several = 0
    for key in ("soda-water", "magnesium-sulfate-water", "back-portions", "direct-purity"):
        question = questions.make(bank.archetypes[key], Stream(f"once/{key}"))
        likely = [one for one in question.mistakes.likely if not one.apart]
        told = [{slip.key for slip in one.slips if slip.often != "low"} for one in likely]
        assert all(one - set().union(*told[:at]) for at, one in enumerate(told))
        ways = Counter(slip.key for one in question.mistakes.wrong for slip in one.slips if not one.hidden)
        several += sum(count > 1 for count in ways.values())
        made_up = [act for act in question.draw.variant.procedure.operations if isinstance(act, MakeUp)]
        assert not made_up or any("S21" in one for one in told)
    assert several  # mistakes that are made in more ways than one


@pytest.mark.parametrize(("found", "printed"), [("6.88", False), ("7.49", False), ("6.10", True), ("9.74", True)])
def test_what_is_right_once_it_is_rounded_is_no_wrong_whole_number(
    found: str, printed: bool, bank: Bank, questions: Questions
) -> None:
    question = questions.make(bank.archetypes["magnesium-sulfate-water"], Stream("rounded"))
    wrong = next(one for one in question.mistakes.wrong if one.slips[0].often == "high")
    told = replace(wrong, answer=Quantity(Decimal(found), wrong.answer.unit), hidden=False)
    asked = Variable(name=q(KINDS["water"]))
    assert bool(likeliest([told], Quantity(Decimal(7), wrong.answer.unit), asked)) is printed
