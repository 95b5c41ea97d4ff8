"""The three jobs that the README tells of, as their orders lie in tests/demo: a class in three levels, a mock, a tutor's weeks."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from pypdf import PdfReader

from molewright.cli import main
from molewright.order.order import Order
from molewright.order.order_file import ORDER_ENDING, read_order
from molewright.papers import choosing
from molewright.papers.copies import SIGNS

DEMO = Path(__file__).resolve().parents[1] / "demo"
PUPILS, LEVELS = 28, ("scaffolded", "structured", "stretch")
MOST_FILES = 12
MARKS = 50
WEEKS = 4
pytestmark = pytest.mark.thorough


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


@pytest.fixture
def make(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Path]:
    """Runs an order of the demo, seeds being the whole numbers from a given one on; the folder that the papers stand in."""

    def run(name: str, *options: str, seeds: Iterator[int]) -> Path:
        monkeypatch.setattr(choosing, "fresh_seed", lambda: next(seeds))
        assert main(["paper", str(DEMO / name), *options, "--to", str(tmp_path / "out")]) == 0
        return tmp_path / "out"

    return run


def settled(folder: Path) -> list[Order]:
    return [read_order(path, never)[0] for path in sorted(folder.glob(f"*{ORDER_ENDING}"))]


def the(folder: Path, ending: str) -> Path:
    (path,) = folder.glob(f"*{ending}")
    return path


def test_a_class_in_three_levels_has_its_homework_by_one_command(
    make: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make("homework.order.yaml", "--class-list", str(DEMO / "class.csv"), seeds=count(1))
    assert len(list(folder.iterdir())) <= MOST_FILES
    with (DEMO / "class.csv").open(encoding="utf-8", newline="") as file:
        names = [f"{row['forename']} {row['surname']}" for row in csv.DictReader(file)]
    assert len(names) == PUPILS
    assert Counter(names)["Ada Holm"] == 2  # told apart by their set
    questions = PdfReader(the(folder, "questions.pdf"))
    titles = [str(mark.title) for mark in questions.outline if not isinstance(mark, list)]
    assert titles == names
    signs = [sign for page in questions.pages for sign in SIGNS.values() if f"· {sign}" in page.extract_text()]
    assert set(signs) == {SIGNS[level] for level in LEVELS}
    assert "Pellaway School: chemistry" in questions.pages[0].extract_text()
    with the(folder, "answers.csv").open(encoding="utf-8-sig", newline="") as file:
        text = file.read()
    assert all(text.count(name) == Counter(names)[name] for name in names)
    totals = [int(line.split()[0]) for line in capsys.readouterr().out.splitlines() if "marks, about" in line]
    assert len(totals) == len(LEVELS)
    assert max(totals) <= 1.25 * min(totals)


@pytest.mark.parametrize("first", [1, 2, 3])
def test_a_mock_has_exactly_its_marks_a_cover_and_a_data_sheet(
    first: int, make: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make("mock.order.yaml", seeds=count(first))
    assert f"\n{MARKS} marks, about" in capsys.readouterr().out
    for version in "AB":
        pages = PdfReader(the(folder, f"-{version}-*questions.pdf")).pages
        cover = " ".join(pages[0].extract_text().split())
        for words in (
            f"{MARKS} marks",
            "70 minutes",
            "Candidate number",
            "Earned",
            "Answer every question.",
            "the data sheet",
        ):
            assert words in cover
        assert "(a)" not in cover
        marks = f"This paper: {MARKS} marks in all"
        assert any(
            marks in " ".join(page.extract_text().split())
            for page in PdfReader(the(folder, f"-{version}-*scheme.pdf")).pages
        )
    (page,) = PdfReader(the(folder, "data-sheet.pdf")).pages
    assert page.mediabox.width > page.mediabox.height
    (order,) = settled(folder)
    assert (order.marks, {version for line in order.lines for version, _ in line.drawn}) == (MARKS, {"A", "B"})


@pytest.mark.parametrize("first", [1, 101])
def test_four_weeks_of_a_tutor_repeat_no_scene_and_no_experiment(
    first: int, make: Callable[..., Path], tmp_path: Path
) -> None:
    seeds = count(first)
    for week in range(WEEKS):
        before = ("--not-again", str(tmp_path / "out")) if week else ()
        folder = make("week.order.yaml", *before, seeds=seeds)
    orders = settled(folder)
    assert len(orders) == WEEKS
    lines = [line for order in orders for line in order.lines]
    assert len({line.scene for line in lines}) == len(lines) == WEEKS * orders[0].count
    assert len({(line.kind, line.roles, line.asked) for line in lines}) == len(lines)
