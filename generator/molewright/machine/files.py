"""Finished files come in by name; they stand in their folder whole, all of them, or not at all."""

from __future__ import annotations

import contextlib
import filecmp
import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from molewright.errors import Mistake, Where


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """An interrupt waits until this is done: a second Ctrl-C must not stop the tidying up that the first began."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    waiting: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: waiting.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if waiting:
        raise KeyboardInterrupt


class Staging:
    """Files are written beside their folder and moved in together at the end; an interrupt or a mistake leaves nothing."""

    def __init__(self, folder: Path, replace: bool = False) -> None:
        self.folder = folder
        self.replace = replace
        self.written: list[str] = []
        self._made: list[Path] = []
        self._stage: Path | None = None

    def __enter__(self) -> Staging:
        try:
            with undisturbed():
                self._open()
        except KeyboardInterrupt:
            self._clear()
            self._remove_made()
            raise
        return self

    def _open(self) -> None:
        try:
            missing = [folder for folder in (self.folder, *self.folder.parents) if not folder.exists()]
            self.folder.mkdir(parents=True, exist_ok=True)
            self._made = missing
            self._stage = Path(tempfile.mkdtemp(prefix=".unfinished-", dir=self.folder))
        except OSError as broken:
            self._remove_made()
            raise _unwritable(self.folder, broken) from None

    def add(self, name: str, content: bytes) -> None:
        """Write one file aside. Raises Mistake if a different file of that name is there already."""
        assert self._stage is not None
        there = self.folder / name
        try:
            if there.is_dir() or (os.path.lexists(there) and not self.replace and not _same(there, content)):
                raise _taken(there)
            (self._stage / name).write_bytes(content)
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        self.written.append(name)

    def append(self, name: str, piece: bytes) -> None:
        """Write one more piece of a file that grows aside and is too large to be held; `finish` tells that it is whole."""
        assert self._stage is not None
        try:
            with (self._stage / name).open("ab") as growing:
                growing.write(piece)
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None

    def finish(self, name: str) -> None:
        """A file that grew is whole. Raises Mistake if a different file of that name is there already."""
        assert self._stage is not None
        there, grown = self.folder / name, self._stage / name
        try:
            if there.is_dir() or (
                os.path.lexists(there)
                and not self.replace
                and not (there.is_file() and filecmp.cmp(there, grown, shallow=False))
            ):
                raise _taken(there)
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        self.written.append(name)

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        with undisturbed():
            try:
                if kind is None:
                    self._move_in()
            except OSError as broken:
                kind = OSError
                raise _unwritable(self.folder, broken) from None
            finally:
                self._clear()
                if kind is not None:
                    self._remove_made()

    def _move_in(self) -> None:
        """Move every file to its place; where one cannot be moved, put back what was there before."""
        assert self._stage is not None
        earlier = self._stage / "earlier"
        earlier.mkdir()
        done: list[str] = []
        try:
            for name in dict.fromkeys(self.written):
                done.append(name)
                if os.path.lexists(self.folder / name):
                    os.replace(self.folder / name, earlier / name)  # noqa: PTH105 - one move, atomic
                os.replace(self._stage / name, self.folder / name)  # noqa: PTH105
        except OSError:
            for name in done:
                if os.path.lexists(earlier / name):
                    os.replace(earlier / name, self.folder / name)  # noqa: PTH105
                elif not (self._stage / name).exists():
                    (self.folder / name).unlink(missing_ok=True)
            raise

    def _clear(self) -> None:
        if self._stage is not None:
            shutil.rmtree(self._stage, ignore_errors=True)

    def _remove_made(self) -> None:
        for folder in self._made:
            if folder.is_dir() and not any(folder.iterdir()):
                folder.rmdir()


def _same(there: Path, content: bytes) -> bool:
    """Whether a file holds these bytes; it is read only where it is as long."""
    return there.is_file() and there.stat().st_size == len(content) and there.read_bytes() == content


def _taken(there: Path) -> Mistake:
    where = Where(str(there.parent))
    if there.is_dir():
        return Mistake(
            f"a folder called '{there.name}' is there already", where=where, do="Move it, or name another folder."
        )
    return Mistake(
        f"'{there.name}' is there already and is not the same",
        where=where,
        do="Name another folder, or say --replace.",
    )


def _unwritable(folder: Path, broken: OSError) -> Mistake:
    return Mistake(
        f"the folder cannot be written ({broken.strerror or broken})",
        where=Where(str(folder)),
        do="Name another with --to, or check its permissions.",
    )
