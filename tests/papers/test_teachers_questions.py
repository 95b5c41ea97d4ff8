"""Questions in a teacher's own words stand in their place among those that are drawn, on every sheet, in every form, in every total."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.order.front import Front
from molewright.order.lines import OrderLine, OwnWords
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.papers.making import PaperMaker
from molewright.papers.record.again import order_of
from molewright.papers.record.reader import read_record
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import write_papers
from molewright.render import FORMS, renderer
from shared.for_each import for_each
from shared.records import record_schema

UGLY = "Why {slot} & 50 % of \\input{x} <b>it</b> $a_1^2$ #1 ~ “so”?"
WORDS = OwnWords(text=f"Look at the flask.\n{UGLY}", marks=3, answer="Because.\nOr so \\end{document}.", lines=5)
SHORT = OwnWords(text="Name the piece of glass.", marks=1, answer="a pipette", lines=1)
ORDER = Order(
    seed=5,
    count=4,
    lines=(
        OrderLine(kind="direct-expected-titre"),
        OrderLine(words=WORDS),
        OrderLine(kind="back-portions", level="structured"),
        OrderLine(words=SHORT),
    ),
)
ALL = ("questions", "scheme", "worked", "answers", "class")


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("own")
    write_papers(PaperSet(bank, ORDER, Wanted(versions=("A", "B"), forms=("text",), sheets=ALL), plans), made)
    return made


def page(folder: Path, word: str, version: str = "") -> str:
    (path,) = folder.glob(f"*-{version}-*-{word}.txt" if version else f"*-{word}.txt")
    return path.read_text("utf-8")


def papers_of(folder: Path) -> list[dict[str, object]]:
    (path,) = folder.glob("*.jsonl")
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    for line in lines:
        record_schema().validate(line)
    return [line for line in lines if "version" in line]


# ------------------------------------------------------------------ the sheets


def test_it_stands_in_its_place_with_its_marks_and_its_lines(bank: Bank, plans: Plans) -> None:
    composer = PaperMaker(bank, ORDER, plans).paper(Wanted(), "A").composer
    blocks = [block for block in composer.question_paper().blocks if hasattr(block, "number")]
    assert [block.number for block in blocks] == [1, 2, 3, 4]  # type: ignore[union-attr]
    assert blocks[1].marks == 3  # type: ignore[union-attr]
    drawn = sum(question.marks for question in composer.questions)
    assert composer.marks == drawn + WORDS.marks + SHORT.marks


@pytest.mark.parametrize("word", ["questions", "mark-scheme", "worked-solutions", "answers"])
def test_every_sheet_holds_it(word: str, folder: Path) -> None:
    text = " ".join(page(folder, word, "A").split())
    first = UGLY if word == "questions" else "Because."
    second = SHORT.text if word == "questions" else SHORT.answer
    assert 0 < text.index(first) < text.index(second)


def test_ruled_lines_are_as_many_as_were_asked_for(folder: Path) -> None:
    after = page(folder, "questions", "A").partition("“so”?")[2].partition("\n3 ")[0]
    assert after.count("_" * 40) >= WORDS.lines
    assert len([line for line in after.splitlines() if "____" in line]) == WORDS.lines


def test_the_total_of_the_paper_counts_it(folder: Path) -> None:
    told = page(folder, "mark-scheme", "A")
    each = [int(marks) for marks in re.findall(r"^Question .*\((\d+) marks?\)$", told, re.MULTILINE)]
    (whole,) = [int(marks) for marks in re.findall(r"This paper:\s+(\d+)\s+marks\s+in\s+all", told)]
    assert sum(each) == whole
    assert whole == papers_of(folder)[0]["marks"]


def test_front_and_table_of_marks_count_it(bank: Bank, plans: Plans) -> None:
    wanted = Wanted(front=Front(page="cover"))
    composer = PaperMaker(bank, ORDER, plans).paper(wanted, "A").composer
    text = renderer("text").render(composer.question_paper()).decode()
    front, _, after = text.partition("Earned")
    first, third = (question.marks for question in composer.questions)
    assert f"{composer.marks} marks" in front
    assert [int(word) for word in front.split() if word.isdigit()][-5:] == [first, 3, third, 1, composer.marks]
    assert after


@for_each("form", FORMS)
def test_its_text_is_escaped_in_every_form(form: str, bank: Bank, plans: Plans) -> None:
    composer = PaperMaker(bank, ORDER, plans).paper(Wanted(), "A").composer
    for sheet in (
        composer.question_paper(),
        composer.mark_scheme(),
        composer.worked_solutions(),
        composer.answers(),
    ):
        made = renderer(form).render(sheet)
        if form == "latex":
            assert b"\\input{x}" not in made
            assert made.count(b"\\end{document}") == 1
        assert made


@for_each("form", FORMS)
def test_the_longest_one_is_printed(form: str, bank: Bank, plans: Plans) -> None:
    """Sixty ruled lines are taller than a page, and four thousand letters fill one."""
    long = OwnWords(text="word " * 799 + "last.", marks=40, answer="answer " * 500, lines=60)
    order = replace(ORDER, count=1, lines=(OrderLine(words=long),))
    composer = PaperMaker(bank, order, plans).paper(Wanted(), "A").composer
    assert composer.marks == 40
    for sheet in (
        composer.question_paper(),
        composer.mark_scheme(),
        composer.worked_solutions(),
        composer.answers(),
    ):
        assert renderer(form).render(sheet)


# ------------------------------------------------------------------ record, answers, key of the class, summary


def test_marks_of_the_record_are_those_of_the_paper(folder: Path) -> None:
    for paper in papers_of(folder):
        questions = paper["questions"]
        assert isinstance(questions, list)
        assert [one["question"] for one in questions] == [1, 2, 3, 4]
        assert sum(one["marks in all"] for one in questions) == paper["marks"]


def test_its_marks_are_left_to_the_teacher(folder: Path, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    (table,) = folder.glob("*-answers.csv")
    _, _, _, *parts = next(csv.reader(table.read_text("utf-8-sig").splitlines()))
    assert "2" in parts
    assert parts[-2:] == ["4", "marks 4 of 1"]
    (record,) = folder.glob("*.jsonl")
    told = papers_of(folder)[0]
    answers = tmp_path / "answers.csv"
    answers.write_text(f"paper code,pupil,question,part,answer\n{told['code']},Ada,2,,because\n", "utf-8")
    marked, _ = mark_answers(answers, bank, plans, given=record)
    (answer,) = marked.pupils[0].answers
    assert (answer.verdict, answer.marks, answer.out_of) == ("for the teacher", 0, 3)
    assert marked.out_of[2] == 3


def test_the_key_of_the_class_holds_the_answer(folder: Path) -> None:
    assert page(folder, "class-key").count("a pipette") == 2


def test_the_summary_tells_it(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    papers = PaperSet(bank, ORDER, Wanted(), plans)
    lines = list(summary(papers, write_papers(papers, tmp_path)))
    assert lines[2].startswith(" 2 Look at the flask. Why {slot}")
    assert "own words" in lines[2]
    assert lines[2].split()[-2] == "3"
    assert lines[5].startswith(f"{papers.paper(papers.copies[0]).composer.marks} marks")


# ------------------------------------------------------------------ again


def test_order_and_record_print_it_again_to_the_byte(folder: Path, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    (path,) = folder.glob(f"*{ORDER_ENDING}")
    order, wanted = read_order(path, never)
    write_papers(PaperSet(bank, order, wanted, plans), tmp_path / "order")
    assert {one.name: one.read_bytes() for one in (tmp_path / "order").iterdir()} == first
    (path,) = folder.glob("*.jsonl")
    order, said = order_of(read_record(path), never)
    write_papers(
        PaperSet(bank, order, replace(said, forms=wanted.forms, sheets=wanted.sheets), plans), tmp_path / "record"
    )
    assert {one.name: one.read_bytes() for one in (tmp_path / "record").iterdir()} == first


@pytest.mark.parametrize("levels", [("structured", "stretch"), ("scaffolded", "exam")])
def test_it_is_the_same_at_every_level(levels: tuple[str, ...], bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, replace(ORDER, level="mixed", levels=levels), Wanted(), plans)
    held = [papers.paper(copy).composer.teachers for copy in papers.copies]
    assert len(held) == 2
    assert held[0] == held[1]
    assert set(held[0]) == {2, 4}


def test_a_paper_of_nothing_else(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    order, wanted = parse_order("lines: [{question: Why?, marks: 2, answer: Because.}]", "x", lambda: 1)
    papers = PaperSet(bank, order, wanted, plans)
    told = write_papers(papers, tmp_path)
    assert any(line.startswith("2 marks") for line in summary(papers, told))


def test_what_a_form_cannot_print_is_told_with_its_line(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    text = "lines:\n  - kind: back-portions\n  - question: Why?\n    marks: 2\n    answer: ["
    order, wanted = parse_order(f"{text}Because., \U0001f600]\n", "x.order.yaml", lambda: 1)
    with pytest.raises(Mistake) as caught:
        write_papers(PaperSet(bank, order, wanted, plans), tmp_path / "none")
    assert str(caught.value).startswith("x.order.yaml:3: line, answer: ")
    assert not (tmp_path / "none").exists()
