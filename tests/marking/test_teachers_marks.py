"""What a teacher adds to a class's answers: marks beside a part, who was absent, which of two pupils of one name is meant."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedClass
from molewright.marking.report import class_report
from molewright.marking.table import marked_table
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.render import renderer
from shared.records import write_record

Mark = Callable[..., MarkedClass]


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def paper(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Question 1 in parts, of which some are in words; question 2 in one line of seven marks."""
    folder = tmp_path_factory.mktemp("paper")
    order = Order(seed=5, count=2, level="exam", archetypes=("back-portions", "burette-further-run"))
    maker = PaperMaker(bank, order, plans)
    return write_record(maker, folder, [record(maker.paper(Wanted(), "A"))], f"homework-{maker.code}")


@pytest.fixture
def mark(bank: Bank, plans: Plans, paper: Path, answers_file: Callable[..., Path]) -> Mark:
    def marked(text: str, *class_list: Pupil) -> MarkedClass:
        return mark_answers(answers_file(text), bank, plans, paper, class_list)[0]

    return marked


# ------------------------------------------------------------------ marks


def test_a_teachers_mark_stands_instead_of_what_the_part_would_earn(mark: Mark) -> None:
    found = mark("pupil,2,marks 2 of 7\nIlsa,0.0123,3\nBram,0.0123,\nEdda,,2\n")
    ilsa, bram, edda = found.pupils
    assert (ilsa.total, ilsa.pending[2], ilsa.answers[0].verdict) == (3, 0, "teacher's mark")
    assert (bram.total, bram.pending[2], bram.answers[0].verdict) == (0, 6, "wrong")
    assert (edda.total, edda.pending[2], edda.answers[0].verdict) == (2, 0, "teacher's mark")
    text = renderer("text").render(class_report([found])).decode()
    assert "Ilsa" not in text.partition("Answers to look at")[2].partition("One line")[0]


def test_with_every_mark_given_the_totals_are_the_papers_and_stay_so_when_marked_again(
    mark: Mark, bank: Bank, plans: Plans, paper: Path, answers_file: Callable[..., Path]
) -> None:
    whole = mark("pupil,1\nIlsa,1\n").record.paper("A").questions
    parts = {
        (one.number, part): sum(point.part == part for point in one.points)
        + sum(more.in_all for more in one.further if more.part == part)
        for one in whole
        for part in one.parts
    }
    heads = [f"marks {number}({part})" if part else f"marks {number}" for number, part in parts]
    found = mark(",".join(["pupil", *heads]) + "\nIlsa," + ",".join(map(str, parts.values())) + "\n")
    (ilsa,) = found.pupils
    assert (ilsa.total, ilsa.waiting) == (sum(found.out_of.values()), 0)
    rows = list(csv.DictReader(io.StringIO(marked_table([found]).decode("utf-8-sig"))))
    assert {row["judged"] for row in rows} == {"teacher's mark"}
    again, _ = mark_answers(answers_file(marked_table([found]), "again.csv"), bank, plans, paper)
    assert (again.pupils[0].total, again.pupils[0].waiting) == (ilsa.total, 0)
    assert marked_table([again]) == marked_table([found])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pupil,2,marks 2\nIlsa,,8\n", ":2: the teacher's mark '8' for Ilsa, 2; expected a whole number from 0 to 7"),
        (
            "pupil,2,marks 2\nIlsa,,1.5\n",
            ":2: the teacher's mark '1.5' for Ilsa, 2; expected a whole number from 0 to 7",
        ),
        ("pupil,1,marks 9\nIlsa,1,1\n", ":2: the paper has no question 9"),
        (
            "pupil,1,marks 1\nIlsa,1,1\n",
            "question 1, which has several parts; expected a mark for one of its parts: a, b",
        ),
    ],
)
def test_a_mark_that_cannot_be_is_refused_with_its_line(mark: Mark, text: str, said: str) -> None:
    with pytest.raises(Mistake, match=said):
        mark(text)


def test_a_mark_for_one_point_leaves_the_others_to_the_answer(mark: Mark) -> None:
    right = mark("pupil,1\nIlsa,1\n").record.paper("A").questions[1].answer
    found = mark(f"pupil,question,part,answer,teacher's marks\nIlsa,2,,{right},\nIlsa,2,point 2,,0\n")
    assert (found.pupils[0].marks[2], found.pupils[0].pending[2]) == (6, 0)


# ------------------------------------------------------------------ who


@pytest.mark.parametrize("word", ["", "-", "–", "abs", "Absent"])
@pytest.mark.parametrize(
    "table", ["pupil,1,2(a)\nIlsa,1,\nBram,{0},{0}\n", "pupil,question,answer\nIlsa,1,1\nBram,1,{0}\n"]
)
def test_somebody_absent_has_no_marks_and_is_in_no_mean(mark: Mark, word: str, table: str) -> None:
    found = mark(table.format(word))
    assert ([pupil.name for pupil in found.pupils], found.absent) == (["Ilsa"], ("Bram",))


def test_a_row_that_only_says_absent_needs_no_question(mark: Mark) -> None:
    assert mark("pupil,question,answer\nIlsa,1,1\nBram,,abs\n").absent == ("Bram",)


def test_a_pupil_who_gave_in_nothing_and_earned_nothing_is_there_by_the_teachers_mark(mark: Mark) -> None:
    assert [pupil.total for pupil in mark("pupil,2,marks 2\nIlsa,1,\nBram,,0\n").pupils] == [0, 0]


def test_apostrophes_and_hyphens_of_any_kind_are_one_name(mark: Mark) -> None:
    found = mark("pupil,1,2(a)\nBo O'Tarn-Ley,1,\n", Pupil(name="Bo O’Tarn‐Ley"))
    assert [pupil.name for pupil in found.pupils] == ["Bo O’Tarn‐Ley"]


HOLMS = (Pupil(name="Ada Holm", beside="11X 4"), Pupil(name="Bram Tollo"), Pupil(name="Ada Holm", beside="11Y 9"))


@pytest.mark.parametrize("beside", ["11Y 9", "11y", "9"])
def test_two_of_one_name_are_told_apart_by_a_further_column(mark: Mark, beside: str) -> None:
    found = mark(f"pupil,set,1\nAda Holm,11X 4,1\nAda Holm,{beside},2\nBram Tollo,11X,3\n", *HOLMS)
    assert [pupil.name for pupil in found.pupils] == ["Ada Holm (11X 4)", "Bram Tollo", "Ada Holm (11Y 9)"]
    assert [pupil.answers[0].row.answer for pupil in found.pupils] == ["1", "3", "2"]
    without = mark(f"pupil,set,1\nAda Holm,11X 4,1\nAda Holm,{beside},2\nBram Tollo,11X,3\n")
    assert len(without.pupils) == 3
    assert "Bram Tollo" in [pupil.name for pupil in without.pupils]


def test_of_two_of_one_name_the_one_who_is_not_meant_is_asked_for(mark: Mark) -> None:
    with pytest.raises(Mistake, match=r":2: the class list has 2 pupils called 'Ada Holm'; expected .*: 11X 4; 11Y 9"):
        mark("pupil,1\nAda Holm,1\n", *HOLMS)
    with pytest.raises(Mistake, match=r"answers question 1 twice.*told apart by"):
        mark("pupil,1\nAda Holm,1\nAda Holm,2\n")
