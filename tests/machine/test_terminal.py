"""What is printed never fails on a letter, a closed pipe or a full disk, and no message runs on without end."""

from __future__ import annotations

import io
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from molewright.errors import Mistake, nearest
from molewright.machine import places, terminal
from shared.banks import built_in

COMMAND = "import sys; from molewright.cli import main; sys.exit(main())"


def run(environment: dict[str, str], *arguments: object, **streams: int) -> subprocess.CompletedProcess[bytes]:
    chosen = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **streams}
    return subprocess.run(
        [sys.executable, "-c", COMMAND, *map(str, arguments)], env=environment, timeout=60, check=False, **chosen
    )


@pytest.mark.parametrize("coding", ["ascii", "cp1252", "latin-1"])
@pytest.mark.parametrize("arguments", [("banks", "reactions"), ("paper", "--help")], ids=" ".join)
def test_a_coding_without_raised_figures_gets_them_spelt(
    arguments: tuple[str, ...], coding: str, plain_environment: dict[str, str]
) -> None:
    done = run({**plain_environment, "PYTHONIOENCODING": coding}, *arguments)
    assert (done.returncode, done.stderr) == (0, b"")
    said = done.stdout.decode(coding)
    assert "CaCO3(s) + 2HCl(aq) -> CaCl2(aq)" in said if arguments[0] == "banks" else re.search("mol dm-[3³]", said)


def test_letters_are_spelt_as_they_are_typed_without_their_signs(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(shown, "ascii"))
    terminal.prepare()
    print("2.604 × 10⁻³ mol dm⁻³ → 25.0\u00a0cm³, é, “a”, 日, \udcff")
    sys.stdout.flush()
    assert shown.getvalue() == b'2.604 x 10-3 mol dm-3 -> 25.0 cm3, e, "a", ?, ?\n'


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_told_and_is_no_fault_of_ours(plain_environment: dict[str, str]) -> None:
    with Path("/dev/full").open("wb") as full:
        done = run(plain_environment, "banks", "reactions", stdout=full.fileno())
        assert done.returncode == 1
        assert b"standard output: this cannot be read or written (No space left on device)" in done.stderr
        assert b"fault in molewright" not in done.stderr
        assert run(plain_environment, "solve", "none.yaml", stderr=full.fileno()).returncode == 1


def test_a_message_is_printable_and_ends(capsys: pytest.CaptureFixture[str]) -> None:
    terminal.say("\x1b[31mred\u202e\n" + "x" * 100_000 + "\n" + "fault\n" * 10_000)
    said = capsys.readouterr().err
    assert said.replace("\n", "").isprintable()
    assert len(said) < 2500
    assert "and 9963 more" in said


def test_a_word_without_end_has_no_near_names() -> None:
    assert nearest("limeston", ["limestone"]) == ("limestone",)
    assert nearest("limestone" * 1000, ["limestone"]) == ()


@pytest.mark.parametrize("arguments", [("check", "x" * 5000), ("paper", "--banks", "x" * 5000), ("solve", "x" * 5000),
                                       ("mark", "x" * 5000), ("paper", "--to", "x" * 5000), ("paper", "x" * 100_000)],
                         ids=lambda arguments: " ".join(arguments)[:20])  # fmt: skip
def test_a_name_without_end_is_one_short_sentence(
    arguments: tuple[str, ...], plain_environment: dict[str, str]
) -> None:
    done = run(plain_environment, *arguments)
    assert done.returncode == 1
    assert len(done.stderr) < 2000
    assert b"fault in molewright" not in done.stderr


