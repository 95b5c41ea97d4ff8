"""The documents do what they say: every command and every line of Python that they name runs, and what they name exists.

The commands of the README are run in a folder of their own, as text and with fewer draws where that is quicker; the benchmarks that
DEVELOPERS.md names start with their small size.
"""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import textwrap
import tomllib
from pathlib import Path

import pytest

import molewright
from molewright.bank.readers.operations import WORDS as OPERATIONS
from molewright.cli import build_parser, main
from molewright.cli.paper_options import EXAMPLES
from molewright.cli.solve import EXAMPLE as SOLVE_EXAMPLE
from test_imports import MODULES, ORDER, STRANGERS

TOP = Path(__file__).resolve().parents[1]
README = (TOP / "README.md").read_text("utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text("utf-8")
GUIDE = (TOP / "banks" / "README.md").read_text("utf-8")
BLOCKS = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ROOMS = "|".join(one for one in ORDER if "_" not in one.strip("_"))


def commands(text: str) -> list[str]:
    """Every whole command `molewright ...` in code blocks and in tables."""
    lines = [line for _, block in BLOCKS.findall(text) for line in block.splitlines()]
    named = re.findall(r"`(molewright [^`]+)`", BLOCKS.sub("", text))
    found = [line for line in (*lines, *named) if line.startswith("molewright ")]
    return [one for one in dict.fromkeys(found) if " COMMAND" not in one and one != "molewright browser"]  # it serves


def python_commands(text: str) -> list[str]:
    return re.findall(r"^python (tests/\S+\.py)$", text, re.MULTILINE)


def table(text: str, heading: str) -> list[tuple[str, str]]:
    """The rows of the table under a heading row."""
    rows = text[text.index(heading) :].split("\n\n")[0].splitlines()[2:]
    return [(first.strip(), second.strip()) for first, second in (row.strip("|").split(" | ", 1) for row in rows)]


# ------------------------------------------------------------------ README


def test_the_documents_name_commands() -> None:
    assert len(commands(README)) >= 12
    assert {line.split()[1] for line in commands(README)} == set(_doors())
    assert len(commands(GUIDE)) >= 3


def _doors() -> set[str]:
    return set(next(dict(action.choices) for action in build_parser()._actions if isinstance(action.choices, dict)))


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A folder with what the commands name: a class list, an experiment, own entries, a paper and answers to it; the paper's code."""
    folder = tmp_path_factory.mktemp("workshop")
    (folder / "class.csv").write_text(
        "name,level\nIlsa Quern,scaffolded\nBram Tollo,structured\nEdda Voss,stretch\n", "utf-8"
    )
    (folder / "mock.order.yaml").write_text("title: Mock\nseed: 4\nquestions: 2\n", "utf-8")
    (folder / "experiment.yaml").write_text(re.findall(r"```yaml\n(experiment: .*?)```", GUIDE, re.DOTALL)[0], "utf-8")
    for name, text in re.findall(r"in `my-entries/([\w./-]+\.yaml)`.*?```yaml\n(.*?)```", GUIDE, re.DOTALL):
        (folder / "my-entries" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "my-entries" / name).write_text(text, "utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert main(["paper", "direct-purity", "--questions", "1", "--seed", "8", "--form", "text"]) == 0
    (record,) = (folder / "out").glob("*-record.jsonl")
    code = record.name.removesuffix("-record.jsonl").rpartition("practice-")[2]
    (folder / "answers.csv").write_text(
        f"paper code,pupil,question,part,answer\nA-{code},Ilsa Quern,1,,50.0\n", "utf-8"
    )
    assert main(["mark", str(folder / "answers.csv"), "--to", str(folder / "out"), "--form", "text"]) == 0
    return folder, code


@pytest.mark.parametrize("command", dict.fromkeys([*commands(README), *commands(GUIDE)]))
def test_a_command_of_the_documents_runs(
    command: str, workshop: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, code = workshop
    monkeypatch.chdir(folder)
    _, *words = shlex.split(command.replace("CODE", code))
    if words[0] in ("paper", "mark", "practise", "progress"):
        words += ["--form", "text", "--replace"]
    if words[0] == "check":
        words += ["--draws", "1"]
    assert main(words) == 0, capsys.readouterr().err
    assert capsys.readouterr().out.strip()


def test_the_order_of_the_help_is_printed_and_its_commands_run(
    workshop: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = workshop[0]
    monkeypatch.chdir(folder)
    text, _, lines = EXAMPLES.partition("  title:")[2].partition("\n\n")
    (folder / "limestone.order.yaml").write_text(textwrap.dedent(f"  title:{text}\n"), "utf-8")
    for command in filter(None, lines.splitlines()):
        assert main([*shlex.split(command)[1:], "--form", "text", "--replace"]) == 0, capsys.readouterr().err
    (folder / "limestone.order.yaml").write_text(textwrap.dedent(f"  seed: 5\n  title:{text}\n"), "utf-8")
    capsys.readouterr()
    assert main(["paper", "limestone.order.yaml", "--form", "text", "--to", "limestone"]) == 0
    assert "unusual, and printed" not in capsys.readouterr().out
    (page,) = (folder / "limestone").glob("*questions.txt")
    assert "1.410 g" in page.read_text("utf-8")
    assert "22.35 cm³" in page.read_text("utf-8")


def test_the_experiment_of_the_help_is_solved_printed_and_kept_by_its_commands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text, _, rest = SOLVE_EXAMPLE.partition("  experiment:")[2].partition("\n\n")
    (tmp_path / "stone.yaml").write_text(textwrap.dedent(f"  experiment:{text}\n"), "utf-8")
    lines = [line for line in rest.splitlines() if line.startswith("molewright ")]
    assert len(lines) == 4
    for command in lines:
        assert main(shlex.split(command)[1:]) == 0, capsys.readouterr().err
    assert "Answer: percentage of CaCO₃ in stone = 94.9" in capsys.readouterr().out
    assert list((tmp_path / "out" / "stone").glob("*-B-*mark-scheme.pdf"))
    assert list((tmp_path / "my-stones" / "archetypes").iterdir())
    assert all(re.search(rf"\b{word}\b", SOLVE_EXAMPLE) for word in OPERATIONS)


def test_the_experiment_of_the_readme_gives_what_the_guide_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (text,) = re.findall(r"```yaml\n(experiment: .*?)```", README, re.DOTALL)
    (tmp_path / "stone.yaml").write_text(text, "utf-8")
    assert main(["solve", str(tmp_path / "stone.yaml")]) == 0
    assert "94.9" in capsys.readouterr().out


def test_the_experiment_of_the_guide_gives_what_is_said(
    workshop: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["solve", str(workshop[0] / "experiment.yaml")]) == 0
    out = capsys.readouterr().out.replace("\N{NO-BREAK SPACE}", " ")
    assert "94.9 %" in out
    assert "Accepted: 94.8 to 95.0 %" in out
    assert "prints the steps, 94.9 %, the accepted range 94.8 to 95.0 %" in GUIDE


def test_the_readme_installs_by_the_two_commands_and_by_other_tools() -> None:
    plain, tests = (block for _, block in BLOCKS.findall(README) if block.startswith("python3 -m venv"))
    assert plain.strip().endswith(".venv/bin/molewright paper")
    assert README.index("<!-- test command -->") < README.index(tests)
    assert "pipx install ." in README
    assert "uv tool install ." in README


def test_the_readme_is_read_on_a_page_and_a_half() -> None:
    assert len(README.splitlines()) <= 95


@pytest.mark.parametrize("text", [README, DEVELOPERS, GUIDE], ids=["README", "DEVELOPERS", "banks"])
def test_a_file_that_is_linked_is_there(text: str) -> None:
    folder = TOP / "banks" if text is GUIDE else TOP
    linked = re.findall(r"\]\(([^)#]+)\)", text)
    assert all((folder / one).exists() for one in linked), linked


def test_the_version_is_told_once() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["version"] == molewright.__version__
    assert f"## {project['version']}" in (TOP / "CHANGELOG.md").read_text("utf-8")


# ------------------------------------------------------------------ DEVELOPERS


def test_the_law_of_imports_is_told_as_it_is_held() -> None:
    assert [room.strip("`") for room, _ in table(DEVELOPERS, "| folder | what it is |")] == list(ORDER)


def test_the_strangers_are_told_as_they_are_held() -> None:
    told = dict(table(DEVELOPERS, "| folder | does not know |"))
    held = {
        room: ", ".join(one.replace("* but", "anything but") for one in strangers)
        for room, strangers in STRANGERS.items()
    }
    assert told == held


def test_a_module_that_is_named_exists() -> None:
    named = re.findall(rf"`((?:{ROOMS}|further_parts)/[\w/]+)`", DEVELOPERS)
    assert len(named) > 40
    assert not [one for one in named if one.replace("/", ".") not in MODULES]


def test_a_file_that_is_named_exists() -> None:
    named = re.findall(r"`((?:tests|banks|templates|generator)/[\w./-]*)`", DEVELOPERS + README)
    assert len(named) > 5
    assert not [one for one in named if not (TOP / one).exists()]


@pytest.mark.parametrize("benchmark", python_commands(DEVELOPERS))
def test_a_benchmark_starts(benchmark: str, plain_environment: dict[str, str]) -> None:
    run = subprocess.run(
        [sys.executable, TOP / benchmark, "--small"],
        capture_output=True,
        text=True,
        env={**plain_environment, "PYTHONPATH": str(Path(molewright.__file__).resolve().parents[1])},
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.strip()


# ------------------------------------------------------------------ figures

MEASURED = re.compile(r"[0-9.,]+ (?:to [0-9.,]+ )?(?:ms|s|MB|a second|times(?: as long)?)(?![\w])")


def test_what_was_measured_says_at_which_version() -> None:
    """Times and memory stand in one section, under the line that says what they were measured with."""
    section = DEVELOPERS[DEVELOPERS.index("## Speed") :]
    assert re.match(r"## Speed\n\nMeasured at version [0-9]+\.[0-9]+\.[0-9]+ on [^.]*Python 3\.", section)
    assert len(MEASURED.findall(section)) >= 9
    for text in (README, DEVELOPERS[: DEVELOPERS.index("## Speed")]):
        assert not MEASURED.findall(text)


def test_what_is_counted_is_what_there_is() -> None:
    bank = molewright.read_banks()
    stated = sum(not slip.unseen for slip in bank.slips)
    assert f"(banks/slips.yaml, {len(bank.slips)}): {stated} are stated as algebra" in DEVELOPERS
    assert f"(banks/faults.yaml, {len(bank.faults)} entries" in DEVELOPERS
    published = json.loads((TOP / "tests" / "reference" / "published.json").read_text("utf-8"))
    answers = [also for row in published.values() for also in (row, *row.get("also", ()))]
    choices = json.loads((TOP / "tests" / "reference" / "published_choices.json").read_text("utf-8"))
    told = re.search(r"([0-9]+) of 100 are solved, ([0-9]+) printed answers", DEVELOPERS)
    assert told is not None
    assert int(told[2]) == len(answers) + len(choices)
    solved, second = re.search(r"([0-9]+) of 100 collected.*?([0-9]+) second\s+answers", README, re.DOTALL).groups()  # type: ignore[union-attr]
    assert (solved, int(second)) == (told[1], int(told[2]) - int(told[1]))
    least = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]["requires-python"]
    assert f"Python {least.removeprefix('>=')} or newer" in README


def test_every_command_of_the_tests_starts() -> None:
    """What tests/README.md and DEVELOPERS.md name beside the benchmarks: each says what it takes."""
    text = DEVELOPERS + (TOP / "tests" / "README.md").read_text("utf-8")
    named = set(re.findall(r"python (tests/[a-z_]+\.py)", text))
    assert len(named) >= 4
    for script in sorted(named):
        run = subprocess.run([sys.executable, TOP / script, "--help"], capture_output=True, text=True, check=False)
        assert run.returncode == 0, run.stderr
        assert "usage:" in run.stdout


def test_every_benchmark_is_named() -> None:
    assert sorted(python_commands(DEVELOPERS)) == sorted(
        path.relative_to(TOP).as_posix() for path in (TOP / "tests" / "speed").glob("*.py")
    )


def test_the_lines_for_people_who_program_run(
    workshop: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (lines,) = [block for language, block in BLOCKS.findall(DEVELOPERS) if language == "python"]
    folder = workshop[0]
    for name in ("experiment.yaml", "answers.csv"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    (tmp_path / "out").mkdir()
    for path in (folder / "out").glob("*-record.jsonl"):
        (tmp_path / "out" / path.name).write_bytes(path.read_bytes())
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    exec(lines, names)
    assert set(molewright.__all__) >= {"make_sheets", "write_papers", "solve_experiment", "mark_answers"}
    assert {"banks", "order", "sheets", "files", "solved", "rows"} <= set(names)
