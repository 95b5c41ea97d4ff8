"""Marked again: what differs from the marks that stand in the folder is told line by line, and nothing is lost when a run fails."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.marking.changes import changes
from molewright.marking.files import mark_answers, marked_name, write_marks
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from shared.records import write_record

Run = Callable[..., int]


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A record of one question, and its right answer."""
    folder = tmp_path_factory.mktemp("again")
    maker = PaperMaker(bank, Order(seed=5, count=1, level="exam", archetypes=("back-portions",)), plans)
    held = record(maker.paper(Wanted(), "A"))
    write_record(maker, folder, [held])
    return folder, str(held["questions"][0]["answer"]).replace("\u00a0", " ")


@pytest.fixture
def answers(folder: tuple[Path, str], tmp_path: Path) -> Callable[..., Path]:
    """A file of answers by pupil."""

    def write(**by_pupil: str) -> Path:
        path = tmp_path / "answers.csv"
        path.write_text(
            "pupil,question,answer\n" + "".join(f"{name},1,{text}\n" for name, text in by_pupil.items()), "utf-8"
        )
        return path

    return write


def test_every_cell_that_differs_is_told_with_its_marks_and_the_totals(
    folder: tuple[Path, str], answers: Callable[..., Path], bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    record_folder, right = folder
    first, _ = mark_answers(answers(Ilsa="0.5", Bram=right, Edda="7", Odo="?"), bank, plans, record_folder)
    write_marks([first], tmp_path, ("text",))
    there = tmp_path / marked_name([first])
    assert changes([first], there) == ()
    again, _ = mark_answers(answers(Ilsa=right, Bram=right, Odo="8", Tove="9"), bank, plans, record_folder)
    ilsa, odo, tove, edda, totals = changes([again], there)
    whole = sum(first.out_of.values())
    assert ilsa.startswith(f"Ilsa, question 1: 0.5 is now {right}, marks 0")
    assert ilsa.endswith(f" are now {whole}")
    assert odo.startswith(f"Odo, question 1: ? is now 8, marks 0\u00a0(+{whole}) are now ")
    assert tove.startswith("Tove, question 1: new, 9, 0")
    assert edda.startswith("Edda, question 1: no longer there (0")
    assert totals == f"all marks together: {whole} before, {2 * whole} now; the total of 1 pupil has changed"


def test_a_table_that_a_spreadsheet_has_saved_again_is_compared_too(
    folder: tuple[Path, str], answers: Callable[..., Path], bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    marked, _ = mark_answers(answers(Ilsa="0.5"), bank, plans, folder[0])
    write_marks([marked], tmp_path, ("text",))
    there = tmp_path / marked_name([marked])
    there.write_bytes(there.read_text("utf-8-sig").replace(",", ";").encode("cp1252", "replace"))
    assert changes([marked], there) == ()
    there.write_bytes(b"\x00\x01 nonsense")
    (told,) = changes([marked], there)
    assert "cannot be told" in told


@pytest.mark.thorough
def test_a_run_that_fails_leaves_what_was_there_and_tells_what_would_change(
    folder: tuple[Path, str], answers: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record_folder, right = folder
    to = tmp_path / "marks"
    command = ["--record", str(record_folder), "--to", str(to), "--form", "text"]
    assert main(["mark", str(answers(Ilsa="0.5")), *command]) == 0
    before = {path.name: path.read_bytes() for path in to.iterdir()}
    assert main(["mark", str(answers(Ilsa=right)), *command]) == 1  # not without --replace
    assert f"Ilsa, question 1: 0.5 is now {right}" in capsys.readouterr().err
    assert main(["mark", str(answers(Ilsa=right, Bram="1\nIlsa,9,1")), *command, "--replace"]) == 1
    assert {path.name: path.read_bytes() for path in to.iterdir()} == before
    assert main(["mark", str(answers(Ilsa=right)), *command, "--replace"]) == 0
    assert "all marks together: 0 before" in capsys.readouterr().err
    assert {path.name for path in to.iterdir()} == before.keys()
    assert (
        main(["mark", str(answers(Ilsa=right)), *command]) == 0
    )  # nothing has changed: nothing is asked and nothing told
    assert "differs" not in capsys.readouterr().err
