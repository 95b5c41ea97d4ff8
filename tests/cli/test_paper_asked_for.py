"""`molewright paper` with a total of marks, and with papers that were set before: what is printed, and what is written."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.cli import main, options
from molewright.order.order_file import ORDER_ENDING, read_order

Ran = Callable[..., tuple[int, str, str]]


@pytest.fixture
def paper(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Ran:
    """Make a paper as text into tmp_path/out."""

    def make(*arguments: object) -> tuple[int, str, str]:
        capsys.readouterr()
        code = main(["paper", "--to", str(tmp_path / "out"), "--form", "text", *map(str, arguments)])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return make


def order_in(folder: Path) -> Path:
    (path,) = folder.glob(f"*{ORDER_ENDING}")
    return path


def test_a_paper_of_so_many_marks_is_printed_again_from_its_order(paper: Ran, tmp_path: Path) -> None:
    code, out, err = paper("silver", "--marks", 20, "--seed", 4)
    assert (code, err) == (0, "")
    assert "20 marks, about" in out
    order, _ = read_order(order_in(tmp_path / "out"), lambda: 0)
    assert (order.marks, order.count, order.settled) == (20, len(order.lines), True)
    assert paper(order_in(tmp_path / "out"))[:2] == (0, out)


def test_what_was_set_before_is_written_into_the_order(paper: Ran, tmp_path: Path) -> None:
    assert paper("silver", "--questions", 2, "--seed", 4)[0] == 0
    first = order_in(tmp_path / "out")
    code, _, err = paper(
        "silver",
        "--questions",
        2,
        "--seed",
        5,
        "--not-again",
        first,
        "--not-again",
        tmp_path / "out",
        "--to",
        tmp_path / "next",
    )
    assert (code, err) == (0, "")
    before, _ = read_order(first, lambda: 0)
    after, _ = read_order(order_in(tmp_path / "next"), lambda: 0)
    assert [one.scene for one in after.not_again] == [one.scene for one in before.lines]
    assert not {one.scene for one in before.lines} & {one.scene for one in after.lines}
    assert str(tmp_path) not in order_in(tmp_path / "next").read_text("utf-8")


def test_a_scene_that_comes_again_is_told(paper: Ran, tmp_path: Path) -> None:
    for seed in range(4):
        earlier = ("--not-again", tmp_path / "out") if seed else ()
        code, _, err = paper("silver", "--questions", 7, "--seed", seed, *earlier)
        assert code == 0, err
    assert "silver: 0 of " in err
    assert "in a scene of an earlier paper" in err


def test_a_paper_is_aimed_at_a_slip_in_plain_words_with_worked_solutions(paper: Ran, tmp_path: Path) -> None:
    code, out, err = paper("--aim", "forgot the aliquot", "--questions", 3, "--seed", 2)
    assert (code, err) == (0, "")
    assert "aimed at: factor from portion to flask forgotten (S21)" in out
    order, _ = read_order(order_in(tmp_path / "out"), lambda: 0)
    assert (order.aim, [line.level for line in order.lines]) == ("S21", ["scaffolded", "structured", "exam"])
    assert list((tmp_path / "out").glob("*worked-solutions.txt"))


def test_a_class_with_its_own_numbers_gets_worked_solutions_too(paper: Ran, tmp_path: Path) -> None:
    names = tmp_path / "names.txt"
    names.write_text("Ilsa Quern\nBram Tollo\n", "utf-8")
    code, _, err = paper("--aim", "S21", "--questions", 1, "--seed", 2, "--class-list", names)
    assert code == 0, err
    assert list((tmp_path / "out").glob("*worked-solutions*"))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--look", "large", "--form", "text"), "a look shows on pupils' sheets"),
        (("--tint", "cream", "--form", "text"), "a tint shows on pupils' sheets"),
        (("--answer-space", "wide", "--sheet", "answers", "--form", "text"), "the answer space wide shows"),
    ],
)
def test_what_shows_on_no_sheet_is_told(arguments: tuple[object, ...], said: str, paper: Ran, tmp_path: Path) -> None:
    code, _, err = paper("direct-solutions", "--questions", 1, *arguments)
    assert code == 0
    assert said in err


def test_a_record_prints_again_in_the_look_and_the_forms_that_it_was_printed_in(paper: Ran, tmp_path: Path) -> None:
    asked = (
        "direct-solutions",
        "--questions",
        1,
        "--seed",
        5,
        "--look",
        "large",
        "--form",
        "html",
        "--sheet",
        "answers",
    )
    assert paper(*asked)[0] == 0
    first = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.html")}
    assert len(first) == 1
    (record,) = (tmp_path / "out").glob("*-record.jsonl")
    assert paper(record, "--replace")[0] == 0
    assert {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.html")} == first
    assert not list((tmp_path / "out").glob("*.pdf"))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--marks", 0), "at least 1"),
        (("--marks", 9999), "1 to 400"),
        (("dilution", "--marks", 90, "--questions", 2), "the largest total found"),
        (("--code", "7KQ2-M4XR", "--marks", 30), "--marks"),
        (("x.order.yaml", "--marks", 30), "--marks"),
        (("--not-again", "nowhere.order.yaml"), "no such file or folder"),
        (("--aim", "ratio"), "could be"),
        (("--look", "large", "--form", "latex"), "the look large, and the form latex"),
        (("--aim", " "), "says nothing"),
        (("--aim", "fell asleep"), "no slip 'fell asleep'"),
        (("--aim", "human error"), "not a number"),
        (("x.order.yaml", "--aim", "S21"), "--aim"),
    ],
)
def test_what_cannot_be_asked_for_is_told(arguments: tuple[object, ...], said: str, paper: Ran, tmp_path: Path) -> None:
    code, out, err = paper(*arguments)
    assert (code, out) == (1, "")
    assert said in err
    assert not (tmp_path / "out").exists()


def test_a_long_search_for_marks_is_told_on_the_terminal_and_leaves_no_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(options, "_SOON_S", 0.0)
    with options.looking() as told:
        told(7, 100)
    said = capsys.readouterr().err
    assert said.startswith("\rlooking for questions that add up: 7 of 100 at most")
    assert said.endswith("\r")
    monkeypatch.setattr(options, "_SOON_S", 60.0)
    with options.looking() as told:
        told(7, 100)
    assert capsys.readouterr().err == ""
