"""A marked class as it is handed out: safe tables, the report in every form, follow-up papers, and the two commands."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.answer.judge import Judge
from molewright.answer.printed import PrintedPaper
from molewright.bank.definitions import Bank
from molewright.chem.quantity import to_figures
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.machine.spreadsheets import safe
from molewright.marking.files import mark_answers, slips_of, write_marks, write_practice
from molewright.marking.marked import MarkedClass
from molewright.marking.misunderstood import behind, misunderstood
from molewright.marking.next_aim import Focus, excels, feedback, focus
from molewright.marking.practice import Practices, listed, practice_code
from molewright.marking.practice_questions import Chooser
from molewright.marking.report import class_report
from molewright.marking.strips import feedback_strips
from molewright.marking.table import marked_table, marks_table
from molewright.marking.typed_answers import read_answer
from molewright.nodes.blocks import Table
from molewright.nodes.inline import Text
from molewright.order.order import Order, Wanted
from molewright.papers.code import read_code
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.question.check import Questions
from molewright.question.shown_slips import shows
from molewright.render import FORMS, renderer
from shared.records import record_of, write_record

PUPILS = ("Ilsa Quern", "Bram Tollo", "Edda Voss", "=HYPERLINK(1)")


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of two back titrations and the answers of four pupils: all right, one slip throughout, unreadable, nothing known."""
    folder = tmp_path_factory.mktemp("class")
    maker = PaperMaker(
        bank, Order(seed=5, count=2, level="exam", archetypes=("back-portions", "back-portions-large-flask")), plans
    )
    held = record(maker.paper(Wanted(title="Chalk"), "A"))
    write_record(maker, folder, [held], f"chalk-{maker.code}")
    rows: list[Sequence[object]] = [("paper code", "pupil", "question", "part", "answer")]
    for question in held["questions"]:
        wrong = next(one for one in question["slips"] if one["slips"] == ["S33"])
        answers = (question["answer"], wrong["gives"], "=1+1", "0.0000123")
        rows += [
            (held["code"], pupil, question["question"], "", text) for pupil, text in zip(PUPILS, answers, strict=True)
        ]
    with (folder / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    return folder


@pytest.fixture(scope="module")
def marked(bank: Bank, plans: Plans, folder: Path) -> MarkedClass:
    return mark_answers(folder / "answers.csv", bank, plans)[0]


def cells(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


# ------------------------------------------------------------------ tables


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-x", "@SUM(A1)", "\tx", "\rx", "＝1", "-1+2", "=", "-"])
def test_a_cell_that_a_spreadsheet_would_work_out_is_made_text(text: str) -> None:
    assert safe(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-1.5", "+3", "94.9", "-2.6e-3", "Ilsa", "", "0"])
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


@pytest.mark.parametrize("form", FORMS)
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


# ------------------------------------------------------------------ practice


@pytest.fixture(scope="module")
def practices(marked: MarkedClass, bank: Bank, plans: Plans) -> Practices:
    return Practices(marked, bank, plans, "one place", "dm3")


def test_practice_aims_at_the_slip_from_support_to_choice(practices: Practices) -> None:
    made = list(practices.each())
    aimed = made[1]
    assert aimed.aim == "left-over amount treated as reacted"
    assert [one.level for one in aimed.chosen] == ["scaffolded", "structured", "exam"]
    first, second, unlike = (one.question for one in aimed.chosen)
    assert shows(first, "S33")
    assert shows(second, "S33")
    assert first.draw.context.key != second.draw.context.key
    assert unlike.draw.archetype.topic != "back titration with an aliquot"


def test_who_made_no_slip_gets_more_demanding_questions(practices: Practices, bank: Bank) -> None:
    best = next(iter(practices.each()))
    assert "more demanding" in best.aim
    met = max(bank.archetypes[key].demand for key in ("back-portions", "back-portions-large-flask"))
    assert all(one.question.draw.archetype.demand >= met and one.level == "exam" for one in best.chosen)


@pytest.fixture
def lost(marked: MarkedClass) -> tuple[PrintedPaper, Focus, str]:
    """The paper of the pupil whose answers nothing explains, what it is aimed at, and the kind of question that cost most marks."""
    pupil = marked.pupils[3]
    paper, aim = marked.record.paper(pupil.version), focus(pupil, marked)
    assert aim.shown is not None
    return paper, aim, next(one.archetype for one in paper.questions if one.number == aim.shown.row.question)


def test_where_nothing_explains_the_answers_the_kind_of_question_that_cost_most_comes_again(
    practices: Practices, lost: tuple[PrintedPaper, Focus, str], bank: Bank
) -> None:
    made = list(practices.each())[3]
    assert made.aim.startswith("the question that cost most marks")
    assert [one.level for one in made.chosen] == ["scaffolded", "structured", "exam"]
    first, second, unlike = (one.question.draw.archetype for one in made.chosen)
    assert first.key == lost[2]
    assert second.key != first.key
    assert second.topic == first.topic != unlike.topic


@pytest.mark.parametrize("key", ["back-portions", "back-portions-large-flask", "two-carbonates", "limewater"])
def test_practice_begins_with_the_kind_of_question_itself_whichever_its_topic_holds(
    key: str, lost: tuple[PrintedPaper, Focus, str], bank: Bank, plans: Plans
) -> None:
    paper, aim, _ = lost
    assert aim.shown is not None
    asked = [
        replace(one, archetype="".join([*key]), topic=bank.archetypes[key].topic)  # a key is its letters
        for one in paper.questions
    ]
    first, *_ = Chooser(bank, Questions(bank, plans)).on_worst(replace(paper, questions=asked), aim, Stream("first"))
    assert first.question.draw.archetype.key == key


@pytest.mark.parametrize("topic", ["back titration with an aliquot", "a topic of its own"])
def test_the_second_question_has_the_topic_of_the_first_whatever_else_is_as_demanding(
    lost: tuple[PrintedPaper, Focus, str], bank: Bank, plans: Plans, topic: str
) -> None:
    paper, aim, worst = lost
    other = next(key for key, one in bank.archetypes.items() if one.topic != bank.archetypes[worst].topic)
    few = {key: bank.archetypes[key] for key in (worst, other, "back-portions-dibasic")}
    few["back-portions-dibasic"] = replace(few["back-portions-dibasic"], topic="".join([*topic]))  # read elsewhere
    first, second, *_ = Chooser(replace(bank, archetypes=few), Questions(bank, plans)).on_worst(
        paper, aim, Stream("second")
    )
    assert first.question.draw.archetype.key == worst
    same = topic == bank.archetypes[worst].topic
    assert second.question.draw.archetype.key == ("back-portions-dibasic" if same else worst)


def test_the_slip_of_a_practice_question_is_recognised_when_it_is_made_again(
    practices: Practices, marked: MarkedClass, bank: Bank
) -> None:
    aimed = list(practices.each())[1]
    held = record(aimed.paper)
    found = record_of(bank, held, practices.code).paper(held["version"])
    for printed in found.questions[:2]:
        gives = next(one.gives for one in printed.slips if one.keys == ("S33",))
        judged = Judge(printed, marked.slips).judge({len(printed.points): read_answer(str(to_figures(gives, 3)))})
        assert judged[len(printed.points)].explained.keys[0] == ("S33",)


def test_the_list_tells_pupil_aim_and_reason(practices: Practices) -> None:
    text = listed(list(practices.each()))
    assert "2  Bram Tollo" in text
    assert "aimed at: left-over amount treated as reacted" in text
    assert text.count("Why: ") == sum(len(one.chosen) for one in practices.each())


def test_the_same_answers_give_the_same_practice(marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    one = write_practice(marked, bank, plans, tmp_path / "one", ("text",))
    other = write_practice(marked, bank, plans, tmp_path / "other", ("text",))
    assert one == other
    for name in one:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes()


def test_practice_keeps_the_units_of_the_paper_that_it_follows(
    marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    for style, unit, other in (("litre", "mol/L", "dm⁻³"), ("dm3", "dm⁻³", "mol/L")):
        paper = replace(marked, record=replace(marked.record, style=style))
        write_practice(paper, bank, plans, tmp_path / style, ("text",))
        text = "".join(sheet.read_text("utf-8") for sheet in (tmp_path / style).glob("practice-*-questions.txt"))
        assert unit in text
        assert other not in text


def test_the_reason_tells_another_kind_of_question_from_another_scene(practices: Practices) -> None:
    said = set()
    for practice in practices.each():
        first, second = practice.chosen[:2]
        if second.why.startswith("the same slip"):
            same = first.question.draw.archetype.key == second.question.draw.archetype.key
            assert ("another scene" if same else "another kind of question") in second.why
            said.add(same)
    assert said


def test_names_stay_out_of_file_names_and_records(
    marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    written = write_practice(marked, bank, plans, tmp_path, ("text",))
    assert not any(part in name.lower() for name in written for part in ("ilsa", "bram", "edda", "voss"))
    (path,) = tmp_path.glob("*-record.jsonl")
    assert "Quern" not in path.read_text("utf-8")
    (sheet,) = tmp_path.glob("practice-02-*-questions.txt")
    assert "Bram Tollo" in sheet.read_text("utf-8")


def test_practice_is_marked_by_its_own_record(marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    write_practice(marked, bank, plans, tmp_path, ("text",))
    (path,) = tmp_path.glob("*-record.jsonl")
    documents = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    held = [one for one in documents[1:] if "questions" in one][1]
    answers = tmp_path / "again.csv"
    rows = [f'{held["code"]},Bram Tollo,{one["question"]},"{one["answer"]}"' for one in held["questions"]]
    answers.write_text("\n".join(["code,pupil,question,answer", *rows]), "utf-8")
    again, _ = mark_answers(answers, bank, plans)
    assert again.pupils[0].total == sum(one["marks"] for one in held["questions"])
    assert practice_code(again.code, bank).endswith("-P2")


def test_no_practice_code_is_taken_for_another_paper(bank: Bank) -> None:
    known = tuple(sorted(bank.archetypes))
    for seed in range(40):
        code = practice_code(f"00{seed:02}-AB", bank)
        with pytest.raises(Mistake):
            read_code(code, known, bank.fingerprint)


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


def test_practise_writes_papers_schemes_list_and_record(folder: Path, tmp_path: Path) -> None:
    assert main(["practise", str(folder / "answers.csv"), "--to", str(tmp_path), "--form", "text"]) == 0
    assert len(list(tmp_path.glob("*-questions.txt"))) == len(PUPILS)
    assert len(list(tmp_path.glob("*-mark-scheme.txt"))) == len(PUPILS)
    assert len(list(tmp_path.glob("*-list.txt"))) == len(list(tmp_path.glob("*-record.jsonl"))) == 1


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
