"""A run that is killed, or whose window is closed, leaves nothing that the next one does not clear; two at once do not overwrite."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from molewright.errors import Mistake
from molewright.machine import files
from molewright.machine.files import Staging, clear_abandoned
from molewright.machine.held import Held

# Writes a set of files, and is killed before it does the file system's work of the given number; without second names if asked so.
KILLED = """\
import os, signal, sys
from pathlib import Path
from molewright.machine.files import Staging
folder, left, links, new = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == "links", sys.argv[4]
def counted(work):
    def run(*given, **named):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return work(*given, **named)
    return run
def refused(*given, **named):
    raise PermissionError(1, "Operation not permitted")
os.link = counted(os.link if links else refused)
for name in ("replace", "mkdir", "unlink", "rmdir", "symlink"):
    setattr(os, name, counted(getattr(os, name)))
Path.touch = counted(Path.touch)
with Staging(folder, replace=True) as staging:
    for name in ("a.txt", "b.txt", "new.txt"):
        staging.add(name, f"{new} {name}".encode())
"""
posix = pytest.mark.skipif(sys.platform == "win32", reason="only a file system with locks tells who holds a folder")
OLD = {"a.txt": b"old a.txt", "b.txt": b"old b.txt", "mine.txt": b"mine"}
NEW = {"a.txt": b"new a.txt", "b.txt": b"new b.txt", "new.txt": b"new new.txt", "mine.txt": b"mine"}


def held_by(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def lay(folder: Path, content: dict[str, bytes]) -> None:
    folder.mkdir(exist_ok=True)
    for name, raw in content.items():
        (folder / name).write_bytes(raw)


@posix
@pytest.mark.thorough
@pytest.mark.parametrize("there", ["others", "the same"])
@pytest.mark.parametrize("links", ["links", "no links"])
def test_a_run_killed_at_any_moment_leaves_the_old_set_or_the_new_one(
    there: str, links: str, tmp_path: Path, plain_environment: dict[str, str]
) -> None:
    kills = 0
    for step in range(60):
        folder = tmp_path / str(step)
        lay(folder, OLD)
        new = "new" if there == "others" else "old"
        run = subprocess.run(
            [sys.executable, "-c", KILLED, folder, str(step), links, new], env=plain_environment, check=False
        )
        whole = {name: raw.replace(b"new", new.encode(), 1) for name, raw in NEW.items()}
        found = held_by(folder)  # at no moment is the old set nowhere while the new one is not whole
        assert set(OLD.values()) <= set(found.values()) or whole.items() <= found.items(), step
        cleared = clear_abandoned(folder)
        after = held_by(folder)
        assert after in (OLD, whole), (step, after)
        assert sorted(path.name for path in folder.iterdir()) == sorted(after)
        if run.returncode == 0:
            assert after == whole
            assert cleared == 0
            break
        assert run.returncode == -signal.SIGKILL
        kills += 1
    else:
        pytest.fail("the run never came to its end")
    assert kills > 12


@posix
def test_what_a_killed_run_left_is_cleared_by_the_next_that_writes_there(tmp_path: Path) -> None:
    left = tmp_path / ".unfinished-abc"
    lay(left, {"ilsa-quern.txt": b"a pupil's paper"})
    with Staging(tmp_path) as staging:
        staging.add("a.txt", b"A")
    assert held_by(tmp_path) == {"a.txt": b"A"}
    assert not left.exists()


@posix
def test_what_somebody_wrote_since_is_not_taken_back(tmp_path: Path) -> None:
    left = tmp_path / ".unfinished-abc"
    lay(left, {"a.txt": b"new a", "b.txt": b"new b", "c.txt": b"new c"})
    lay(left / ".earlier", {"a.txt": b"old a", "b.txt": b"old b"})
    lay(tmp_path, {"a.txt": b"new a", "b.txt": b"since then", "c.txt": b"new c"})
    assert clear_abandoned(tmp_path) == 1
    assert held_by(tmp_path) == {"a.txt": b"old a", "b.txt": b"since then"}


@posix
def test_a_run_that_goes_on_is_not_cleared(tmp_path: Path) -> None:
    with Staging(tmp_path) as first:
        first.add("a.txt", b"A")
        assert clear_abandoned(tmp_path) == 0
        with Staging(tmp_path) as second:
            second.add("b.txt", b"B")
    assert held_by(tmp_path) == {"a.txt": b"A", "b.txt": b"B"}


@posix
def test_a_folder_is_held_by_one_run_alone(tmp_path: Path) -> None:
    held = Held(tmp_path, wait=False)
    with pytest.raises(BlockingIOError):
        Held(tmp_path, wait=False)
    held.let_go()
    Held(tmp_path, wait=False).let_go()


def test_where_nobody_can_tell_who_holds_a_folder_only_an_old_one_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on Windows, and on file systems without locks."""
    for name, days in (("old", 2), ("young", 0)):
        lay(tmp_path / f".unfinished-{name}", {"a.txt": b"A"})
        then = time.time() - days * 24 * 3600
        os.utime(tmp_path / f".unfinished-{name}", (then, then))
    monkeypatch.setattr(Held, "surely", False)
    assert clear_abandoned(tmp_path) == 1
    assert [path.name for path in tmp_path.iterdir()] == [".unfinished-young"]


