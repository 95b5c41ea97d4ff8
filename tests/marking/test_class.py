"""A marked class as it is handed out: safe tables, the report in every form, and the command."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.machine.spreadsheets import safe
from molewright.marking.files import mark_answers, slips_of, write_marks
from molewright.marking.marked import MarkedClass
from molewright.marking.misunderstood import behind, misunderstood
from molewright.marking.next_aim import excels, feedback, focus
from molewright.marking.report import class_report
from molewright.marking.strips import feedback_strips
from molewright.marking.table import marked_table, marks_table
from molewright.nodes.blocks import Table
from molewright.nodes.inline import Text
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.render import FORMS, renderer
from shared.for_each import for_each
from shared.records import write_record
from shared.two_back_titrations import write_returned

PUPILS = ("Ilsa Quern", "Bram Tollo", "Edda Voss", "=HYPERLINK(1)")


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of two back titrations and the answers of four pupils: all right, one slip throughout, unreadable, nothing known."""
    folder = tmp_path_factory.mktemp("class")
    write_returned(folder, bank, plans, PUPILS)
    return folder


@pytest.fixture(scope="module")
def marked(bank: Bank, plans: Plans, folder: Path) -> MarkedClass:
    return mark_answers(folder / "answers.csv", bank, plans)[0]


