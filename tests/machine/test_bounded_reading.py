"""What is read from outside ends: a device, a pipe and a huge file stop where a file would."""

from __future__ import annotations

import contextlib
import os
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.errors import Mistake, Where
from molewright.machine.bounded_reading import lines_at_most, read_at_most
from molewright.marking.returned import read_returned
from molewright.order.class_list import read_class_list
from molewright.papers.record.reader import read_record
from molewright.reading.yaml_text import read_tree

READERS: dict[str, Callable[[Path], object]] = {
    "class list": read_class_list, "YAML": read_tree, "answers": read_returned,
}  # fmt: skip


@pytest.mark.parametrize("what", READERS)
@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device without an end")
def test_a_device_without_an_end_is_too_large(what: str) -> None:
    with pytest.raises(Mistake, match="too large"):
        READERS[what](Path("/dev/zero"))


@pytest.mark.parametrize("what", [*READERS, "record"])
@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names")
def test_a_pipe_that_nobody_writes_into_is_refused_at_once(what: str, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(Mistake, match="it is a pipe, not a file"):
        {**READERS, "record": read_record}[what](tmp_path / "pipe")


@pytest.mark.parametrize("what", [*READERS, "record"])
@pytest.mark.parametrize(
    "piece", ["\n", "\r\n", " ", " \n", "\t", ",", ",\n", '"', '""\n', "a\n", "- \n", "[", "{}\n", "#\n", "\u2028"]
)
def test_a_file_of_one_piece_again_and_again_takes_no_more_memory_than_it_has_room(
    piece: str, what: str, tmp_path: Path
) -> None:
    """A pattern that may begin again and again remembers each beginning: 126 bytes a line, once."""
    size = 200_000
    (tmp_path / "file").write_text(piece * (size // len(piece.encode())), "utf-8", newline="")
    tracemalloc.start()
    try:
        with contextlib.suppress(Mistake):
            {**READERS, "record": read_record}[what](tmp_path / "file")
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 90 * size + 1_000_000


def test_a_file_of_just_the_size_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"12345")
    assert read_at_most(tmp_path / "file", 5) == b"12345"
    assert read_at_most(tmp_path / "file", 4) is None


def test_a_place_is_named_by_every_reader(tmp_path: Path) -> None:
    for read in READERS.values():
        with pytest.raises(Mistake) as caught:
            read(tmp_path / "none")
        assert isinstance(caught.value.where, Where)
        assert "none" in caught.value.where.file


def test_lines_are_read_with_the_place_where_each_begins(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"one\ntwo\n\nlast")
    found = list(lines_at_most(tmp_path / "file", 100, 4))
    assert found == [(0, b"one\n"), (4, b"two\n"), (8, b"\n"), (9, b"last")]


def test_a_line_that_is_too_long_or_lies_too_far_ends_the_reading(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"one\ntwo\n\nlast\n")
    assert list(lines_at_most(tmp_path / "file", 100, 4))[-1] == (9, None)
    assert list(lines_at_most(tmp_path / "file", 7, 10)) == [(0, b"one\n"), (4, None)]


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device without an end")
def test_a_line_without_end_is_not_read() -> None:
    assert list(lines_at_most(Path("/dev/zero"), 1000, 100)) == [(0, None)]


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device without an end")
def test_a_device_is_no_record() -> None:
    with pytest.raises(Mistake, match=r"the record is too large|cannot be read"):
        read_record(Path("/dev/zero"))
