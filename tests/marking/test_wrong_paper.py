"""Answers that belong to another version, and two records of one code: told, never marked in silence."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedClass
from molewright.marking.report import class_report
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.render.text import render
from shared.records import write_record

KINDS = ("back-portions", "direct-solutions", "back-whole")


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def maker(bank: Bank, plans: Plans) -> PaperMaker:
    return PaperMaker(bank, Order(seed=12, count=len(KINDS), level="structured", archetypes=KINDS), plans)


@pytest.fixture(scope="module")
def versions(maker: PaperMaker) -> list[dict[str, Any]]:
    return [record(maker.paper(Wanted(), version)) for version in "AB"]


def answers_to(held: dict[str, Any], code: str, pupil: str, every: int = 1) -> list[tuple[str, str, int, str, str]]:
    """The right answers of a version under some code; with `every` 2 only those of every other part."""
    rows = [
        (code, pupil, question["question"], point["part"], point["answers"][-1]["answer"])
        for question in held["questions"]
        for point in {one["part"]: one for one in question["points"]}.values()
    ]
    return [row if at % every == 0 else (*row[:4], "77777") for at, row in enumerate(rows)]


def marked(
    folder: Path, rows: Sequence[Sequence[object]], bank: Bank, plans: Plans, record: Path | None = None
) -> MarkedClass:
    with (folder / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("paper code", "pupil", "question", "part", "answer"), *rows])
    return mark_answers(folder / "answers.csv", bank, plans, record)[0]


def test_answers_to_another_version_are_told_and_nobody_else_is(
    versions: list[dict[str, Any]], maker: PaperMaker, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    write_record(maker, tmp_path, versions)
    a, b = versions
    rows = [
        *answers_to(a, a["code"], "Ilsa"),
        *answers_to(b, a["code"], "Bram"),
        *answers_to(a, a["code"], "Edda", every=2),  # weak, but this is their paper
        *answers_to(b, b["code"], "Odo"),
    ]
    found = marked(tmp_path, rows, bank, plans)
    (told,) = found.misfits
    assert "Bram" in told
    assert "version A" in told
    assert "version B" in told
    assert told in found.notes
    assert "Please check: the answers of Bram" in " ".join(render(class_report([found])).decode().split())


def test_two_records_of_one_code_are_told_and_asked_about(
    versions: list[dict[str, Any]], maker: PaperMaker, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    a, _ = versions
    write_record(maker, tmp_path, [a], "first")
    rows = answers_to(a, a["code"], "Ilsa")
    copied = write_record(maker, tmp_path, [a], "copy")  # the same paper twice is no question
    assert marked(tmp_path, rows, bank, plans).pupils[0].total
    copied.unlink()
    changed = {**a, "title": "Another title", "questions": a["questions"][:2]}
    other = write_record(maker, tmp_path, [changed], "second")
    with pytest.raises(Mistake) as told:
        marked(tmp_path, rows, bank, plans)
    assert "first-record" in str(told.value)
    assert "second-record" in str(told.value)
    assert "--record" in str(told.value)
    with pytest.raises(Mistake, match="--record"):
        marked(tmp_path, [("", *row[1:]) for row in rows], bank, plans, tmp_path)
    assert len(marked(tmp_path, [row for row in rows if row[2] < 3], bank, plans, other).out_of) == 2
