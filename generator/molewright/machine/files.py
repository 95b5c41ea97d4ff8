"""Finished files come in by name; they stand in their folder whole, all of them, or not at all.

A run works in a hidden folder beside its files, which it holds. Whatever ends it, the next run in the same folder finds what is left,
puts back what was there before, and clears it away.
"""

from __future__ import annotations

import contextlib
import errno
import filecmp
import os
import shutil
import tempfile
from pathlib import Path
from types import TracebackType

from molewright.errors import Mistake, Where
from molewright.machine.held import Held, alone, is_abandoned
from molewright.machine.stopping import undisturbed

_UNFINISHED, _FINISHED = ".unfinished-", ".finished-"
_EARLIER, _GATHERED = ".earlier", ".gathered"  # what was there before: all of it, and while it is gathered
_BESIDE = ".beside"
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)  # the disk, the person's share of it, or what one file may hold


class Staging:
    """Files are written beside their folder and moved in together at the end; an interrupt or a mistake leaves nothing."""

    def __init__(self, folder: Path, replace: bool = False) -> None:
        self.folder = folder
        self.replace = replace
        self.written: list[str] = []
        self._made: list[Path] = []
        self._stage: Path | None = None
        self._held: Held | None = None

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
            with alone(self.folder):
                _clear_abandoned(self.folder)
                self._stage = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=self.folder))
                self._held = Held(self._stage, wait=False)
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

    @property
    def aside(self) -> Path:
        """Where files are written before they are moved in: another process that sees it may write some of them (`write_aside`)."""
        assert self._stage is not None
        return self._stage

    def take(self, name: str, written: str) -> None:
        """A file that another process has written aside gets its name. Raises Mistake as `add` does, and if it is not there."""
        assert self._stage is not None
        try:
            os.replace(self._stage / written, self._stage / name)  # noqa: PTH105
        except FileNotFoundError:
            raise Mistake(
                f"'{name}' was written by another machine and is not here",
                where=Where(str(self.folder)),
                expected="a folder that all of them see at this path",
            ) from None
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        self.finish(name)

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
        try:
            self._require_room(name)
        except OSError as broken:
            raise _unwritable(self.folder, broken) from None
        self.written.append(name)

    def _require_room(self, name: str) -> None:
        """Raises Mistake if a different file of that name is there already and may not be replaced."""
        assert self._stage is not None
        there = self.folder / name
        if there.is_dir() or (os.path.lexists(there) and not self.replace and not _alike(there, self._stage / name)):
            raise _taken(there)

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        with undisturbed():
            try:
                if kind is None:
                    with alone(self.folder):
                        self._move_in()
            except OSError as broken:
                kind = OSError
                raise _unwritable(self.folder, broken) from None
            except Mistake:
                kind = Mistake
                raise
            finally:
                self._clear()
                if kind is not None:
                    self._remove_made()

    def _move_in(self) -> None:
        """Put every file in its place; where one cannot be put there, what was there before is put back.

        Whatever is there stays there until its successor takes its place, and has a second name in the stage until all is done: at
        no moment is it nowhere, and a run that is killed leaves the next one all that it needs to put it back.
        """
        assert self._stage is not None
        names = tuple(dict.fromkeys(self.written))
        for name in names:  # another run may have come first since `add`
            self._require_room(name)
        gathered, earlier = self._stage / _GATHERED, self._stage / _EARLIER
        gathered.mkdir()
        for name in names:
            if os.path.lexists(self.folder / name):
                _keep(self.folder / name, gathered / name)
        os.replace(gathered, earlier)  # noqa: PTH105 - one move, atomic: from here on it can be put back
        try:
            for name in names:
                self._put(name, os.path.lexists(earlier / name))
        except (OSError, Mistake):
            _put_back(self.folder, self._stage)
            raise

    def _put(self, name: str, was_there: bool) -> None:
        """Put one file in its place; where nothing was there, only if nothing is there now."""
        assert self._stage is not None
        there, here = self.folder / name, self._stage / name
        if not was_there:
            try:
                _claim(here, there)
            except FileExistsError:
                raise _taken(there) from None
        elif there.is_symlink() or not _alike(there, here):
            _replace(here, there)

    def _clear(self) -> None:
        if self._stage is not None:
            _throw_away(self._stage)
        if self._held is not None:
            self._held.let_go()

    def _remove_made(self) -> None:
        for folder in self._made:
            with contextlib.suppress(OSError):  # another run has begun to write there
                if folder.is_dir() and not any(folder.iterdir()):
                    folder.rmdir()


