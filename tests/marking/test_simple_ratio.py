"""A reacting ratio is marked however it is written: 5 : 2, 2.5, 2.5 : 1, or the value before rounding."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.marking.files import mark_answers
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from shared.records import write_record


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


def test_every_way_to_write_the_ratio_is_right_and_its_reverse_is_not(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    maker = PaperMaker(bank, Order(seed=5, count=1, level="exam", archetypes=("ratio-to-manganate",)), plans)
    held = record(maker.paper(Wanted(), "A"))
    write_record(maker, tmp_path, [held], "ratio")
    (question,) = held["questions"]
    exact = Fraction(question["exact"])
    ratio = exact.limit_denominator(4)
    answers = {
        "in whole numbers": f"{ratio.numerator} : {ratio.denominator}",
        "as a decimal": f"{float(ratio):g}",
        "to one": f"{float(ratio):g} : 1",
        "before rounding": f"{float(exact):.3f}",
        "reversed": f"{ratio.denominator} : {ratio.numerator}",
        "far away": f"{float(ratio) * 1.5:.2f}",
    }
    with (tmp_path / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("code", "pupil", "question", "answer"), *((held["code"], name, "1", answer)
                                                                              for name, answer in answers.items())])  # fmt: skip
    pupils = {one.name: one for one in mark_answers(tmp_path / "answers.csv", bank, plans)[0].pupils}
    right = {name for name, pupil in pupils.items() if pupil.answers[-1].verdict == "right"}
    assert right == {"in whole numbers", "as a decimal", "to one", "before rounding"}
    assert all(pupils[name].total == question["marks in all"] for name in right)
    told = pupils["reversed"].answers[-1].right.replace("\N{NO-BREAK SPACE}", " ")
    assert told == answers["in whole numbers"]
