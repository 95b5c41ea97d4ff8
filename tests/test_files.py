"""Files stand in their folder whole, all of them, or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.errors import Mistake
from generator.files import Staging


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


def test_a_folder_in_place_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(Mistake, match="is there already"):
        write(tmp_path, {"a.txt": b"A"})


def test_a_folder_in_the_way_leaves_nothing_even_with_replace(tmp_path: Path) -> None:
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(Mistake):
        write(tmp_path, {"a.txt": b"A", "b.txt": b"B"}, replace=True)
    assert listed(tmp_path) == ["b.txt"]