def write_aside(folder: Path, content: bytes) -> str:
    """Write a file where a `Staging` of another process takes it from; its name until then. Raises Mistake where that cannot be."""
    try:
        handle, name = tempfile.mkstemp(
            prefix=".", dir=folder
        )  # a name of its own, and a file that is its writer's alone
        os.close(handle)
        written = Path(f"{name}-")
        written.write_bytes(content)  # one that is whose every other file is
        Path(name).unlink()
    except OSError as broken:
        raise _unwritable(folder.parent, broken) from None
    return written.name


def clear_abandoned(folder: Path) -> int:
    """How many runs were stopped in a folder before they could tidy up. What they left is cleared, what was there before put back."""
    try:
        if not folder.is_dir():
            return 0
        with alone(folder):
            return _clear_abandoned(folder)
    except OSError:  # whoever writes there is told why that cannot be done
        return 0


def _clear_abandoned(folder: Path) -> int:
    cleared = 0
    for stage in sorted(folder.iterdir()):
        if not stage.name.startswith((_UNFINISHED, _FINISHED)) or stage.is_symlink() or not stage.is_dir():
            continue
        if is_abandoned(stage):
            if stage.name.startswith(_UNFINISHED):
                _put_back(folder, stage)
            _throw_away(stage)
            cleared += 1
    return cleared


def _put_back(folder: Path, stage: Path) -> None:
    """The folder as it was before files of a stage were put there. What somebody else has written since is left alone."""
    earlier = stage / _EARLIER
    if not earlier.is_dir():  # none had been put there yet
        return
    for here in sorted(stage.iterdir()):
        there = folder / here.name
        if here.name.startswith(".") or not os.path.lexists(there) or not _ours(there, here):
            continue
        if os.path.lexists(earlier / here.name):
            os.replace(earlier / here.name, there)  # noqa: PTH105
        else:
            there.unlink()


def _ours(there: Path, here: Path) -> bool:
    """Whether a file was put there by the stage that `here` lies in, wholly or, where no second names are given, half."""
    return not there.is_symlink() and there.is_file() and (not there.stat().st_size or _alike(there, here))


def _keep(of: Path, name: Path) -> None:
    """Let a file have a second name, or where the system gives none a copy."""
    try:
        os.link(of, name, follow_symlinks=False)
    except (OSError, NotImplementedError):
        if of.is_symlink():
            name.symlink_to(of.readlink())
        else:
            shutil.copy2(of, name)


def _claim(here: Path, there: Path) -> None:
    """Let a file stand where nothing is; it stays here too. Raises FileExistsError where something is, were it that very moment."""
    try:
        os.link(here, there)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):
        there.touch(exist_ok=False)  # the place is ours, and empty until the whole file takes it
        _replace(here, there)


def _replace(here: Path, there: Path) -> None:
    """Let a file take the place of another in one move; it stays here too."""
    beside = here.with_name(_BESIDE)
    _keep(here, beside)
    os.replace(beside, there)  # noqa: PTH105


def _throw_away(stage: Path) -> None:
    """Clear a stage away. It is called finished first: nothing of it is put back by whoever finds the rest."""
    done = stage.with_name(stage.name.replace(_UNFINISHED, _FINISHED, 1))
    with contextlib.suppress(OSError):
        os.replace(stage, done)  # noqa: PTH105
    shutil.rmtree(done, ignore_errors=True)
    shutil.rmtree(stage, ignore_errors=True)


def _alike(there: Path, here: Path) -> bool:
    """Whether a file holds the bytes of another."""
    return there.is_file() and filecmp.cmp(there, here, shallow=False)


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
    if broken.errno in _NO_ROOM:
        return Mistake(
            f"there is no room for the files ({broken.strerror})",
            where=Where(str(folder)),
            do="Make room on the disk, or name another folder with --to.",
        )
    return Mistake(
        f"the folder cannot be written ({broken.strerror or broken})",
        where=Where(str(folder)),
        do="Name another with --to, or check its permissions.",
    )