@pytest.mark.parametrize("given", ["relative/folder", ""])
def test_plans_lie_in_no_folder_below_the_present_one(given: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification, version 0.8: a path that is not absolute is to be ignored."""
    monkeypatch.setenv("XDG_CACHE_HOME", given)
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    monkeypatch.setenv("HOME", "/somewhere")
    assert places.plans() == Path("/somewhere/.cache/molewright")


def test_without_a_home_plans_are_not_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    assert places.plans() is None


@pytest.mark.parametrize("home", ["/dev/null", "/nonexistent", "", "relative"])
def test_a_home_that_is_no_folder_stops_nothing(home: str, plain_environment: dict[str, str], tmp_path: Path) -> None:
    environment = {key: text for key, text in plain_environment.items() if key != "XDG_CACHE_HOME"} | {"HOME": home}
    done = subprocess.run(
        [sys.executable, "-c", COMMAND, "paper", "direct-purity", "--questions", "1", "--seed", "7", "--sheet", "answers"],
        cwd=tmp_path, env=environment, capture_output=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert list(tmp_path.glob("out/*.pdf"))


def test_nothing_of_a_home_is_run(plain_environment: dict[str, str], tmp_path: Path) -> None:
    """The library that sets type looks for settings there, which are code."""
    for name in (".reportlab_mods", ".reportlab_settings"):
        (tmp_path / name).write_text(f"open({str(tmp_path / 'ran')!r}, 'w')\n", "utf-8")
    environment = {**plain_environment, "HOME": str(tmp_path)}
    done = run(environment, "paper", "direct-purity", "--questions", "1", "--seed", "7", "--to", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert not (tmp_path / "ran").exists()


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="no telling how much memory is taken")
@pytest.mark.parametrize("more", [1, 4, 10, 25, 60])
def test_where_memory_is_short_a_sentence_says_so(more: int, plain_environment: dict[str, str], tmp_path: Path) -> None:
    script = (
        "import resource, sys\nfrom molewright.cli import main\n"
        "now = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize()\n"
        f"resource.setrlimit(resource.RLIMIT_AS, (now + {more}_000_000,) * 2)\nsys.exit(main())"
    )
    given = ["paper", "--seed", "5", "--questions", "3", "--to", str(tmp_path / "out")]
    done = subprocess.run(
        [sys.executable, "-c", script, *given], env=plain_environment, capture_output=True, check=False
    )
    if done.returncode:
        assert done.returncode == 1, done.stderr
        assert b"there is no memory left" in done.stderr
        assert not (tmp_path / "out").exists()
    assert done.returncode or more > 20


def test_an_empty_code_is_a_mistake_and_not_another_paper(plain_environment: dict[str, str], tmp_path: Path) -> None:
    done = run(plain_environment, "paper", "--code", "", "--to", tmp_path / "out")
    assert done.returncode == 1
    assert b"the paper code '' cannot be read" in done.stderr


def test_naming_every_kind_of_question_still_gives_a_code_that_a_file_can_be_called_by(
    tmp_path: Path, plain_environment: dict[str, str]
) -> None:
    kinds = tuple(built_in().archetypes)
    done = run(plain_environment, "paper", *kinds, "--sheet", "answers", "--form", "text", "--to", str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert max(len(path.name) for path in tmp_path.iterdir()) < 144  # what an encrypted home allows; from memory


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent otherwise")
@pytest.mark.parametrize("presses", [1, 2])
@pytest.mark.parametrize("wait", [0.3, 0.8, 1.4])
def test_an_interrupt_at_any_moment_leaves_all_files_or_none(
    wait: float, presses: int, tmp_path: Path, plain_environment: dict[str, str]
) -> None:
    (tmp_path / "class.txt").write_text("\n".join(f"Pupil {number}" for number in range(8)), "utf-8")
    arguments = ["paper", "--class-list", "class.txt", "--questions", "2", "--seed", "3", "--form", "text"]
    with subprocess.Popen([sys.executable, "-c", COMMAND, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          cwd=tmp_path, env=plain_environment) as process:  # fmt: skip
        time.sleep(wait)
        for _ in range(presses):
            process.send_signal(signal.SIGINT)
            time.sleep(0.002)
        _, complaint = process.communicate(timeout=60)
    found = [path.name for path in tmp_path.rglob("*") if path.is_file() and path.name != "class.txt"]
    assert len(found) in (0, 6)  # questions, key of the class, record, order, answer file twice
    assert not any(name.startswith(".") for name in found)
    if b"interrupted" in complaint:
        assert process.returncode == 130
        assert b"Traceback" not in complaint


def test_a_mistake_of_the_system_names_what_it_was_about() -> None:
    from molewright.cli.command import of_the_system

    told = of_the_system(FileNotFoundError(2, "No such file or directory", "plans/here"))
    assert isinstance(told, Mistake)
    assert str(told).startswith("plans/here: this cannot be read or written (No such file or directory)")
