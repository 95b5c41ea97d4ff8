"""A paper that is aimed at a slip: the slip shows in its questions, and there is less support from one to the next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from molewright.bank.definitions import Bank, Slip
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.choices import LINE_LEVELS
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.papers.choosing import new_order
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import Told
from molewright.question.check import Questions
from molewright.question.shown_slips import can_be_made, shows
from shared.banks import built_in
from shared.covering import covering
from shared.for_each import for_each
from shared.kinds import KEYS

SEEN = [slip for slip in built_in().slips if not slip.unseen]
NOWHERE = {"S50", "S188", "S189"}  # their steps are in no built-in kind
ONE_OF_A_KIND = list({slip.kind: slip for slip in SEEN if slip.key not in NOWHERE}.values())


@pytest.fixture(scope="module")
def questions(bank: Bank, plans: Plans) -> Questions:
    return Questions(bank, plans)


def aimed(questions: Questions, order: Order) -> PaperMaker:
    return PaperMaker(questions.bank, order, questions=questions)


@pytest.mark.parametrize("key", ["S21", "S11", "S33", "S59"])
def test_the_slip_shows_in_every_question_and_support_fades(key: str, questions: Questions) -> None:
    maker = aimed(questions, new_order(questions.bank, seed=3, aim=key))
    paper = maker.paper(Wanted(), "A")
    assert len(paper.questions) == 6
    assert all(shows(question, key) for question in paper.questions)
    assert paper.levels == tuple(level for level in LINE_LEVELS[:3] for _ in range(2))
    demands = [slot.archetype.demand for slot in maker.slots]
    assert demands == sorted(demands)
    scenes = [slot.line.scene for slot in maker.slots]
    assert len(set(scenes)) == len(scenes)


@for_each("slip", ONE_OF_A_KIND, names=[slip.key for slip in ONE_OF_A_KIND], shares=2)
def test_every_kind_of_slip_has_a_paper_in_which_it_can_be_made(slip: Slip, bank: Bank, questions: Questions) -> None:
    (made,) = aimed(questions, new_order(bank, count=1, seed=1, aim=slip.key)).paper(Wanted(), "A").questions
    assert can_be_made(made, slip.key)


@pytest.mark.thorough
def test_every_slip_can_be_made_in_some_question(bank: Bank, questions: Questions) -> None:
    wanting = {slip.key for slip in SEEN} - NOWHERE
    for key in covering(KEYS):
        made = questions.make(bank.archetypes[key], Stream("aimed"))
        wanting -= {slip for slip in wanting if can_be_made(made, slip)}
    for slip in wanting:  # what these few do not show is aimed at
        (made,) = aimed(questions, new_order(bank, count=1, seed=1, aim=slip)).paper(Wanted(), "A").questions
        assert can_be_made(made, slip)


@for_each("slip", sorted(NOWHERE))
def test_a_slip_that_can_be_made_in_no_kind_is_told(slip: str, bank: Bank, questions: Questions) -> None:
    with pytest.raises(Mistake, match="can be made in no kind"):
        aimed(questions, new_order(bank, count=1, seed=1, aim=slip))


def test_plain_words_are_settled_into_the_key_and_print_again(bank: Bank, questions: Questions) -> None:
    asked, _ = parse_order("aim: forgot the aliquot\nquestions: 3\nseed: 5\n", "x.order.yaml", lambda: 0)
    first = aimed(questions, asked)
    assert first.order.aim == "S21"
    again, _ = parse_order(write_order(first.order, Wanted()), "x.order.yaml", lambda: 0)
    second = aimed(questions, again)
    assert (second.order, second.code) == (first.order, first.code)
    assert [one.draw.given for one in second.paper(Wanted(), "A").questions] == [
        one.draw.given for one in first.paper(Wanted(), "A").questions
    ]


def test_a_slip_of_topics_that_come_only_by_name_names_them(bank: Bank, questions: Questions) -> None:
    maker = aimed(questions, new_order(bank, count=2, seed=1, aim="square root forgotten"))
    assert all(bank.topic_of(slot.archetype).only_by_name for slot in maker.slots)
    usual = aimed(questions, new_order(bank, count=2, seed=1, aim="S21"))
    assert not any(bank.topic_of(slot.archetype).only_by_name for slot in usual.slots)


def test_topics_narrow_the_kinds_and_none_that_fits_is_told(bank: Bank, questions: Questions) -> None:
    maker = aimed(questions, new_order(bank, ["back titration with an aliquot"], 4, 2, aim="S21"))
    assert {slot.archetype.topic for slot in maker.slots} == {"back titration with an aliquot"}
    with pytest.raises(Mistake, match="can be made in no kind of question that is asked for"):
        aimed(questions, new_order(bank, ["dilution"], 2, 2, aim="S43"))


def test_an_aim_and_a_total_of_marks_hold_together(bank: Bank, questions: Questions) -> None:
    for marks in (24, 37):
        paper = aimed(questions, new_order(bank, seed=marks, marks=marks, aim="S21")).paper(Wanted(), "A")
        assert paper.composer.marks == marks
        assert all(shows(question, "S21") for question in paper.questions)


def test_a_line_that_is_fixed_stays_in_its_place(bank: Bank, questions: Questions) -> None:
    order = replace(new_order(bank, count=3, seed=1, aim="S21"), lines=(OrderLine(), OrderLine(kind="bleach")))
    maker = aimed(questions, order)
    assert [slot.line.kind == "bleach" for slot in maker.slots][1]
    assert len(maker.slots) == 3


def test_the_aim_is_told_in_words(bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, new_order(bank, count=2, seed=1, aim="S21"), Wanted(), plans)
    assert "aimed at: factor from portion to flask forgotten (S21)" in list(summary(papers, Told()))
