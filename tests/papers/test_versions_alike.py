"""The versions of a paper are worth the same: marks of every question, burette runs, kinds and marks of its further parts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.further_parts.stretch import stretch_kinds
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.marks_of_lines import marks_of
from molewright.papers.sets import PaperSet
from molewright.papers.slots import FIRST
from shared.banks import built_in
from shared.covering import covering
from shared.kinds import KEYS, each_kind

STRETCHED = [key for key in KEYS if stretch_kinds(built_in().archetypes[key])]
VERSIONS = "ABCD"
PAPERS = 4  # mixtures of six questions a level


def alike(papers: list[Paper]) -> None:
    first, *others = papers
    for other in others:
        assert [one.form for one in other.questions] == [one.form for one in first.questions]
        assert other.composer.marks == first.composer.marks


@pytest.mark.thorough
@pytest.mark.parametrize("level", ["mixed", "exam", "stretch"])
def test_the_versions_of_a_mixture_are_worth_the_same(level: str, bank: Bank, plans: Plans) -> None:
    for seed in range(PAPERS):
        maker = PaperMaker(bank, Order(seed=1000 + seed, count=6, level=level), plans)
        alike(list(maker.papers(Wanted(versions=tuple(VERSIONS)))))


@each_kind(covering(KEYS))
def test_the_versions_of_every_kind_are_worth_the_same(key: str, bank: Bank, plans: Plans) -> None:
    for level in ("exam", "stretch"):
        maker = PaperMaker(bank, Order(seed=41, count=1, level=level, archetypes=(key,)), plans)
        alike(list(maker.papers(Wanted(versions=tuple("ABC")))))


@each_kind(covering(STRETCHED))
def test_numbers_are_drawn_again_until_they_allow_a_stretch_part(key: str, bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, Order(seed=43, count=1, level="stretch", archetypes=(key,)), plans)
    for paper in maker.papers(Wanted(versions=tuple("ABC"))):
        assert all(one.added for one in paper.questions)
    assert not maker.unstretched


@each_kind()
def test_the_marks_told_beforehand_are_those_of_the_question(key: str, bank: Bank, plans: Plans) -> None:
    order = Order(seed=45, count=1, level="structured", archetypes=(key,))
    maker = PaperMaker(bank, order, plans)
    (question,) = maker.paper(Wanted(), FIRST).questions
    (slot,) = maker.slots
    beforehand = replace(slot, line=replace(slot.line, equation="", part=""), chosen=replace(slot.chosen, part=""))
    assert marks_of(maker.questions, order, beforehand, "structured") == question.marks


def test_a_pupils_paper_is_worth_as_much_as_the_next_and_needs_no_other(bank: Bank, plans: Plans) -> None:
    order = Order(seed=44, count=3, level="stretch", archetypes=("back-portions", "direct-purity", "iron-tablets"))
    names = ("Ansa Reed", "Bo Tarn", "Cil Fenn")
    wanted = Wanted(pupils=tuple(Pupil(name=name) for name in names))
    made = PaperSet(bank, order, wanted, plans)
    papers = [made.paper(copy) for copy in made.copies]
    alike([PaperMaker(bank, order, plans).paper(Wanted(), FIRST), *papers])
    alone = PaperMaker(bank, order, plans).paper(wanted, papers[2].version, Pupil(name="Cil Fenn"))
    assert [one.draw.given for one in alone.questions] == [one.draw.given for one in papers[2].questions]
    assert len({str(one.draw.given) for paper in papers for one in paper.questions}) == 9
