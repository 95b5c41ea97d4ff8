"""The record of a paper: every line fits its schema, slips are told once, files are numbered, records of 0.2.0 are still marked."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from molewright.answer.accepted import ANSWER_TYPES
from molewright.bank.definitions import Bank
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where
from molewright.machine.files import Staging
from molewright.marking.files import mark_answers
from molewright.marking.practice import Asked, practices_for
from molewright.marking.practice_files import write_practice
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.making import PaperMaker
from molewright.papers.record import form, reader, writer
from molewright.papers.record.reader import as_read, read_record
from molewright.papers.record.writer import RecordFiles, heading, record, recorded
from shared.for_each import for_each
from shared.papers import write_papers
from shared.records import record_schema

OF_0_2_0 = Path(__file__).resolve().parent / "records" / "of-0.2.0-record.json"
PUPILS = tuple(f"Pupil {number}" for number in range(1, 6))
CODES = pupil_codes([Pupil(name=name) for name in PUPILS])
Documents = list[dict[str, Any]]


@pytest.fixture(scope="module")
def maker(small_bank: Bank) -> PaperMaker:
    return PaperMaker(small_bank, Order(seed=21, count=3), Plans("record", None))


def documents(path: Path) -> Documents:
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def written(maker: PaperMaker, folder: Path, pupils: tuple[str, ...] = ()) -> list[Path]:
    named = tuple(Pupil(name=name) for name in pupils)
    names = write_papers(maker, Wanted(pupils=named, forms=("text",), sheets=("answers",)), folder)
    return [folder / name for name in names if name.endswith(".jsonl")]


# ------------------------------------------------------------------ the schema


def test_the_schema_is_one() -> None:
    record_schema().check_schema(record_schema().schema)


def test_every_line_of_a_record_fits_the_schema(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path, PUPILS)
    first, *others = documents(path)
    assert first["schema"] == form.SCHEMA
    assert len([one for one in others if "questions" in one]) == len(PUPILS)
    for document in (first, *others):
        record_schema().validate(document)


def test_the_record_of_a_practice_fits_the_schema(maker: PaperMaker, small_bank: Bank, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path)
    (tmp_path / "answers.csv").write_text("pupil,question,answer\nIlsa,1,2\n", "utf-8")
    marked, _ = mark_answers(tmp_path / "answers.csv", small_bank, maker.questions.plans, path)
    asked = Asked(wanted=Wanted(forms=("text",), sheets=("questions", "scheme"), files="joined"))
    names = write_practice(practices_for([marked], small_bank, maker.questions.plans, asked), tmp_path / "practice")
    first, *others = documents(tmp_path / "practice" / next(name for name in names if name.endswith(".jsonl")))
    assert first["follows"] == maker.code
    for document in (first, *others):
        record_schema().validate(document)


BROKEN: dict[str, Callable[[dict[str, Any]], None]] = {
    "a type of answer that is none": lambda paper: paper["questions"][0].update(type="text"),
    "an answer without its type": lambda paper: paper["questions"][0]["points"][0]["answers"][0].pop("type"),
    "a key that nobody knows": lambda paper: paper.update(pupil="Ilsa Quern"),
    "no chain": lambda paper: paper["questions"][0].update(chain=[]),
    "a number that is no fraction": lambda paper: paper["questions"][0].update(exact="1e9"),
    "a version that is a path": lambda paper: paper.update(version="../A"),
}


@for_each("what", BROKEN)
def test_what_is_no_record_does_not_fit_the_schema(what: str, maker: PaperMaker) -> None:
    paper = json.loads(json.dumps(writer.record(maker.paper(Wanted(), "A"))))
    record_schema().validate(paper)
    BROKEN[what](paper)
    assert not record_schema().is_valid(paper)


def test_the_types_of_an_answer_are_those_of_the_schema() -> None:
    assert tuple(record_schema().schema["$defs"]["type_of_an_answer"]["enum"]) == ANSWER_TYPES


# ------------------------------------------------------------------ paper by paper


def test_a_slip_is_told_once_and_before_the_paper_that_names_it(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path, PUPILS)
    told: list[str] = []
    named: set[str] = set()
    for document in documents(path)[1:]:
        told += document.get("slips", {})
        named |= {key for one in document.get("questions", ()) for slip in one["slips"] for key in slip["slips"]}
        assert named <= set(told)
    assert len(told) == len(set(told))
    assert set(told) == named


def test_a_paper_is_in_the_file_before_the_next_is_made(maker: PaperMaker, tmp_path: Path) -> None:
    with Staging(tmp_path / "out") as staging:
        files = RecordFiles(staging, "x", maker.bank, heading(maker), 3)
        for number, paper in enumerate(maker.papers(Wanted(versions=("A", "B", "C"))), 1):
            files.add(recorded(record(paper)))
            (aside,) = (tmp_path / "out").rglob("*.jsonl")
            assert len([one for one in documents(aside)[1:] if "questions" in one]) == number
        files.finish()


def test_a_record_that_is_read_keeps_no_document_and_few_papers(
    maker: PaperMaker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (path,) = written(maker, tmp_path, PUPILS)
    monkeypatch.setattr(reader, "MOST_KEPT", 2)
    found = read_record(path)
    papers = [found.paper(version) for version in found.versions]
    assert [paper.version for paper in papers] == list(CODES)
    assert list(found._read) == list(CODES[3:])
    assert found.paper(CODES[3]) is papers[3]
    assert found.paper(CODES[0]) == papers[0]


def test_more_papers_than_a_file_holds_go_into_numbered_files(
    maker: PaperMaker, small_bank: Bank, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "MOST_PAPERS", 2)
    paths = written(maker, tmp_path, PUPILS)
    assert [path.name.partition("-record")[2] for path in paths] == ["-1.jsonl", "-2.jsonl", "-3.jsonl"]
    for path in paths:
        assert documents(path)[0] == documents(paths[0])[0]
        found = read_record(path)
        assert sorted(found.versions) == sorted(CODES)
    (tmp_path / "answers.csv").write_text(f"code,pupil,question,answer\n{CODES[4]}-{maker.code},Ilsa,1,2\n", "utf-8")
    marked, _ = mark_answers(tmp_path / "answers.csv", small_bank, maker.questions.plans, tmp_path)
    assert marked.pupils[0].version == CODES[4]


def test_numbered_files_of_two_papers_are_refused(
    maker: PaperMaker, small_bank: Bank, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "MOST_PAPERS", 3)
    first, second = written(maker, tmp_path, PUPILS)
    other = PaperMaker(small_bank, Order(seed=22, count=3), maker.questions.plans)
    second.write_bytes(written(other, tmp_path / "other", PUPILS)[1].read_bytes())
    with pytest.raises(Mistake, match="numbered files of one record"):
        read_record(first)
    second.write_bytes(first.read_bytes())
    with pytest.raises(Mistake, match="stands in two files"):
        read_record(first)


# ------------------------------------------------------------------ what is refused


def test_a_record_of_a_later_schema_is_refused(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path)
    path.write_text(path.read_text("utf-8").replace('"schema":2', '"schema":3', 1), "utf-8")
    with pytest.raises(Mistake, match="schema number '3'; expected 2"):
        read_record(path)


def test_a_version_that_stands_twice_is_refused(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path)
    path.write_text(path.read_text("utf-8") + path.read_text("utf-8").splitlines()[-1] + "\n", "utf-8")
    with pytest.raises(Mistake, match="the version 'A' stands twice"):
        read_record(path)


def test_a_line_without_end_is_refused(maker: PaperMaker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (path,) = written(maker, tmp_path)
    monkeypatch.setattr(reader, "MOST_LINE", 5000)
    with pytest.raises(Mistake, match="the record is too large"):
        read_record(path)


def test_a_record_that_changes_while_it_is_used_is_damaged(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path)
    found = read_record(path)
    path.write_text("x" * 20 + path.read_text("utf-8"), "utf-8")
    with pytest.raises(Mistake, match="this is not JSON"):
        found.paper("A")


def test_empty_lines_and_line_ends_of_another_system_do_not_matter(maker: PaperMaker, tmp_path: Path) -> None:
    (path,) = written(maker, tmp_path)
    whole = read_record(path).paper("A")
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n") + b"\r\n\n")
    assert read_record(path).paper("A") == whole


def test_more_papers_than_a_file_may_hold_are_refused(monkeypatch: pytest.MonkeyPatch, maker: PaperMaker) -> None:
    monkeypatch.setattr(reader, "MOST_PAPERS", 1)
    lines = [json.dumps(heading(maker))] + [json.dumps({"version": one, "questions": []}) for one in "AB"]
    with pytest.raises(Mistake, match="more than 1 papers in a file"):
        as_read(((0, line.encode()) for line in lines), Where("x"))


# ------------------------------------------------------------------ records of 0.2.0


def test_a_record_of_0_2_0_is_marked(bank: Bank, tmp_path: Path) -> None:
    """Written by version 0.2.0: a purity (86.2 %, five marks) and a halide to be named (166 g mol⁻¹, potassium iodide)."""
    rows = ["code,pupil,question,part,answer"]
    rows += [f"A-0000-727A-5RN0-A,Ilsa,{place},{answer}" for place, answer in
             (("1,", "86.2"), ("2,", "166"), ("2,c", "potassium iodide"))]  # fmt: skip
    rows += ["A-0000-727A-5RN0-A,Bram,1,,50.0"]
    (tmp_path / "answers.csv").write_text("\n".join(rows), "utf-8")
    marked, notes = mark_answers(tmp_path / "answers.csv", bank, Plans("old", None), OF_0_2_0)
    ilsa, bram = marked.pupils
    assert ilsa.marks == {1: 5, 2: 6}  # the reason for the name is the teacher's
    assert bram.total == 0
    assert any("other banks (886e6346)" in note for note in notes) or bank.fingerprint == "886e6346"


def test_a_record_of_0_2_0_is_found_by_its_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / OF_0_2_0.name).write_bytes(OF_0_2_0.read_bytes())
    answers = tmp_path / "answers.csv"
    answers.write_text("code,pupil,question,answer\nA-0000-727A-5RN0-A,Ilsa,1,86.2\n", "utf-8")
    assert main(["mark", str(answers), "--form", "text", "--to", str(tmp_path / "marks")]) == 0
    assert "Ilsa,5" in next((tmp_path / "marks").glob("marks-*.csv")).read_text("utf-8")
