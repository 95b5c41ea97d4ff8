"""A set is the same to the last byte whoever makes it, and a run of several processes that is stopped leaves nothing."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from itertools import chain
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.machine import workers
from molewright.machine.workers import HERE, Workers
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import write_papers
from shared.sending import Sending

NAMES = ("Ilsa Quern", "Bram Tollo", "Edda Voss", "Ada Holm", "Jory Penn", "Tam Harrow", "Mira Sallow", "Ewan Strake")
PUPILS = tuple(Pupil(name=name) for name in NAMES)
AT_LEVELS = tuple(
    Pupil(name=name, level=level) for name, level in zip(NAMES, ("structured", "stretch") * 4, strict=True)
)
ALL = ("questions", "scheme", "worked", "answers", "marking", "class", "data", "method")
SETS = {
    "a class with numbers of their own": (Order(seed=3, count=1), Wanted(pupils=PUPILS, numbers="own")),
    "two levels that share their numbers": (
        Order(seed=11, count=2),
        Wanted(pupils=AT_LEVELS, numbers="shared", sheets=ALL, forms=("pdf", "text")),
    ),
    "versions, and each paper in a file of its own": (
        Order(seed=5, count=1),
        Wanted(versions=("A", "B", "C"), forms=("pdf", "html"), fillable=True),
    ),
}


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.parametrize(
    "what", [*list(SETS)[:1], *(pytest.param(one, marks=pytest.mark.thorough) for one in list(SETS)[1:])]
)
def test_what_goes_through_pickling_is_the_same_to_the_last_byte(
    what: str, bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order, wanted = SETS[what]
    monkeypatch.setattr(workers, "LOT", 2)
    made = {}
    told = {}
    for name, who in (("here", HERE), ("elsewhere", Workers(executor=Sending(), ahead=lambda: 2))):
        papers = PaperSet(bank, order, wanted, plans)
        told[name] = list(summary(papers, write_papers(papers, tmp_path / name, workers=who)))
        made[name] = files(tmp_path / name)
    assert made["elsewhere"] == made["here"]
    assert told["elsewhere"] == told["here"]


def test_whoever_sees_the_folder_writes_files_there_and_they_are_the_same(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    order = Order(seed=5, count=1)
    wanted = Wanted(versions=("A", "B"), forms=("text",))
    executor = Sending()
    for name, who in (("here", HERE), ("shared", Workers(executor=executor, shared=True))):
        write_papers(PaperSet(bank, order, wanted, plans), tmp_path / name, workers=who)
    assert files(tmp_path / "shared") == files(tmp_path / "here")
    modes = {path.stat().st_mode & 0o777 for path in (tmp_path / "shared").iterdir()}
    assert len(modes) == 1, "a file may be read by fewer than the others"


def test_a_folder_that_only_some_see_is_told_of(
    bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "out").mkdir()
    monkeypatch.setattr(
        "molewright.papers.finished.write_aside",
        lambda _, content: files_of_another_machine(tmp_path / "elsewhere", content),
    )
    papers = PaperSet(bank, Order(seed=5, count=1), Wanted(forms=("text",)), plans)
    with pytest.raises(Mistake, match=r"was written by another machine and is not here.*a folder that all of them see"):
        write_papers(papers, tmp_path / "out", workers=Workers(executor=Sending(), shared=True))
    assert list((tmp_path / "out").iterdir()) == []


def files_of_another_machine(folder: Path, content: bytes) -> str:
    """Written there, under a name that is not here."""
    (folder / ".there").write_bytes(content)
    return ".there"


@pytest.mark.thorough
def test_two_processes_make_the_same_files_and_tell_how_far_they_are(
    bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers, "LOT", 2)
    order, wanted = SETS["a class with numbers of their own"]
    seen: list[tuple[int, int]] = []
    for name, who in (("one", HERE), ("two", Workers(2))):
        papers = PaperSet(bank, order, wanted, plans)
        write_papers(papers, tmp_path / name, progress=lambda *done: seen.append(done), workers=who)
    assert files(tmp_path / "one") == files(tmp_path / "two")
    assert seen == 2 * [(number, len(PUPILS)) for number in range(1, len(PUPILS) + 1)]


def test_what_cannot_be_is_told_as_one_process_tells_it(
    bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    papers = PaperSet(bank, Order(seed=3, count=1), Wanted(), plans)
    (tmp_path / "out").mkdir()
    monkeypatch.setattr("molewright.papers.finished.record", refused)
    for who in (HERE, Workers(executor=Sending())):
        with pytest.raises(Mistake, match="question 1: no such number; expected another"):
            write_papers(papers, tmp_path / "out", workers=who)
        assert list((tmp_path / "out").iterdir()) == []


def refused(_: object) -> None:
    raise Mistake("question 1: no such number", expected="another")


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform == "win32", reason="signals of Unix")
@pytest.mark.parametrize("stop", [lambda pid: os.killpg(pid, signal.SIGINT), lambda pid: os.kill(pid, signal.SIGTERM)])
def test_a_run_that_is_stopped_leaves_no_file_and_no_process(stop: Callable[[int], None], tmp_path: Path) -> None:
    names = tmp_path / "names.txt"
    names.write_text("".join(f"{NAMES[at % 8]} {at}\n" for at in range(2000)), "utf-8")
    command = ["-m", "molewright", "paper", "--class-list", str(names), "--questions", "1", "--seed", "1"]
    run = subprocess.Popen(
        [sys.executable, *command, "--workers", "2", "--to", str(tmp_path / "out")],
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # tests in the background of a shell hear none
    )
    try:
        wait_until(lambda: any((tmp_path / "out").rglob("*.pdf")))  # joined files have begun to grow
        stop(run.pid)  # a terminal tells all processes of a run, a system the first alone
        _, told = run.communicate(timeout=60)
        assert run.returncode
        assert b"Traceback" not in told, told.decode()
        assert not (tmp_path / "out").exists() or list((tmp_path / "out").iterdir()) == []
        wait_until(lambda: not alive(run.pid))
    finally:
        run.kill()
        run.communicate()


def alive(session: int) -> bool:
    """Whether any process of a session is left."""
    try:
        os.killpg(session, 0)
    except ProcessLookupError:
        return False
    return True


def wait_until(so: object, seconds: float = 60.0) -> None:
    assert callable(so)
    end = time.monotonic() + seconds
    while not so():
        assert time.monotonic() < end, "it did not come to that"
        time.sleep(0.05)


def test_a_large_set_has_several_joined_files_and_keys(
    bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("molewright.papers.joined_sheets.MOST_SHEETS", 3)
    monkeypatch.setattr("molewright.papers.writing.MOST_SHEETS", 3)
    wanted = Wanted(pupils=PUPILS, numbers="own", sheets=("questions", "class"), forms=("text",))
    papers = PaperSet(bank, Order(seed=3, count=1), wanted, plans)
    told = write_papers(papers, tmp_path)
    assert [name for name in told.files if "-questions" in name or "-class-key" in name] == [
        f"titration-homework-{papers.code}-{what}-{number}.txt"
        for what in ("questions", "class-key")
        for number in (1, 2, 3)
    ]
    pages = [path.read_text("utf-8").split("\f") for path in sorted(tmp_path.glob("*-questions-*.txt"))]
    assert [len(each) for each in pages] == [3, 3, 2]
    assert [name for name, page in zip(NAMES, chain(*pages), strict=True) if name not in page] == []
    keys = "".join(path.read_text("utf-8") for path in sorted(tmp_path.glob("*-class-key-*.txt")))
    assert all(keys.count(name) == 1 for name in NAMES)
