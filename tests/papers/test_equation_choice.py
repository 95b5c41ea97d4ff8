"""Which questions ask for an equation: as a line or the head of an order says, else a few of them by the seed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.papers.code import read_code
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.question.asked_equation import equation_kinds
from shared.records import record_schema

LINES = """
seed: 3
level: LEVEL
lines:
  - {kind: direct-one-to-two, equation: ionic}
  - {kind: steel, equation: half}
  - {kind: back-portions, equation: none}
"""


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


def made(bank: Bank, plans: Plans, text: str) -> PaperMaker:
    order, _ = parse_order(text, "order.yaml", lambda: 1)
    return PaperMaker(bank, order, plans)


def asked(maker: PaperMaker) -> list[list[str]]:
    questions = maker.paper(Wanted(), "A").questions
    return [[part.called for part in question.further_parts if part.equation is not None] for question in questions]


def test_a_line_names_its_equation_by_the_first_words_and_keeps_it_when_settled(bank: Bank, plans: Plans) -> None:
    maker = made(bank, plans, LINES.replace("LEVEL", "structured"))
    assert asked(maker) == [["ionic equation"], ["half-equations"] * 3, []]
    assert [line.equation for line in maker.order.lines] == ["ionic equation", "half-equations", ""]
    again = made(bank, plans, write_order(maker.order, Wanted()))
    assert asked(again) == asked(maker)
    assert again.code == maker.code


def test_below_structured_no_equation_is_asked_and_that_is_told(bank: Bank, plans: Plans) -> None:
    maker = made(bank, plans, LINES.replace("LEVEL", "scaffolded"))
    assert asked(maker) == [[], [], []]
    assert any("structured, exam, stretch only" in told for told in maker.idle_parts)


@pytest.mark.parametrize(
    ("equation", "told"),
    [("half-equations", "cannot be asked"), ("iconic equation", "nearest: ionic equation"), ("equation with", "")],
)
def test_what_cannot_be_asked_is_refused_with_what_can(bank: Bank, plans: Plans, equation: str, told: str) -> None:
    text = f"seed: 1\nlevel: exam\nlines:\n  - {{kind: direct-one-to-two, equation: {equation}}}\n"
    if not told:
        assert asked(made(bank, plans, text)) == [["equation with states"]]
        return
    with pytest.raises(Mistake) as refused:
        made(bank, plans, text)
    assert told in str(refused.value)
    assert "line 4" in str(refused.value) or ":4" in str(refused.value)


@pytest.mark.thorough
def test_an_order_may_ask_all_or_none_and_leaves_it_to_the_seed_otherwise(bank: Bank, plans: Plans) -> None:
    usual = [PaperMaker(bank, Order(seed=seed, level="structured"), plans) for seed in range(1, 13)]
    some = [kinds for maker in usual for kinds in asked(maker)]
    assert 1 <= sum(map(bool, some)) <= len(some) // 4
    none = PaperMaker(bank, Order(seed=5, level="exam", equations="none"), plans)
    assert not any(asked(none))
    every = PaperMaker(bank, Order(seed=5, level="exam", equations="all"), plans)
    able = [bool(equation_kinds(every.questions, slot.chosen)) for slot in every.slots]
    assert [bool(kinds) for kinds in asked(every)] == able
    assert sum(able) >= 4
    assert [one.kind for one in every.order.lines] == [one.kind for one in none.order.lines]
    ratio = PaperMaker(bank, Order(seed=5, level="exam", equations="reacting ratio"), plans)
    assert {kind for kinds in asked(ratio) for kind in kinds} == {"reacting ratio"}


def test_numbers_and_the_rest_of_a_paper_do_not_change_for_an_equation(bank: Bank, plans: Plans) -> None:
    plain = PaperMaker(bank, Order(seed=9, level="exam", equations="none"), plans).paper(Wanted(), "A")
    begun = PaperMaker(bank, Order(seed=9, level="exam", equations="all"), plans).paper(Wanted(), "A")
    for one, other in zip(plain.questions, begun.questions, strict=True):
        assert one.draw.given == other.draw.given
        kept = tuple(part for part in other.further_parts if part.equation is None)
        assert kept == one.further_parts


@pytest.mark.thorough
def test_a_short_code_prints_the_equations_of_its_seed_again(bank: Bank, plans: Plans) -> None:
    maker = next(
        maker
        for maker in (PaperMaker(bank, Order(seed=seed, level="structured"), plans) for seed in range(1, 30))
        if any(asked(maker))
    )
    order, _ = read_code(maker.code, maker.known, bank.fingerprint)
    assert asked(PaperMaker(bank, order, plans)) == asked(maker)


def test_marks_add_up_with_equations_among_them(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    order = Order(seed=2, count=0, marks=24, level="exam", equations="all")
    maker = PaperMaker(bank, order, plans)
    paper = maker.paper(Wanted(), "A")
    assert paper.composer.marks == 24
    assert any(asked(maker))
    write_papers(PaperSet(bank, order, Wanted(forms=("text",)), plans), tmp_path)
    lines = next(tmp_path.glob("*-record.jsonl")).read_text("utf-8").splitlines()

    for line in lines:
        record_schema().validate(json.loads(line))
    assert replace(order, equations="some").short is False
