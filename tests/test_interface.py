"""What people who program call: each function once, typed as it says, its mistakes, and nothing heavy imported before it is used."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import molewright
from molewright import Bank, Mistake, interface
from shared.for_each import for_each
from test_imports import LATE, ORDER

QUARRY = """\
procedure:
  - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in limestone
"""


def test_what_is_offered_is_there_and_is_told() -> None:
    assert molewright.__all__ == interface.__all__
    for name in molewright.__all__:
        assert getattr(molewright, name) is getattr(interface, name)
        assert getattr(molewright, name).__doc__
        assert name in dir(molewright)
    assert not set(molewright.__all__) & set(ORDER), "a room imported later would take the place of a function"
    with pytest.raises(AttributeError, match="has no attribute 'make_sheet'"):
        molewright.make_sheet  # noqa: B018 - asking for it is the test


def test_importing_it_loads_nothing_heavy(plain_environment: dict[str, str]) -> None:
    script = (
        "import sys, molewright\nassert molewright.__version__\n"
        f"print([one for one in {LATE!r} if one in sys.modules])\n"
        "print([one for one in sys.modules if one.startswith('molewright.') and one != 'molewright.version'])\n"
    )
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, env=plain_environment, check=True
    )
    assert run.stdout == "[]\n[]\n"


def test_banks_are_read_whole_or_with_entries(small_folder: Path, small_bank: Bank, tmp_path: Path) -> None:
    assert molewright.read_banks(banks=str(small_folder)).fingerprint == small_bank.fingerprint
    (tmp_path / "contexts.yaml").write_text("- {key: x, serves: [NaOH], opening: A bottle.}\n", "utf-8")
    with pytest.raises(Mistake, match=r"contexts\.yaml:1"):
        molewright.read_banks(tmp_path)


def test_an_order_makes_the_same_sheets_each_time(small_bank: Bank) -> None:
    order = molewright.new_order(small_bank, "small-back", questions=2, level="exam", seed=7)
    assert (order.count, order.level, order.seed, order.archetypes) == (2, "exam", 7, ("small-back",))
    made = molewright.make_sheets(order, small_bank, title="Limestone", form="text")
    assert list(made) == ["questions", "scheme", "worked", "answers"]
    assert made == molewright.make_sheets(order, small_bank, title="Limestone", form="text")
    assert b"Limestone" in made["questions"]
    other = molewright.make_sheets(order, small_bank, version="B", form="text", sheets=["answers"])
    assert list(other) == ["answers"]
    assert other["answers"] != made["answers"]
    assert molewright.make_sheets(order, small_bank, sheets=["answers"])["answers"].startswith(b"%PDF-")


def test_a_question_is_shown_set_in_a_notebook_and_as_text_when_it_is_printed(small_bank: Bank) -> None:
    order = molewright.new_order(small_bank, "small-back", questions=2, level="scaffolded", seed=7)
    shown = molewright.show_question(order, small_bank, 2, version="B")
    whole = molewright.make_sheets(order, small_bank, version="B", form="html", sheets=["questions"])[
        "questions"
    ].decode()
    opening, _, rest = shown._repr_html_().partition('<section class="question">')
    assert opening.startswith("<style>")
    assert "Question 2" in rest
    assert rest.strip().removesuffix("</div>").strip() in whole
    assert "<html" not in shown._repr_html_()
    assert str(shown).lstrip().startswith("2 ")
    assert (
        shown.code.encode()
        in molewright.make_sheets(order, small_bank, version="B", form="text", sheets=["questions"])["questions"]
    )
    with pytest.raises(Mistake, match="question 3; expected 1 to 2"):
        molewright.show_question(order, small_bank, 3)


def test_an_order_may_name_marks_an_aim_and_earlier_papers(bank: Bank, tmp_path: Path) -> None:
    first = molewright.new_order(bank, "silver", marks=12, seed=2)
    assert (
        b"This paper: 12 marks in all" in molewright.make_sheets(first, bank, form="text", sheets=["scheme"])["scheme"]
    )
    molewright.write_papers(first, bank, tmp_path, forms=["text"], sheets=["answers"])
    again = molewright.new_order(bank, aim="forgot the aliquot", questions=2, not_again=[tmp_path], seed=3)
    assert (again.aim, again.count) == ("S21", 2)
    assert {past.kind for past in again.not_again} <= {
        key for key, kind in bank.archetypes.items() if kind.topic == "silver"
    }
    assert again.not_again


def test_papers_are_written_with_their_record_and_marked_by_it(small_bank: Bank, tmp_path: Path) -> None:
    order = molewright.new_order(small_bank, questions=2, seed=3, litres=True, masses="two places")
    files = molewright.write_papers(
        order, small_bank, tmp_path / "out", versions="AB", forms=["text"], sheets=["answers"]
    )
    assert sorted(files) == sorted((tmp_path / "out").iterdir())
    assert len(files) == 2 + 4  # the answers each; the record, the order, the answer file twice
    code = next(path.name for path in files if "-A-" in path.name).partition("-A-")[2].removesuffix("-answers.txt")
    (tmp_path / "answers.csv").write_text(f"code,pupil,question,answer\nA-{code},Ilsa,1,123456\n", "utf-8")
    (row,) = molewright.mark_answers(tmp_path / "answers.csv", small_bank, record=tmp_path / "out")
    assert (row.pupil, row.question, row.answer, row.marks, row.judged) == ("Ilsa", 1, "123456", 0, "wrong")
    assert row.out_of > 0
    assert row.right


def test_whoever_makes_the_papers_the_bytes_are_the_same(small_bank: Bank, tmp_path: Path) -> None:
    order = molewright.new_order(small_bank, questions=1, seed=3)
    pupils = [f"Pupil {number}" for number in range(1, 11)]  # more than one lot
    asked: list[object] = []

    class Here(ThreadPoolExecutor):
        def submit(self, *args: Any, **kwargs: Any) -> Any:
            asked.append(args)
            return super().submit(*args, **kwargs)

    def written(place: str, **more: Any) -> dict[str, bytes]:
        made = molewright.write_papers(
            order, small_bank, tmp_path / place, pupils=pupils, forms=["text"], sheets=["answers"], **more
        )
        return {path.name: path.read_bytes() for path in made}

    with Here(1) as executor:
        elsewhere = written("elsewhere", workers=molewright.Workers(executor=executor))
    assert asked
    assert elsewhere == written("here")
    with pytest.raises(molewright.Mistake, match="0 workers"):
        molewright.Workers(0)


def test_an_experiment_is_solved(bank: Bank, tmp_path: Path) -> None:
    (tmp_path / "quarry.yaml").write_text(QUARRY, "utf-8")
    solved = molewright.solve_experiment(tmp_path / "quarry.yaml", bank)
    assert solved.exact == Fraction(599599, 6320)  # 1.199198 g of 1.264 g, in hundredths; worked by hand
    assert (solved.rounded, solved.unit, solved.accepted) == ("94.9", "%", ("94.8", "95.0"))
    assert solved.steps[0][1:] == ("0.002604", "mol")
    assert str(solved) == solved.text
    assert "94.9" in str(solved)


@for_each(
    ("call", "said"),
    [
        (lambda bank: molewright.new_order(bank, "smal-back"), "no archetype 'smal-back'"),
        (lambda bank: molewright.new_order(bank, level="examm"), "the level 'examm'"),
        (lambda bank: molewright.new_order(bank, masses="none"), "the masses 'none'"),
        (lambda bank: molewright.new_order(bank, marks=401), "401 marks"),
        (lambda bank: molewright.new_order(bank, aim="fell asleep"), "no slip 'fell asleep'"),
        (lambda bank: molewright.new_order(bank, not_again=["nowhere.order.yaml"]), "no such file or folder"),
        (lambda bank: molewright.new_order(bank, questions=41), "expected 1 to 40"),
        (lambda bank: molewright.make_sheets(molewright.new_order(bank, seed=1), bank, sheets=["answer"]), "nearest: answers"),
        (lambda bank: molewright.make_sheets(molewright.new_order(bank, seed=1), bank, form="docs"), "the form 'docs'"),
        (lambda bank: molewright.solve_experiment("nowhere.yaml", bank), "nowhere.yaml"),
        (lambda bank: molewright.mark_answers("nowhere.csv", bank), "nowhere.csv"),
    ],
)  # fmt: skip
def test_what_cannot_be_had_is_a_mistake(call: object, said: str, small_bank: Bank) -> None:
    assert callable(call)
    with pytest.raises(Mistake, match=said):
        call(small_bank)
