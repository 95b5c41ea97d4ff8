"""A paper of exactly so many marks: the total, the turns of its topics, and what is told where none adds up."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.order.lines import OrderLine, OwnWords
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.papers.choosing import new_order
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import Told
from molewright.question.check import Questions
from shared.for_each import for_each

TWO = Wanted(versions=("A", "B"))
TOPICS = ("direct titration", "redox", "silver", "practical judgement", "dilution", "EDTA")


@pytest.fixture(scope="module")
def questions(bank: Bank, plans: Plans) -> Questions:
    return Questions(bank, plans)


def totals(maker: PaperMaker) -> list[int]:
    return [paper.composer.marks for paper in maker.papers(TWO)]


@for_each("marks", [10, 15, 25, 40, 60, 80], shares=2)
def test_a_mixture_has_the_marks_asked_for_in_every_version(marks: int, bank: Bank, questions: Questions) -> None:
    maker = PaperMaker(bank, new_order(bank, seed=marks, marks=marks), questions=questions)
    assert totals(maker) == [marks, marks]
    demands = [slot.archetype.demand for slot in maker.slots]
    assert demands == sorted(demands)
    scenes = [slot.line.scene for slot in maker.slots]
    assert len(set(scenes)) == len(scenes)


@for_each("seed", list(range(6)), shares=2)
def test_every_named_topic_has_its_turn_and_the_marks_add_up(seed: int, bank: Bank, questions: Questions) -> None:
    named = [TOPICS[(seed + step) % len(TOPICS)] for step in range(1 + seed % 4)]
    marks = 20 + 5 * seed
    maker = PaperMaker(bank, new_order(bank, named, seed=seed, marks=marks), questions=questions)
    assert totals(maker) == [marks, marks]
    assert {slot.archetype.topic for slot in maker.slots} == set(named)


def test_marks_and_questions_hold_together(bank: Bank, questions: Questions) -> None:
    for marks, count in ((30, 6), (24, 4), (45, 8)):
        maker = PaperMaker(bank, new_order(bank, count=count, seed=3, marks=marks), questions=questions)
        assert (len(maker.slots), totals(maker)) == (count, [marks, marks])


def test_weights_say_how_often_a_topic_comes_after_each_has_come_once(bank: Bank, questions: Questions) -> None:
    weighed = (("redox", 3), ("silver", 1), ("EDTA", 1))
    order = Order(seed=5, count=10, marks=52, topics=weighed)
    maker = PaperMaker(bank, order, questions=questions)
    topics = [slot.archetype.topic for slot in maker.slots]
    assert {topic: topics.count(topic) for topic, _ in weighed} == {"redox": 6, "silver": 2, "EDTA": 2}
    one_sided = (("redox", 20), ("silver", 1))
    maker = PaperMaker(bank, Order(seed=5, count=3, topics=one_sided), questions=questions)
    assert "silver" in {slot.archetype.topic for slot in maker.slots}


@pytest.mark.parametrize("level", ["scaffolded", "structured", "exam", "stretch"])
def test_each_level_has_the_marks_asked_for(level: str, bank: Bank, questions: Questions) -> None:
    order = replace(new_order(bank, seed=8, marks=40), level=level)
    assert totals(PaperMaker(bank, order, questions=questions)) == [40, 40]


def test_of_several_levels_the_first_without_further_parts_has_the_marks(bank: Bank, plans: Plans) -> None:
    order = replace(new_order(bank, seed=8, marks=40), level="mixed", levels=("stretch", "scaffolded", "exam"))
    papers = PaperSet(bank, order, TWO, plans)
    found = {
        level: [papers.makers[level].paper(TWO, version).composer.marks for version in "AB"] for level in papers.levels
    }
    assert found["scaffolded"] == found["exam"] == [40, 40]
    assert min(found["stretch"]) > 40


def test_lines_that_are_fixed_keep_their_place_and_count(bank: Bank, questions: Questions) -> None:
    words = OwnWords(text="Draw the apparatus.", marks=4, answer="A burette above a flask.", lines=6)
    lines = (OrderLine(), OrderLine(kind="bleach", scene="hospital-cleaner"), OrderLine(words=words))
    maker = PaperMaker(bank, Order(seed=2, count=0, marks=35, lines=lines), questions=questions)
    assert maker.order.lines[1].kind == "bleach"
    assert maker.order.lines[1].scene == "hospital-cleaner"
    assert maker.order.lines[2].words == words
    assert totals(maker) == [35, 35]


def test_the_settled_order_prints_the_same_paper_again(bank: Bank, questions: Questions) -> None:
    first = PaperMaker(bank, new_order(bank, ["direct titration"], seed=4, marks=33), questions=questions)
    again, _ = parse_order(write_order(first.order, Wanted()), "x.order.yaml", lambda: 0)
    second = PaperMaker(bank, again, questions=questions)
    assert second.order == first.order
    assert second.code == first.code
    assert totals(second) == [33, 33]


def test_a_total_that_was_changed_since_is_told(bank: Bank, plans: Plans) -> None:
    settled = PaperSet(bank, new_order(bank, ["redox"], seed=4, marks=30), Wanted(), plans).order
    shorter = replace(settled, count=settled.count - 1, lines=settled.lines[1:])
    for order, told in ((settled, False), (shorter, True)):
        papers = PaperSet(bank, order, Wanted(), plans)
        sentences = [line for line in summary(papers, Told()) if line.startswith("30 marks were asked for; ")]
        assert bool(sentences) == told


def test_where_no_kind_adds_up_further_parts_do(bank: Bank, questions: Questions) -> None:
    """A kind whose questions have four marks gives no 18 in four questions but with parts that the stretch level adds."""
    found = 0
    for seed in range(1, 7):  # what a part earns is drawn, so that some seeds come to 17 only
        order = Order(seed=seed, count=4, marks=18, topics=(("iodised-salt", 1),))
        try:
            maker = PaperMaker(bank, order, questions=questions)
        except Mistake:
            continue
        found += 1
        assert totals(maker) == [18, 18]
        assert "stretch" in {slot.line.level for slot in maker.slots}
    assert found


def test_the_nearest_totals_are_told_and_can_be_had(bank: Bank, questions: Questions) -> None:
    order = new_order(bank, ["direct titration"], count=3, seed=1, marks=60)
    with pytest.raises(Mistake, match=r"no paper of 60 marks in 3 questions .*expected \d+ marks") as told:
        PaperMaker(bank, order, questions=questions)
    near = int(told.value.expected.split()[0])
    maker = PaperMaker(bank, replace(order, marks=near), questions=questions)
    assert totals(maker) == [near, near]


def test_levels_rise_with_the_places(bank: Bank, questions: Questions) -> None:
    rank = {"structured": 0, "exam": 1, "stretch": 1}
    for seed in range(6):
        maker = PaperMaker(bank, new_order(bank, ["redox", "silver"], seed=seed, marks=30 + seed), questions=questions)
        ranks = [rank[slot.line.level] for slot in maker.slots]
        assert all(one <= other for one, other in pairwise(ranks))


@pytest.mark.parametrize("marks", [200, 300])
def test_forty_questions_add_up_though_their_marks_change_with_their_places(
    marks: int, bank: Bank, questions: Questions
) -> None:
    maker = PaperMaker(bank, new_order(bank, seed=7, marks=marks), questions=questions)
    assert totals(maker) == [marks, marks]


@pytest.mark.parametrize(
    ("marks", "count", "share", "told"),
    [
        (400, 0, 0.1, r"expected \d+ marks, the largest total found. Ask for fewer marks"),
        (3, 6, 0.4, r"expected \d+ marks, the smallest total found. Ask for another number of questions"),
    ],
)
def test_a_total_that_is_out_of_reach_is_refused_soon(
    marks: int, count: int, share: float, told: str, bank: Bank, plans: Plans
) -> None:
    """Whatever the clock says: most questions that might be looked at are not."""
    looked: list[tuple[int, int]] = []

    def looking(done: int, most: int) -> None:
        looked.append((done, most))

    order = replace(new_order(bank, seed=7, marks=marks), count=count, level="structured")
    with pytest.raises(Mistake, match=told):
        PaperSet(bank, order, Wanted(), plans, looking)
    assert [done for done, _ in looked] == list(range(1, len(looked) + 1))
    assert all(done <= most for done, most in looked)
    assert len(looked) < looked[-1][1] * share


def test_whoever_is_told_of_a_search_may_stop_it(bank: Bank, questions: Questions) -> None:
    class Stopped(Exception):
        pass

    def looking(done: int, most: int) -> None:
        if done == 30:
            raise Stopped

    with pytest.raises(Stopped):
        PaperMaker(bank, new_order(bank, seed=7, marks=120), questions=questions, looking=looking)
