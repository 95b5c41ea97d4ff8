"""The mark book: what several marked papers tell of each pupil over time, from their tables alone."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook

from molewright.cli import main
from molewright.errors import Mistake
from molewright.machine.workbooks import workbook
from molewright.marking.marked_answers import PREFIX
from molewright.marking.progress import read_book
from molewright.marking.progress_report import book_sheet, book_sheets, trail_told
from molewright.marking.table import HEADING
from molewright.render import FORMS, renderer

RATIO, PORTION = "the reacting ratio of the equation", "part and whole: portion, flask, sample"
Put = Callable[..., Path]


def row(pupil: str, marks: int, **more: str) -> dict[str, str]:
    """One marked answer, worth two marks, to a question that could show both."""
    told = {
        "paper code": "A-1", "pupil": pupil, "question": "1", "part": "", "answer": "x", "marks": str(marks), "pending": "0",
        "out of": "2", "judged": "right" if marks == 2 else "slip", "right answer": "1", "slip": "", "note": "",
        "misunderstood": "", "how sure": "", "could show": f"{RATIO}; {PORTION}", "all marks": "2", "all pending": "0",
        "level": "exam", "title": "Chalk",
    }  # fmt: skip
    return {**told, **{key.replace("_", " "): text for key, text in more.items()}}


@pytest.fixture
def put(tmp_path: Path) -> Put:
    """Puts a table of marked answers into a folder of the book."""

    def write(below: str, *rows: dict[str, str], code: str = "1") -> Path:
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, HEADING)
        writer.writeheader()
        writer.writerows(rows)
        path = tmp_path / "book" / below / f"{PREFIX}{code}.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(out.getvalue().encode("utf-8-sig"))
        return path

    return write


def seen(pupil: str, thing: str = RATIO, sure: str = "sure", **more: str) -> dict[str, str]:
    return row(pupil, 1, misunderstood=thing, how_sure=sure, **more)


def test_a_misconception_is_followed_through_the_weeks_until_it_is_gone(put: Put, tmp_path: Path) -> None:
    put("week 10", row("Ilsa", 2), seen("Bram"), row("Edda", 2))
    put("week 1", seen("Ilsa"), seen("Bram", PORTION), seen("Edda"))
    put("week 2", seen("ilsa ", sure="perhaps"), row("Bram", 1), row("Edda", 2, could_show=PORTION))
    book = read_book(tmp_path / "book")
    assert [paper.label for paper in book.papers] == ["week 1: Chalk", "week 2: Chalk", "week 10: Chalk"]
    assert list(book.pupils.values()) == ["Bram", "Edda", "Ilsa"]
    told = {name: [trail_told(trail) for trail in book.trails(key)] for key, name in book.pupils.items()}
    assert told["Ilsa"] == [f"{RATIO}: seen in 1 and 2 (perhaps), gone in 3"]
    assert told["Edda"] == [f"{RATIO}: seen in 1, gone in 3"]  # in week 2 it could not show
    assert told["Bram"] == [
        f"{PORTION}: seen in 1",
        f"{RATIO}: seen in 3",
    ]  # a mark was lost since: nobody knows whether it is gone


@pytest.mark.parametrize(
    "later",
    [
        row("Ilsa", 1),
        row("Ilsa", 0, pending="2", judged="not read"),
        row("Ilsa", 1, pending="1", judged="not read"),
        row("Bram", 2),
    ],
)
def test_nothing_is_called_gone_that_was_not_done_right(put: Put, tmp_path: Path, later: dict[str, str]) -> None:
    put("1", seen("Ilsa"))
    put("2", later)
    (trail,) = read_book(tmp_path / "book").trails("ilsa")
    assert trail.gone == 0


def test_papers_in_one_folder_stand_in_the_order_in_which_they_were_marked(put: Put, tmp_path: Path) -> None:
    late, early = put("", row("Ilsa", 2, title="Late"), code="A"), put("", row("Ilsa", 1, title="Early"), code="B")
    os.utime(late, (2_000_000_000, 2_000_000_000))
    os.utime(early, (1_000_000_000, 1_000_000_000))
    assert [paper.label for paper in read_book(tmp_path / "book").papers] == ["Early", "Late"]


def test_a_copy_counts_once_and_is_told(put: Put, tmp_path: Path) -> None:
    put("a", row("Ilsa", 2))
    put("b", row("Ilsa", 2))
    book = read_book(tmp_path / "book")
    assert len(book.papers) == 1
    assert "left out" in book.notes[0]


def test_a_folder_without_tables_and_a_table_of_another_kind_are_told(put: Put, tmp_path: Path) -> None:
    (tmp_path / "book").mkdir()
    with pytest.raises(Mistake, match="molewright mark"):
        read_book(tmp_path / "book")
    path = put("", row("Ilsa", 2))
    path.write_text("pupil,marks\nIlsa,2\n", "utf-8")
    with pytest.raises(Mistake, match="has no column 'paper code'"):
        read_book(tmp_path / "book")
    put("", {**row("Ilsa", 2), "marks": "two"})
    with pytest.raises(Mistake, match=r":2: 'two' in the column 'marks'"):
        read_book(tmp_path / "book")


@pytest.mark.parametrize("form", FORMS)
def test_the_book_is_printed_in_every_form_and_the_same_each_time(put: Put, tmp_path: Path, form: str) -> None:
    put("1", seen("Ilsa"), seen("Bram", sure="perhaps"))
    put("2", row("Ilsa", 2))
    book = read_book(tmp_path / "book")
    made = renderer(form)
    assert made.render(book_sheet(book)) == made.render(book_sheet(book))
    assert workbook(book_sheets(book)) == workbook(book_sheets(book))


def test_the_command_writes_the_book_beside_its_papers_and_reads_it_again(
    put: Put, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    put("week 1", seen("Ilsa"), row("=cmd", 2))
    put("week 2", row("Ilsa", 2), row("=cmd", 1, all_pending="1"))
    folder = tmp_path / "book"
    for _ in range(2):  # its own files are no papers
        assert main(["progress", str(folder), "--to", str(folder), "--form", "text"]) == 0
    out = capsys.readouterr().out
    assert "1 week 1: Chalk, 2 pupils" in out
    text = " ".join((folder / "mark-book.txt").read_text("utf-8").replace("|", " ").split())
    assert f"{RATIO}: seen in 1, gone in 2" in text
    rows = list(csv.reader(io.StringIO((folder / "mark-book-marks.csv").read_text("utf-8-sig"))))
    assert rows == [
        ["pupil", "1 marks", "1 pending", "1 out of", "2 marks", "2 pending", "2 out of"],
        ["'=cmd", "2", "0", "2", "1", "1", "2"],
        ["Ilsa", "1", "0", "2", "2", "0", "2"],
    ]
    book = load_workbook(folder / "mark-book.xlsx")
    assert book["Marks"]["A2"].value == "=cmd"
    assert book["Marks"]["A2"].data_type == "s"
    assert [cell.value for cell in book["Misunderstood"][2]] == [
        "Ilsa",
        RATIO,
        "seen",
        "right",
        f"{RATIO}: seen in 1, gone in 2",
    ]
