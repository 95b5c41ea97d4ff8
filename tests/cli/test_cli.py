"""The command: what it prints, what it writes, and the exit codes 0 (done), 1 (a mistake), 130 (interrupted), 3 (our fault)."""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from molewright import __version__, render
from molewright.cli import build_parser, main
from molewright.cli.banks import LISTED
from molewright.machine import places
from molewright.order.choices import FORMS, LEVEL_CHOICES
from molewright.papers import finished
from molewright.render import renderer
from molewright.sheet.parts import LEVELS
from molewright.survey.listing import LISTS


def doors_of(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    return next(dict(action.choices) for action in parser._actions if isinstance(action.choices, dict))


DOORS = tuple(doors_of(build_parser()))
QUARRY = """\
experiment: Quarry stone
procedure:
  - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in limestone
"""
NEEDED = {"paper": ["paper"], "banks": ["banks"], "check": ["check"], "solve": ["solve", "x.yaml"],
          "mark": ["mark", "x.csv"], "practise": ["practise", "x.csv"], "progress": ["progress", "x"],
          "browser": ["browser"]}  # fmt: skip
OPTIONS = [
    (door, action.option_strings[-1], action)
    for door, parser in doors_of(build_parser()).items()
    for action in parser._actions
    if action.option_strings
]
PATHS = [(door, option) for door, option, action in OPTIONS if action.metavar in ("FILE", "FOLDER", "PAPER")]
WHOLE_NUMBERS = [(door, option) for door, option, action in OPTIONS if action.metavar == "N"]
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run_as_installed(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in this process: exit code, what it printed, and what it complained of."""

    def command(*arguments: object) -> tuple[int, str, str]:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return command


@pytest.fixture
def run(run_as_installed: Run, small_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The same with the small bank in place of the built-in ones."""
    monkeypatch.setattr(places, "banks", lambda: small_folder)
    return run_as_installed


@pytest.fixture
def paper(run: Run, tmp_path: Path) -> Run:
    """Make a paper of two questions from the small bank, as text, into tmp_path/out."""

    def make(*arguments: object) -> tuple[int, str, str]:
        plain = () if "--code" in arguments else ("--questions", 2, "--seed", 7)
        return run("paper", "--to", tmp_path / "out", "--form", "text", *plain, *arguments)

    return make


def told(code: int, out: str, err: str, *said: str) -> None:
    """A mistake: exit code 1, nothing printed, one short sentence with these words, no traceback."""
    assert code == 1, err
    assert out == ""
    assert err.startswith("molewright: ")
    for words in said:
        assert words in err, err
    assert "Traceback" not in err
    assert len(err) < 1500


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# ------------------------------------------------------------------ help


@pytest.mark.parametrize("door", ["", *DOORS])
def test_every_command_has_help(door: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main([*([door] if door else []), "--help"])
    assert end.value.code == 0
    said = capsys.readouterr().out
    assert said.startswith(f"usage: molewright {door}".rstrip())
    assert len(said.splitlines()) > 5


@pytest.mark.parametrize("door", DOORS)
def test_every_option_says_what_it_does(door: str) -> None:
    assert {"paper", "banks", "check", "solve"} <= set(DOORS)
    for action in doors_of(build_parser())[door]._actions:
        assert action.help


def test_without_a_command_the_help_is_printed(run: Run) -> None:
    code, out, err = run()
    assert (code, err) == (0, "")
    assert all(door in out for door in DOORS)
    assert "Without a terminal: 'molewright browser'" in out


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(["--version"])
    assert end.value.code == 0
    assert capsys.readouterr().out == f"molewright {__version__}\n"


# ------------------------------------------------------------------ papers


def test_a_paper_is_written_and_its_files_and_code_are_told(paper: Run, tmp_path: Path) -> None:
    code, out, err = paper()
    assert (code, err) == (0, "")
    lines = out.splitlines()
    files, (last,) = lines[:8], [line for line in lines if line.startswith("paper code ")]
    paper_code = last.removeprefix("paper code ")
    assert sorted(Path(line).name for line in files) == names(tmp_path / "out")
    assert len(files) == 4 + 4  # the sheets, the record, the order, the answer file twice
    assert all(paper_code in line for line in files)


@pytest.mark.thorough
def test_a_default_paper_is_a_pdf_of_six_questions_in_out(
    run_as_installed: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _, err = run_as_installed("paper", "--seed", 5)
    assert (code, err) == (0, "")
    found = names(tmp_path / "out")
    assert [Path(name).suffix for name in found].count(".pdf") == 4
    record = json.loads(next((tmp_path / "out").glob("*.jsonl")).read_text("utf-8").splitlines()[0])
    assert record["questions"] == 6
    assert all(path.read_bytes().startswith(b"%PDF-") for path in (tmp_path / "out").glob("*.pdf"))


def test_papers_without_a_seed_differ(run: Run, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        assert run("paper", "small-back", "--form", "text", "--to", tmp_path / folder)[0] == 0
    assert names(tmp_path / "a") != names(tmp_path / "b")


def test_a_code_makes_the_same_files_again(paper: Run, tmp_path: Path) -> None:
    _, out, _ = paper("--litres", "--masses", "two places", "--level", "exam", "--versions", "AB")
    first = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    for path in (tmp_path / "out").iterdir():
        path.unlink()
    paper_code = out.splitlines()[-1].removeprefix("paper code ")
    code, again, err = paper("--code", paper_code.lower(), "--versions", "AB")
    assert (code, err, again.splitlines()[-1]) == (0, "", f"paper code {paper_code}")
    assert {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()} == first


def test_a_code_with_a_version_makes_that_version_only(paper: Run, tmp_path: Path) -> None:
    _, out, _ = paper("--versions", "ABC")
    pages = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.txt")}
    for path in (tmp_path / "out").iterdir():
        path.unlink()
    assert paper("--code", "B-" + out.splitlines()[-1].removeprefix("paper code "))[0] == 0
    again = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.txt")}
    assert again == {name: page for name, page in pages.items() if "-B-" in name}
    assert len(again) == 4


@pytest.mark.parametrize(
    "change", [lambda c: c[:-1] + ("0" if c[-1] != "0" else "1"), lambda c: c[1:], lambda c: c + "9"]
)
def test_a_mistyped_code_is_told(change: Callable[[str], str], paper: Run, tmp_path: Path) -> None:
    _, out, _ = paper()
    typed = change(out.splitlines()[-1].removeprefix("paper code "))
    before = names(tmp_path / "out")
    told(*paper("--code", typed), "the paper code", "expected a code")
    assert names(tmp_path / "out") == before


def test_a_code_of_other_banks_is_told(paper: Run, run: Run, tmp_path: Path, bank_with: Callable[..., Path]) -> None:
    _, out, _ = paper()
    paper_code = out.splitlines()[-1].removeprefix("paper code ")
    other = bank_with("materials.yaml", "low: 80.0", "low: 81.0")
    told(*run("paper", "--banks", other, "--code", paper_code, "--to", tmp_path / "new"), "does not fit these banks")
    assert not (tmp_path / "new").exists()


def test_only_the_sheets_and_forms_asked_for_are_written(paper: Run, tmp_path: Path) -> None:
    assert paper("--sheet", "answers", "--sheet", "questions", "--sheet", "answers", "--form", "latex")[0] == 0
    found = [re.sub(r"^.*-(questions|record|answers)\.", r"\1.", name) for name in names(tmp_path / "out")]
    beside = ["answers.csv", "answers.xlsx", "record.jsonl"]
    sheets = ["answers.tex", "answers.txt", "questions.tex", "questions.txt"]
    assert sorted(name for name in found if not name.endswith("yaml")) == sorted([*sheets, *beside])


def test_a_sheet_by_its_old_name_is_told_its_new_one(paper: Run) -> None:
    told(*paper("--sheet", "key"), "write --sheet answers")


def test_a_class_list_makes_one_paper_a_line(paper: Run, tmp_path: Path) -> None:
    (tmp_path / "class.txt").write_text("Ilsa Quern\n\nBjörn Ærø\nAda\n", "utf-8")
    asked = ("--class-list", tmp_path / "class.txt", "--sheet", "questions")
    code, out, _ = paper(*asked, "--files", "separate")
    assert code == 0
    assert len(names(tmp_path / "out")) == 3 + 4
    assert "ilsa-quern" in out
    first = next((tmp_path / "out").glob("*ilsa-quern*")).read_text("utf-8")
    assert "Name: Ilsa Quern" in first
    assert paper(*asked, "--to", tmp_path / "joined")[0] == 0
    (joined,) = (tmp_path / "joined").glob("*questions.txt")
    one, two, three = joined.read_text("utf-8").split("\f")
    assert one == first
    assert "Name: Björn Ærø" in two
    assert "Name: Ada" in three


def test_many_files_are_told_in_a_few_lines(paper: Run, tmp_path: Path) -> None:
    (tmp_path / "class.txt").write_text("\n".join(f"Pupil {n}" for n in range(20)), "utf-8")
    _, out, _ = paper("--class-list", tmp_path / "class.txt", "--sheet", "questions", "--files", "separate")
    assert "... and 20 more in" in out
    assert len([line for line in out.splitlines() if line.startswith(str(tmp_path))]) == 4


@pytest.mark.thorough
def test_kinds_without_a_stretch_part_are_named(run_as_installed: Run, tmp_path: Path) -> None:
    kinds = ("direct-purity", "direct-purity-claim", "acid-base-colours")
    kept = ("--seed", 7, "--form", "text", "--sheet", "questions", "--to", tmp_path, "--replace", "--versions", "AB")
    code, out, _ = run_as_installed("paper", *kinds, "--level", "stretch", *kept)
    assert code == 0
    told_of = [line for line in out.splitlines() if "without a stretch part" in line]
    assert len(told_of) == 1
    named = told_of[0].partition(": ")[2].split(", ")
    assert sorted(named) == ["acid-base-colours", "direct-purity-claim"]
    for level in ("exam", "mixed"):
        assert "stretch part" not in run_as_installed("paper", *kinds, "--level", level, *kept)[1]
    assert "stretch part" not in run_as_installed("paper", "direct-purity", "--level", "stretch", *kept)[1]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the class list is empty"),
        ("Björn".encode("latin-1"), "is not UTF-8"),
        ("Ada".encode("utf-16"), "UTF-16"),
        (b"a" + b",b" * 10_000, "looks like a row of a table"),
        ("A\u202eda".encode(), "U+202E"),
        (b"A\x07da", "U+0007"),
    ],
)
def test_a_spoilt_class_list_is_told_and_nothing_written(content: bytes, said: str, paper: Run, tmp_path: Path) -> None:
    (tmp_path / "class.txt").write_bytes(content)
    told(*paper("--class-list", tmp_path / "class.txt"), said, "class.txt")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("form", "names", "lines"),
    [
        ("pdf", ("Ada", "Łukasz Żak", "Ελένη Παππά", "Оксана Ґонта", "Nguyễn Thị Ánh"), ()),
        ("pdf", ("Ada", "محمد", "王小明", "דנה", "अदिति", "ﻢﺤﻣﺪ", "สมชาย"), (2, 3, 4, 5, 6, 7)),
        ("latex", ("Łukasz Żak", "Ελένη", "Оксана", "محمد"), (2, 3, 4)),
        ("text", ("محمد", "王小明", "דנה", "अदिति"), ()),  # whatever opens the file joins and orders the letters
    ],
)
def test_names_are_tried_on_their_form_before_anything_is_made(
    form: str, names: tuple[str, ...], lines: tuple[int, ...], run: Run, tmp_path: Path
) -> None:
    (tmp_path / "class.txt").write_text("\n".join(names), "utf-8")
    command = (
        "paper",
        "--class-list",
        tmp_path / "class.txt",
        "--form",
        form,
        "--questions",
        1,
        "--to",
        tmp_path / "out",
    )
    code, out, err = run(*command, "--sheet", "questions")
    if not lines:
        assert (code, err) == (0, "")
        return
    told(code, out, err)
    assert [int(line.partition("class.txt:")[2].partition(":")[0]) for line in err.splitlines()] == list(lines)
    assert not (tmp_path / "out").exists()


def test_a_title_is_tried_on_its_form(run: Run, tmp_path: Path) -> None:
    told(*run("paper", "--title", "滴定", "--to", tmp_path / "out"), "--title", "U+6EF4")
    assert not (tmp_path / "out").exists()


def test_a_class_list_that_is_a_folder_is_told(paper: Run, tmp_path: Path) -> None:
    told(*paper("--class-list", tmp_path), "the class list cannot be read")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    "title", [r"\input{/etc/passwd} $x$ #1 %", "<b>&amp;</b> {{ 7 * 7 }}", "Ünïcode – «dash»", "Ж", "滴定", "م"]
)
def test_any_printable_title_is_set_or_refused_in_a_sentence(title: str, form: str, paper: Run, tmp_path: Path) -> None:
    code, out, err = paper("--title", title, "--form", form, "--sheet", "questions")
    if code == 0:
        assert err == ""
        page = next((tmp_path / "out").glob("*.txt")).read_text("utf-8")
        assert title in page
        assert "{{ 49 }}" not in page
        for tex in (tmp_path / "out").glob("*.tex"):
            assert r"\input{/etc/passwd}" not in tex.read_text("utf-8")
        for web in (tmp_path / "out").glob("*.html"):
            assert "<b>&amp;</b>" not in web.read_text("utf-8")
    else:
        told(code, out, err)
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("title", ["a\x00b", "a\x1b[31m", "a\u202eb", "x" * 61, "a\ud800b"])
def test_a_title_that_cannot_be_printed_is_told(title: str, paper: Run, tmp_path: Path) -> None:
    told(*paper("--title", title), "--title")
    assert not (tmp_path / "out").exists()


# ------------------------------------------------------------------ folders


def test_a_different_file_is_not_replaced_unless_asked(paper: Run, tmp_path: Path) -> None:
    paper()
    key = next((tmp_path / "out").glob("*answers.txt"))
    key.write_text("mine", "utf-8")
    told(*paper(), "is there already and is not the same", "--replace")
    assert key.read_text("utf-8") == "mine"
    assert paper("--replace")[0] == 0
    assert key.read_text("utf-8") != "mine"


def test_the_same_paper_may_be_made_twice(paper: Run) -> None:
    assert paper()[0] == paper()[0] == 0


@pytest.mark.parametrize("below", ["", "sub"])
def test_a_folder_that_cannot_be_written_is_told(below: str, run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("here")
    told(
        *run("paper", "--to", tmp_path / "file" / below),
        "the folder cannot be written",
        "--to",
    )
    assert (tmp_path / "file").read_text() == "here"


@pytest.mark.skipif(sys.platform == "win32", reason="only a file system with locks tells who holds a folder")
def test_what_a_killed_run_left_is_cleared_and_told_of(paper: Run, tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / "out" / f".unfinished-{name}").mkdir(parents=True)
        (tmp_path / "out" / f".unfinished-{name}" / "ilsa-quern.txt").write_text("a pupil's paper", "utf-8")
    code, _, err = paper()
    assert code == 0
    assert err.startswith("molewright: note: 2 earlier runs were stopped in")
    assert not any(name.startswith(".") for name in names(tmp_path / "out"))
    assert paper()[2] == ""


# ------------------------------------------------------------------ mistakes on the command line


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("nonsense",), "nonsense"),
        (("paper", "--nope"), "--nope"),
        (("paper", "--level", "hard"), "scaffolded"),
        (("paper", "--form", "odt"), "latex"),
        (("paper", "--questions", "six"), "six"),
        (("paper", "--questions", "0"), "expected 1 to 40"),
        (("paper", "--questions", "41"), "expected 1 to 40"),
        (("paper", "--seed", "-1"), "expected 0 to"),
        (("paper", "--seed", "1e9"), "1e9"),
        (("paper", "--versions", "A1"), "letters, as ABC"),
        (("paper", "--versions", ""), "letters, as ABC"),
        (("paper", "--versions", "É"), "letters, as ABC"),
        (("paper", "--versions", "ß"), "letters, as ABC"),
        (("paper", "--versions", "ſ"), "letters, as ABC"),
        *(((door, option, "1_0"), f"{option}: '1_0' is not a whole number") for door, option in WHOLE_NUMBERS),
        *(((door, option, "٣"), f"{option}: '٣' is not a whole number") for door, option in WHOLE_NUMBERS),
        *(((door, option, "0 500"), f"{option}: '0 500' is not a whole number") for door, option in WHOLE_NUMBERS),
        *(((door, option, "9" * 5000), f"{option}: '999") for door, option in WHOLE_NUMBERS),
        *(((*NEEDED[door], option, ""), f"{option}: '' names no file and no folder") for door, option in PATHS),
        *(((*NEEDED[door], option, "a\0b"), "names no file and no folder") for door, option in PATHS),
        *(
            ((door, ""), "'' names no file and no folder")
            for door in ("check", "solve", "mark", "practise", "progress")
        ),
        (("paper", "--masses", "exact"), "two places"),
        (("paper", "nosuchkind"), "no archetype 'nosuchkind'"),
        (("paper", "--code", "A-0000-000", "--seed"), "--seed"),
        (("paper", "--banks", "nowhere"), "no folder of banks is here"),
        (("banks", "animals"), "materials"),
        (("banks", "--banks", "nowhere"), "no folder of banks"),
        (("check", "nowhere"), "no folder of banks"),
        (("check", "--draws", "0"), "expected 1 to"),
        (("solve",), "FILE"),
        (("solve", "nowhere.yaml"), "nowhere.yaml"),
    ],
    ids=lambda given: " ".join(given)[:60],
)
def test_a_mistake_on_the_command_line_is_told(
    arguments: tuple[str, ...], said: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told(*run(*arguments), said)
    assert names(tmp_path) == []


@pytest.mark.parametrize("door", DOORS)
def test_an_option_cut_short_is_refused_and_the_whole_one_is_named(door: str, run: Run) -> None:
    """A cut option would mean another one as soon as a new one begins with the same letters."""
    whole = [name for name in build_parser().parse_args(NEEDED[door]).options if len(name) > len("--to")]
    assert len(whole) >= 2
    for name in whole:
        told(*run(*NEEDED[door], f"{name[:-1]}=1"), f"'{name[:-1]}' is no option", name, "options are written whole")


def test_a_word_too_many_is_told(run: Run) -> None:
    told(*run("banks", "materials", "extra"), "'extra' is one word too many", "molewright banks --help")


def test_what_may_be_chosen_is_what_there_is() -> None:
    assert tuple(LISTS) == LISTED
    assert tuple(render.FORMS) == FORMS
    assert set(LEVELS) < set(LEVEL_CHOICES)


# ------------------------------------------------------------------ interrupts and our own faults


def test_an_interrupt_in_the_middle_leaves_nothing_and_exits_130(
    paper: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rendered: list[Any] = []

    def interrupted(sheet: Any) -> bytes:
        rendered.append(sheet)
        if len(rendered) == 3:
            raise KeyboardInterrupt
        return b"page"

    monkeypatch.setattr(renderer("text"), "render", interrupted)
    code, out, err = paper()
    assert (code, out) == (130, "")
    assert "interrupted; no file is left half written" in err
    assert names(tmp_path) == []


def test_our_own_fault_exits_3_and_leaves_nothing(paper: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a slip of ours")

    monkeypatch.delenv("MOLEWRIGHT_TRACE", raising=False)
    monkeypatch.setattr(finished, "sheets_of", broken)
    code, out, err = paper()
    assert (code, out) == (3, "")
    assert "this is a fault in molewright, not in what you asked: ZeroDivisionError: a slip of ours" in err
    assert "MOLEWRIGHT_TRACE=1" in err
    assert names(tmp_path) == []


def made_into_another() -> Exception:
    """A failure that a library made of another one."""
    other = ValueError("no value")
    other.__context__ = MemoryError()
    return other


@pytest.mark.parametrize(
    "broken",
    [
        MemoryError(),
        OSError(12, "Cannot allocate memory"),
        made_into_another(),
        ImportError("x.so: failed to map segment from shared object"),
    ],
    ids=repr,
)
def test_a_machine_without_memory_is_no_fault_of_ours(
    broken: Exception, paper: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def exhausted(*_: object) -> None:
        raise broken

    monkeypatch.delenv("MOLEWRIGHT_TRACE", raising=False)
    monkeypatch.setattr(finished, "sheets_of", exhausted)
    told(*paper(), "there is no memory left", "fewer papers at once")
    assert names(tmp_path) == []


def test_our_own_fault_can_be_traced(paper: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a slip of ours")

    monkeypatch.setenv("MOLEWRIGHT_TRACE", "1")
    monkeypatch.setattr(finished, "sheets_of", broken)
    with pytest.raises(ZeroDivisionError):
        paper()


def test_a_closed_pipe_is_no_fault_of_ours(plain_environment: dict[str, str]) -> None:
    script = "import sys; from molewright.cli import main; sys.exit(main(['banks', 'contexts']))"
    with subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=plain_environment
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        process.wait()
    assert "this is a fault in molewright" not in said
    assert "Traceback" not in said


# ------------------------------------------------------------------ banks, check, solve


@pytest.mark.parametrize("what", LISTED)
def test_banks_are_listed(what: str, run: Run, small_folder: Path) -> None:
    code, out, err = run("banks", what, "--banks", small_folder)
    assert (code, err) == (0, "")
    assert out.strip()


def test_banks_lists_archetypes_where_nothing_is_named(run: Run, small_folder: Path) -> None:
    assert run("banks", "--banks", small_folder) == run("banks", "archetypes", "--banks", small_folder)


def test_banks_of_ones_own_are_checked(run: Run, small_folder: Path) -> None:
    code, out, err = run("check", small_folder, "--draws", 2)
    assert (code, err) == (0, "")
    assert "every entry is sound" in out


def test_a_fault_in_ones_own_banks_is_told_with_its_line(run: Run, bank_with: Callable[..., Path]) -> None:
    folder = bank_with("materials.yaml", "noun: crushed limestone", "nuon: crushed limestone")
    told(*run("check", folder), "materials.yaml:2: nuon", "nearest: noun")
    told(*run("paper", "--banks", folder), "materials.yaml:2")


def test_a_described_experiment_is_solved_as_text(run: Run, tmp_path: Path) -> None:
    (tmp_path / "quarry.yaml").write_text(QUARRY, "utf-8")
    code, out, err = run("solve", tmp_path / "quarry.yaml")
    assert (code, err) == (0, "")
    plain = out.replace("\N{NO-BREAK SPACE}", " ")
    assert plain.index("Answer: percentage of CaCO₃ in limestone = 94.9 %") < plain.index("2.604 × 10⁻³ mol")
    assert "Accepted: 94.8 to 95.0 %" in plain  # worked by hand
    assert "2.604 × 10⁻³ mol" in plain


def test_a_described_experiment_is_solved_as_json(run: Run, tmp_path: Path) -> None:
    (tmp_path / "quarry.yaml").write_text(QUARRY, "utf-8")
    code, out, _ = run("solve", tmp_path / "quarry.yaml", "--json")
    assert code == 0
    found = json.loads(out)
    assert found["rounded answer"] == "94.9"
    assert found["accepted range"] == ["94.8", "95.0"]
    assert found["exact answer"] == "599599/6320"  # 1.199198 g of 1.264 g, in hundredths
    assert found["unit"] == "%"
    assert found["steps"][0]["rounded"] == "0.002604"


def test_what_is_wrong_in_a_description_is_told_with_its_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "quarry.yaml").write_text(QUARRY.replace("titre: 24.80 cm3", "titre: 24.80"), "utf-8")
    told(*run("solve", tmp_path / "quarry.yaml"), "quarry.yaml:8", "no unit")


def test_numbers_that_contradict_each_other_are_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "quarry.yaml").write_text(QUARRY.replace("titre: 24.80 cm3", "titre: 99.00 cm3"), "utf-8")
    told(*run("solve", tmp_path / "quarry.yaml"), "these numbers cannot come from this experiment")


def test_the_installed_command_runs(plain_environment: dict[str, str]) -> None:
    script = "from molewright.cli import main; raise SystemExit(main(['paper', '--questions', '99']))"
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, env=plain_environment, check=False
    )
    assert run.returncode == 1
    assert run.stderr == "molewright: 99 questions; expected 1 to 40\n"


def test_the_package_runs_as_a_module(plain_environment: dict[str, str]) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "molewright", "--version"],
        capture_output=True,
        text=True,
        env=plain_environment,
        check=True,
    )
    assert run.stdout == f"molewright {__version__}\n"


@pytest.mark.parametrize(
    ("words", "found", "near"),
    [
        (["paper", "--look", "lrge"], "'lrge' for --look", "nearest: large"),
        (["papr"], "'papr' for WHAT", "nearest: paper"),
        (["banks", "reaction"], "'reaction' for what", "nearest: reactions"),
        (["solve", "x.yaml", "--sheet", "scheem"], "'scheem' for --sheet", "nearest: scheme"),
    ],
)
def test_a_word_that_is_none_of_a_few_is_answered_with_the_nearest(
    words: list[str], found: str, near: str, run: Run
) -> None:
    told(*run(*words), found, near, "expected one of: ")