def cells(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


# ------------------------------------------------------------------ tables


@for_each("text", ["=1+1", "+cmd", "-x", "@SUM(A1)", "\tx", "\rx", "＝1", "-1+2", "=", "-"])
def test_a_cell_that_a_spreadsheet_would_work_out_is_made_text(text: str) -> None:
    assert safe(text) == f"'{text}"


@for_each("text", ["-1.5", "+3", "94.9", "-2.6e-3", "Ilsa", "", "0"])
def test_a_number_stays_a_number(text: str) -> None:
    assert safe(text) == text


def test_no_cell_of_the_written_tables_begins_like_a_formula(marked: MarkedClass) -> None:
    for content in (marked_table([marked]), marks_table([marked])):
        assert content.startswith(b"\xef\xbb\xbf")
        for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")):
            assert not any(cell.startswith(("=", "+", "@", "\t", "\r")) for cell in row)


def test_the_marked_table_says_what_each_answer_earned_and_why(marked: MarkedClass) -> None:
    rows = cells(marked_table([marked]))
    assert len(rows) == 8
    assert {row["judged"] for row in rows if row["pupil"] == "Ilsa Quern"} == {"right"}
    slips = [row for row in rows if row["pupil"] == "Bram Tollo"]
    assert all("left-over amount treated as reacted" in row["slip"] for row in slips)
    assert all(row["marks"] < row["out of"] for row in slips)
    assert {row["note"] for row in rows if row["pupil"] == "Edda Voss"} == {"not a number"}
    assert [(row["total"], row["pending"]) for row in cells(marks_table([marked]))][2:] == [("0", "14"), ("0", "12")]


def test_marks_add_up_in_table_and_report(marked: MarkedClass) -> None:
    rows = cells(marked_table([marked]))
    for pupil in marked.pupils:
        own = [row for row in rows if row["pupil"].lstrip("'") == pupil.name]
        assert sum(int(row["marks"]) for row in own) == pupil.total
        assert sum(int(row["out of"]) for row in own) == sum(marked.out_of.values())


# ------------------------------------------------------------------ report


def test_the_report_tells_what_is_misunderstood_and_who_does(marked: MarkedClass, bank: Bank) -> None:
    said = next(one for one in bank.slips if one.key == "S33")
    found = next(one for one in misunderstood([marked]) if one.words == said.misunderstood)
    assert found.sure == ("Bram Tollo",)
    assert (found.shown, found.again) == (said.name, said.feedback)
    table = next(one for one in class_report([marked]).blocks if isinstance(one, Table) and len(one.heading) == 4)
    assert table.rows[0][0].lines[0] == (Text(f"1. {said.misunderstood}", bold=True),)
    marks = next(one for one in class_report([marked]).blocks if isinstance(one, Table) and "each pupil" in one.summary)
    assert len(marks.rows) == len(PUPILS) + 1


def test_a_record_of_before_tells_what_is_misunderstood_by_the_banks(marked: MarkedClass, bank: Bank) -> None:
    plain = {key: replace(facts, misunderstood="") for key, facts in marked.record.slips.items()}
    assert slips_of(replace(marked.record, slips=plain), bank)["S33"].misunderstood
    assert behind(replace(marked, slips=plain), "S33") == plain["S33"].name  # without the banks it stands for itself


@pytest.mark.parametrize(("questions", "tables"), [(9, [9]), (10, [10]), (11, [10, 1]), (25, [10, 10, 5])])
def test_marks_of_many_questions_stand_in_tables_of_ten_and_the_total_in_the_last(
    marked: MarkedClass, questions: int, tables: list[int]
) -> None:
    wide = class_report([replace(marked, out_of=dict.fromkeys(range(1, questions + 1), 4))])
    found = [one for one in wide.blocks if isinstance(one, Table) and one.summary.startswith("Marks of each pupil")]
    assert [len(one.heading) - 2 for one in found] == [*tables[:-1], tables[-1] + 1]


@for_each("form", FORMS)
def test_report_and_strips_are_rendered_in_every_form_and_the_same_each_time(marked: MarkedClass, form: str) -> None:
    made = renderer(form)
    assert made.render(class_report([marked])) == made.render(class_report([marked]))
    assert made.render(feedback_strips([marked])) == made.render(feedback_strips([marked]))


def test_the_report_lists_what_could_not_be_read_and_what_nothing_explains(marked: MarkedClass) -> None:
    text = " ".join(renderer("text").render(class_report([marked])).decode().split())
    assert "not read: say what is meant | 1: Edda Voss '=1+1, =HYPERLINK(1)" in text or "Edda Voss =1+1" in text
    assert "to settle" in text


def test_further_parts_are_marked_by_their_numbers_and_words_are_left_to_the_teacher(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    keys = ("burette-further-run", "back-portions-critique", "direct-solutions-fault", "ph-curve")
    maker = PaperMaker(bank, Order(seed=9, count=len(keys), level="structured", archetypes=keys), plans)
    held = record(maker.paper(Wanted(), "A"))
    write_record(maker, tmp_path, [held], "further")
    rows = [["code", "pupil", "question", "part", "answer"]]
    for question in held["questions"]:
        for part in question["further parts"]:
            rows.append([held["code"], "Ilsa", question["question"], part["part"], part["answers"][-1]["answer"]])
            rows.append([held["code"], "Bram", question["question"], part["part"], "123456"])
    with (tmp_path / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    right, wrong = mark_answers(tmp_path / "answers.csv", bank, plans)[0].pupils
    assert {one.verdict for one in right.answers} == {"right", "for the teacher"}
    assert sum(one.out_of for one in right.answers) == right.total + right.waiting
    assert right.total > 0 < right.waiting
    assert {one.verdict for one in wrong.answers} == {"wrong", "for the teacher"}
    assert wrong.total == 0
    by_key = {one["archetype"]: str(one["question"]) for one in held["questions"]}
    (critique,) = [one for one in right.answers if str(one.row.question) == by_key["back-portions-critique"]]
    assert (critique.marks, critique.pending, critique.out_of) == (1, 2, 3)  # which line and which slip are words
    assert "teacher" in critique.note


def test_each_pupil_gets_one_line_that_fits_the_answers(marked: MarkedClass, bank: Bank) -> None:
    right, slip, unread, lost = (feedback(pupil, marked) for pupil in marked.pupils)
    assert "more demanding" in right
    said = next(one for one in bank.slips if one.key == "S33")
    assert said.name in slip
    assert said.feedback in slip
    assert "question 1" in unread
    assert unread.startswith("0 of 14, 14 pending. ")
    assert "worked solution" in lost
    assert focus(marked.pupils[1], marked).slip == "S33"
    assert [excels(pupil, marked) for pupil in marked.pupils] == [True, False, False, False]


def test_a_report_holds_answers_that_no_type_can_print(
    bank: Bank, plans: Plans, folder: Path, answers_file: Callable[..., Path]
) -> None:
    (path,) = folder.glob("*-record.jsonl")
    odd = answers_file("pupil,question,answer\nIlsa,1,\N{SNOWMAN}\N{RIGHT-TO-LEFT OVERRIDE}\ue000\n")
    found, _ = mark_answers(odd, bank, plans, path)
    assert renderer("pdf").render(class_report([found])).startswith(b"%PDF")


# ------------------------------------------------------------------ the commands


def test_mark_writes_tables_and_report_whole_or_not_at_all(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers, to = str(folder / "answers.csv"), tmp_path / "marks"
    assert main(["mark", answers, "--to", str(to), "--form", "text"]) == 0
    kinds = sorted(path.name.partition("-")[0] for path in to.iterdir())
    assert kinds == ["class", "class", "feedback", "marked", "marks"]
    assert main(["mark", answers, "--to", str(to), "--form", "text"]) == 0  # the same again
    (report,) = to.glob("class-report-*.txt")
    report.write_text("edited", "utf-8")
    assert main(["mark", answers, "--to", str(to), "--form", "text"]) == 1
    assert report.read_text("utf-8") == "edited"
    assert "--replace" in capsys.readouterr().err


def test_a_mistake_in_the_answers_is_one_sentence_and_leaves_nothing(
    answers_file: Callable[..., Path], folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (path,) = folder.glob("*-record.jsonl")
    answers = answers_file("pupil,question,answer\nIlsa,77,1\n")
    to = tmp_path / "new"
    assert main(["mark", str(answers), "--record", str(path), "--to", str(to)]) == 1
    error = capsys.readouterr().err
    assert f"{answers}:2: the paper has no question 77" in error
    assert "Traceback" not in error
    assert not to.exists()


def test_writing_marks_needs_no_second_reading(marked: MarkedClass, tmp_path: Path) -> None:
    assert len(write_marks([marked], tmp_path, ("text", "latex"))) == 3 + 2 * 2
