"""Finished files come in by name; they stand in their folder whole, all of them, or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from types import TracebackType

from generator.errors import Mistake, Where


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
            missing = [folder for folder in (self.folder, *self.folder.parents) if not folder.exists()]
            self.folder.mkdir(parents=True, exist_ok=True)
            self._made = missing
            self._stage = Path(tempfile.mkdtemp(prefix=".unfinished-", dir=self.folder))
        except OSError as broken:
            self._remove_made()
            raise _unwritable(self.folder, broken) from None
        return self

    def add(self, name: str, content: bytes) -> None:
        """Write one file aside. Raises Mistake if a different file of that name is there already."""
        assert self._stage is not None
        there = self.folder / name
        if there.is_dir():
            raise Mistake(f"a folder called '{name}' is there already", where=Where(str(self.folder)),
                          do="Move it, or name another folder.")  # fmt: skip
        if there.exists() and not self.replace and (not there.is_file() or there.read_bytes() != content):
            raise Mistake(
                f"'{name}' is there already and is not the same",
                where=Where(str(self.folder)),
                do="Name another folder, or say --replace.",
            )
        try:
            (self._stage / name).write_bytes(content)
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        self.written.append(name)

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self._stage is not None
        try:
            if kind is None:
                for name in self.written:
                    os.replace(self._stage / name, self.folder / name)  # noqa: PTH105 - one move, atomic
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        finally:
            shutil.rmtree(self._stage, ignore_errors=True)
            if kind is not None:
                self._remove_made()

    def _remove_made(self) -> None:
        for folder in self._made:
            if folder.is_dir() and not any(folder.iterdir()):
                folder.rmdir()


def _unwritable(folder: Path, broken: OSError) -> Mistake:
    return Mistake(
        f"the folder cannot be written ({broken.strerror or broken})",
        where=Where(str(folder)),
        do="Name another with --to, or check its permissions.",
    )
