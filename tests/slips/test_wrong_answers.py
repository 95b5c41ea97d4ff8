"""Wrong answers as the scheme lists them: in the order of how often they are made, and called impossible where they are."""

from __future__ import annotations

from molewright.bank.definitions import Bank
from molewright.chem.units import Unit
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.slips.wrong_answers import left_open


def test_wrong_answers_come_in_the_order_of_how_often_they_are_made(bank: Bank, questions: Questions) -> None:
    order = ("high", "medium", "low")
    for key in ("back-portions", "direct-one-to-two"):
        found = questions.make(bank.archetypes[key], Stream("order")).mistakes.wrong
        ranks = [order.index(one.slips[0].often) for one in found]
        assert ranks == sorted(ranks)
        assert len(set(ranks)) == len(order)


def test_only_a_percentage_is_impossible_above_a_hundred(bank: Bank, questions: Questions) -> None:
    seen = set()
    for key in ("back-portions", "name-the-carbonate"):
        for number in range(6):
            question = questions.make(bank.archetypes[key], Stream(f"impossible/{number}"))
            share = question.worked.answer.unit is Unit.PERCENT
            for wrong in question.mistakes.wrong:
                if wrong.answer.number > 100:
                    assert wrong.impossible == ("above 100 %" if share else "")
                    seen.add(share)
                elif wrong.answer.number > 0:
                    assert not wrong.impossible
    assert seen == {True, False}


def test_an_answer_below_zero_is_impossible_in_any_unit(bank: Bank, questions: Questions) -> None:
    below = [
        wrong
        for number in range(6)
        for wrong in questions.make(bank.archetypes["back-portions"], Stream(f"below/{number}")).mistakes.wrong
        if wrong.answer.number < 0
    ]
    assert below
    assert {wrong.impossible for wrong in below} == {"below zero"}


def test_only_an_answer_of_an_unhandy_size_is_in_standard_form(bank: Bank, questions: Questions) -> None:
    # below a thousandth or from a hundred thousand on; a percentage of a thousandth or a thousand is written out
    seen = set()
    for number in range(6):
        for wrong in questions.make(bank.archetypes["back-portions"], Stream(f"size/{number}")).mistakes.wrong:
            unhandy = bool(wrong.answer.number) and not 0.001 <= abs(float(wrong.answer.number)) < 100_000
            assert wrong.answer.scientific is unhandy, str(wrong.answer)
            seen.add(unhandy)
    assert seen == {True, False}


def test_nobody_rounds_every_step_where_some_are_printed(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("steps done"))
    found, marks = question.mistakes.single, question.worked.marks
    kinds = [{slip.kind for one in left_open(found, done, marks) for slip in one.slips} for done in (0, 1)]
    assert "rounding" in kinds[0]
    assert kinds[1] == kinds[0] - {"rounding", "mean"}


def test_a_wrong_answer_has_the_figures_asked_for_and_one_rounded_too_early_two(
    bank: Bank, questions: Questions
) -> None:
    seen = set()
    for key in ("salt-substitute", "back-portions", "direct-one-to-two"):
        question = questions.make(bank.archetypes[key], Stream("figures of wrong answers"))
        asked = question.worked.answer.figures
        for wrong in question.mistakes.wrong:
            early = wrong.slips[0].kind == "rounding"
            assert wrong.answer.figures <= (2 if early else asked)
            seen.add((asked, early))
    assert seen >= {(2, False), (3, False), (3, True)}
