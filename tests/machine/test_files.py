"""Files stand in their folder whole, all of them, or not at all."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from molewright.errors import Mistake
from molewright.machine.files import Staging


def listed(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def write(folder: Path, files: dict[str, bytes], replace: bool = False) -> list[str]:
    with Staging(folder, replace) as staging:
        for name, content in files.items():
            staging.add(name, content)
    return staging.written


def test_files_are_written_together_and_nothing_else_is_left(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "er"
    assert write(folder, {"b.txt": b"B", "a.txt": b"A"}) == ["b.txt", "a.txt"]
    assert listed(folder) == ["a.txt", "b.txt"]
    assert (folder / "a.txt").read_bytes() == b"A"


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RuntimeError, Mistake, SystemExit])
def test_whatever_stops_it_leaves_nothing(tmp_path: Path, stop: type[BaseException]) -> None:
    def interrupted() -> None:
        with Staging(tmp_path / "deep" / "er") as staging:
            staging.add("a.txt", b"A")
            raise stop("now")

    with pytest.raises(stop):
        interrupted()
    assert listed(tmp_path) == []


def test_a_stop_leaves_what_was_there_before(tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_bytes(b"old")

    def interrupted() -> None:
        with Staging(tmp_path, replace=True) as staging:
            staging.add("old.txt", b"new")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert listed(tmp_path) == ["old.txt"]
    assert (tmp_path / "old.txt").read_bytes() == b"old"


def test_a_different_file_is_not_replaced_unless_asked(tmp_path: Path) -> None:
    write(tmp_path, {"a.txt": b"A"})
    with pytest.raises(Mistake, match=r"'a.txt' is there already and is not the same") as caught:
        write(tmp_path, {"b.txt": b"B", "a.txt": b"other"})
    assert "--replace" in caught.value.do
    assert listed(tmp_path) == ["a.txt"]
    write(tmp_path, {"a.txt": b"other"}, replace=True)
    assert (tmp_path / "a.txt").read_bytes() == b"other"


def test_the_same_file_may_be_written_again(tmp_path: Path) -> None:
    write(tmp_path, {"a.txt": b"A"})
    assert write(tmp_path, {"a.txt": b"A"}) == ["a.txt"]


@pytest.mark.parametrize("below", [(), ("sub",), ("sub", "sub")])
def test_a_folder_that_is_a_file_cannot_be_written(tmp_path: Path, below: tuple[str, ...]) -> None:
    (tmp_path / "file").write_bytes(b"here")
    with pytest.raises(Mistake, match="the folder cannot be written") as caught:
        write(tmp_path.joinpath("file", *below), {"a.txt": b"A"})
    assert "--to" in caught.value.do
    assert (tmp_path / "file").read_bytes() == b"here"


def test_a_folder_whose_name_is_too_long_is_told_and_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="the folder cannot be written"):
        write(tmp_path / ("x" * 300), {"a.txt": b"A"})
    assert listed(tmp_path) == []


def test_a_disk_without_room_is_told_as_such_and_leaves_nothing(tmp_path: Path) -> None:
    """A real limit of the system on what one file may hold, which the write runs into."""
    resource = pytest.importorskip("resource", reason="the limit is one of POSIX systems")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    try:
        with pytest.raises(Mistake, match="there is no room for the files") as caught:
            write(tmp_path, {"a.txt": b"A", "b.txt": bytes(2000)})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert caught.value.do.startswith("Make room")
    assert listed(tmp_path) == []


def test_a_folder_in_place_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(Mistake, match="is there already"):
        write(tmp_path, {"a.txt": b"A"})


def test_a_folder_in_the_way_leaves_nothing_even_with_replace(tmp_path: Path) -> None:
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(Mistake):
        write(tmp_path, {"a.txt": b"A", "b.txt": b"B"}, replace=True)
    assert listed(tmp_path) == ["b.txt"]


def test_a_link_that_leads_nowhere_is_a_file_that_is_there(tmp_path: Path) -> None:
    (tmp_path / "a.txt").symlink_to(tmp_path / "none" / "a.txt")
    with pytest.raises(Mistake, match="is there already and is not the same"):
        write(tmp_path, {"a.txt": b"A"})
    assert (tmp_path / "a.txt").is_symlink()


def test_a_link_is_replaced_and_what_it_leads_to_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "victim").write_bytes(b"mine")
    (tmp_path / "a.txt").symlink_to(tmp_path / "victim")
    write(tmp_path, {"a.txt": b"A"}, replace=True)
    assert (tmp_path / "victim").read_bytes() == b"mine"
    assert not (tmp_path / "a.txt").is_symlink()


def test_a_file_that_cannot_be_moved_in_puts_back_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on Windows, where a page that is open in a viewer cannot be replaced."""
    write(tmp_path, {"a.txt": b"old A", "c.txt": b"old C"})
    move = os.replace

    def held(source: Path, target: Path) -> None:
        if target == tmp_path / "c.txt" and source.read_bytes() == b"new C":
            raise PermissionError(13, "Permission denied", str(target))
        move(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(Mistake, match=r"the folder cannot be written \(Permission denied\)"):
        write(tmp_path, {"a.txt": b"new A", "b.txt": b"new B", "c.txt": b"new C"}, replace=True)
    assert listed(tmp_path) == ["a.txt", "c.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"old A"
    assert (tmp_path / "c.txt").read_bytes() == b"old C"


@pytest.fixture
def interruptible() -> Iterator[None]:
    """Interrupts are heard, even where the tests run in the background of a shell, which has them ignored."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("interruptible")
def test_an_interrupt_waits_until_the_files_have_moved_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    move = os.replace

    def interrupting(source: Path, target: Path) -> None:
        move(source, target)
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(os, "replace", interrupting)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path, {"a.txt": b"A", "b.txt": b"B"})
    assert listed(tmp_path) == ["a.txt", "b.txt"]


@pytest.mark.usefixtures("interruptible")
def test_a_second_interrupt_does_not_stop_the_tidying_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    remove = shutil.rmtree

    def interrupting(*arguments: Any, **named: Any) -> None:
        signal.raise_signal(signal.SIGINT)
        remove(*arguments, **named)

    monkeypatch.setattr(shutil, "rmtree", interrupting)

    def interrupted() -> None:
        with Staging(tmp_path / "deep") as staging:
            staging.add("a.txt", b"A")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert listed(tmp_path) == []


# ------------------------------------------------------------------ a file that grows


def grow(folder: Path, *pieces: bytes, replace: bool = False) -> list[str]:
    """A file written aside piece by piece, and moved in."""
    with Staging(folder, replace) as staging:
        for piece in pieces:
            staging.append("grown.txt", piece)
            assert not (folder / "grown.txt").exists() or (folder / "grown.txt").stat().st_size > 0
        staging.finish("grown.txt")
    return staging.written


def test_a_file_that_grows_stands_there_whole_at_the_end(tmp_path: Path) -> None:
    assert grow(tmp_path, b"one ", b"two ", b"three") == ["grown.txt"]
    assert (tmp_path / "grown.txt").read_bytes() == b"one two three"
    assert listed(tmp_path) == ["grown.txt"]


def test_a_file_that_grew_is_not_put_in_the_place_of_a_different_one_unless_asked(tmp_path: Path) -> None:
    grow(tmp_path, b"one ", b"two")
    assert grow(tmp_path, b"one two") == ["grown.txt"]  # the same bytes in other pieces
    with pytest.raises(Mistake, match="is there already and is not the same"):
        grow(tmp_path, b"other")
    assert (tmp_path / "grown.txt").read_bytes() == b"one two"
    grow(tmp_path, b"other", replace=True)
    assert (tmp_path / "grown.txt").read_bytes() == b"other"
    (tmp_path / "grown.txt").unlink()
    (tmp_path / "grown.txt").mkdir()
    with pytest.raises(Mistake, match=r"a folder called 'grown\.txt' is there already"):
        grow(tmp_path, b"one", replace=True)


def test_a_file_that_was_growing_when_it_stopped_leaves_nothing(tmp_path: Path) -> None:
    def stopped() -> None:
        with Staging(tmp_path / "deep") as staging:
            staging.append("grown.txt", b"one")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert listed(tmp_path) == []