@pytest.mark.parametrize("name", [".unfinished-file", ".finished-link", "unfinished-abc", ".hidden"])
def test_what_is_no_stage_is_left_alone(name: str, tmp_path: Path) -> None:
    lay(tmp_path / "elsewhere", {"a.txt": b"A"})
    if name.endswith("link"):
        (tmp_path / name).symlink_to(tmp_path / "elsewhere")
    elif name.endswith("file"):
        (tmp_path / name).write_bytes(b"mine")
    else:
        lay(tmp_path / name, {"a.txt": b"A"})
    before = held_by(tmp_path)
    assert clear_abandoned(tmp_path) == 0
    assert held_by(tmp_path) == before


def test_a_folder_that_is_not_there_holds_nothing_to_clear(tmp_path: Path) -> None:
    assert clear_abandoned(tmp_path / "none") == 0


# ------------------------------------------------------------------ two runs at once


def both(folder: Path, replace: bool) -> str:
    """Two runs that each find room at first; what the second one, which is done last, is told."""
    first = Staging(folder, replace)
    try:
        with Staging(folder, replace) as second, first:
            for staging, whose in ((first, "first"), (second, "second")):
                staging.add("a.txt", whose.encode())
                staging.append("b.txt", whose.encode())
                staging.finish("b.txt")
    except Mistake as mistake:
        return str(mistake)
    return ""


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_comes_in_between_is_not_overwritten(
    links: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program writes it after it was found that there is room: only the system itself can tell."""
    claim, link = files._claim, os.link

    def late(here: Path, there: Path) -> None:
        if there.name == "b.txt":
            there.write_bytes(b"another's")
        claim(here, there)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(files, "_claim", late)
    monkeypatch.setattr(os, "link", link if links else refused)

    def write() -> None:
        with Staging(tmp_path) as staging:
            staging.add("a.txt", b"A")
            staging.add("b.txt", b"B")

    with pytest.raises(Mistake, match=r"'b\.txt' is there already"):
        write()
    assert held_by(tmp_path) == {"b.txt": b"another's"}


# ------------------------------------------------------------------ a closed window


@posix
@pytest.mark.thorough
@pytest.mark.parametrize("stop", ["SIGHUP", "SIGTERM"])
def test_a_closed_window_leaves_nothing(stop: str, tmp_path: Path, plain_environment: dict[str, str]) -> None:
    (tmp_path / "class.txt").write_text("\n".join(f"Pupil {number}" for number in range(200)), "utf-8")
    arguments = ["paper", "--class-list", "class.txt", "--questions", "2", "--seed", "3", "--form", "text"]
    command = "import sys; from molewright.cli import main; sys.exit(main())"
    with subprocess.Popen(
        [sys.executable, "-c", command, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env=plain_environment,
        preexec_fn=lambda: signal.signal(getattr(signal, stop), signal.SIG_DFL),  # tests under nohup hear no SIGHUP
    ) as process:
        until = time.monotonic() + 60
        while not any(tmp_path.glob("out/.unfinished-*/*")) and time.monotonic() < until:
            time.sleep(0.02)
        process.send_signal(getattr(signal, stop))
        _, complaint = process.communicate(timeout=60)
    assert process.returncode == 130, complaint
    assert b"interrupted; no file is left half written" in complaint
    assert [path.name for path in tmp_path.iterdir()] == ["class.txt"]


@posix
def test_who_passes_a_closed_window_over_is_not_stopped(plain_environment: dict[str, str]) -> None:
    """As nohup asks."""
    script = (
        "import signal; signal.signal(signal.SIGHUP, signal.SIG_IGN)\n"
        "from molewright.machine import stopping; stopping.listen()\n"
        "with stopping.undisturbed(): signal.raise_signal(signal.SIGHUP)\n"
        "print(signal.getsignal(signal.SIGHUP) == signal.SIG_IGN)"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, env=plain_environment, check=True)
    assert run.stdout.strip() == b"True"
