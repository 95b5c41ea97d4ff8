"""`molewright solve --to`: experiments that somebody describes become a matched pair, marked and printed again like any other paper."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.cli import main

STONE = """experiment: Quarry stone
procedure:
  - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in limestone
"""
ACID = """- experiment: An acid
  task: Calculate the concentration of the acid.
  procedure:
    - measure: {solution: HCl, volume: 25.0 cm3}
    - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 24.80 cm3}
  asked: concentration of HCl
"""
Told = Callable[..., str]


@pytest.fixture
def solve(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Run the command in a folder with two files; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "stone.yaml").write_text(STONE, "utf-8")
    (tmp_path / "acid.yaml").write_text(ACID, "utf-8")

    def run(*arguments: str) -> tuple[int, str, str]:
        code = main(arguments)
        out, err = capsys.readouterr()
        return code, out.replace("\N{NO-BREAK SPACE}", " "), err

    return run


def test_several_files_make_one_pair_that_is_marked_and_printed_again(solve: Told, tmp_path: Path) -> None:
    code, _, err = solve("solve", "stone.yaml", "acid.yaml", "--to", "first", "--form", "text", "--seed", "5")
    assert (code, err) == (0, "")
    (scheme,) = Path("first").glob("*-mark-scheme.txt")
    assert "94.9 %" in scheme.read_text("utf-8")
    (paper,) = Path("first").glob("*-questions.txt")
    page = " ".join(paper.read_text("utf-8").split())
    assert "Calculate the concentration of the acid." in page
    (table,) = Path("first").glob("*-answers.csv")
    heading, row, *_ = csv.reader(table.read_text("utf-8-sig").splitlines())
    right = {"1(g)": "94.9", "2": "0.0992"}
    filled = [{"pupil": "Ilsa", **right}.get(key, held) for key, held in zip(heading, row, strict=True)]
    Path("answers.csv").write_text("\n".join(map(",".join, (heading, filled))), "utf-8")
    assert set(right) <= set(heading)
    code, _, _ = solve("mark", "answers.csv", "--record", "first")
    assert code == 0
    (marks,) = Path("out").glob("marks-*.csv")
    assert "Ilsa,7,3,10,0,10" in marks.read_text("utf-8")
    (order,) = Path("first").glob("*.order.yaml")
    assert solve("paper", str(order), "--to", "again")[0] == 0
    first, again = ({one.name: one.read_bytes() for one in Path(where).iterdir()} for where in ("first", "again"))
    assert first == again


def test_one_experiment_gives_its_paper_its_title(solve: Told) -> None:
    assert solve("solve", "stone.yaml", "--to", "out", "--form", "text")[0] == 0
    (paper,) = Path("out").glob("quarry-stone-*-questions.txt")
    assert paper.read_text("utf-8").startswith("Quarry stone")


def test_on_the_terminal_the_answer_stands_before_its_lines_marks_and_mistakes(solve: Told) -> None:
    code, out, err = solve("solve", "stone.yaml", "acid.yaml")
    assert (code, err) == (0, "")
    told = [
        "Answer: percentage of CaCO₃ in limestone = 94.9 %",
        "as an exam question of 7 marks",
        "n(NaOH) = (0.105 × 24.80) / 1000",
        "Reacting ratio ignored",
        "Answer: concentration of HCl = 0.0992 mol dm⁻³",
    ]
    places = [out.find(one) for one in told]
    assert -1 not in places
    assert places == sorted(places)


def test_options_of_a_print_without_a_folder_are_told(solve: Told) -> None:
    code, _, err = solve("solve", "stone.yaml", "--form", "pdf", "--answer-space", "none")
    assert code == 1
    assert "--form, --answer-space, and nothing is printed" in err
    assert "--to FOLDER" in err


def test_experiments_of_two_conventions_make_no_paper(solve: Told) -> None:
    Path("other.yaml").write_text(f"relative atomic masses: two places\n{STONE}", "utf-8")
    code, _, err = solve("solve", "stone.yaml", "other.yaml", "--to", "out")
    assert code == 1
    assert "several conventions for relative atomic masses: one place, two places" in err
    assert solve("solve", "other.yaml", "--to", "out", "--form", "text")[0] == 0
    (scheme,) = Path("out").glob("*-mark-scheme.txt")
    assert "two decimal places" in " ".join(scheme.read_text("utf-8").split())


def test_a_fault_is_told_with_its_line_before_anything_is_printed(solve: Told) -> None:
    Path("stone.yaml").write_text(STONE.replace("titre: 24.80 cm3", "titre: 24.80"), "utf-8")
    code, _, err = solve("solve", "acid.yaml", "stone.yaml", "--to", "out")
    assert code == 1
    assert "stone.yaml:8" in err
    assert not Path("out").exists()
