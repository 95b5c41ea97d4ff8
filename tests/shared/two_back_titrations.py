"""Pupils come in; the record of two back titrations and their answers stand in a folder: what class and practice are tried on."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from shared.records import write_record

KINDS = ("back-portions", "back-portions-large-flask")


def write_returned(folder: Path, bank: Bank, plans: Plans, pupils: Sequence[str]) -> None:
    """Four pupils answer: all right, one slip throughout, unreadable, nothing known."""
    maker = PaperMaker(bank, Order(seed=5, count=2, level="exam", archetypes=KINDS), plans)
    held = record(maker.paper(Wanted(title="Chalk"), "A"))
    write_record(maker, folder, [held], f"chalk-{maker.code}")
    rows: list[Sequence[object]] = [("paper code", "pupil", "question", "part", "answer")]
    for question in held["questions"]:
        wrong = next(one for one in question["slips"] if one["slips"] == ["S33"])
        answers = (question["answer"], wrong["gives"], "=1+1", "0.0000123")
        rows += [
            (held["code"], pupil, question["question"], "", text) for pupil, text in zip(pupils, answers, strict=True)
        ]
    with (folder / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
