"""A folder comes in; it is held for one run until it is let go or the run ends, however it ends. Leaves no file behind."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

_LONGEST_RUN_S = (
    24 * 3600
)  # no run takes a day: what is older belongs to none, where the system cannot tell who holds it


class Held:
    """A folder that this run holds; where the system knows no such thing, nothing is held."""

    def __init__(self, folder: Path, wait: bool) -> None:
        """Hold it. Raises BlockingIOError at once where another run does and `wait` is not asked for."""
        self._handle: int | None = None
        if sys.platform == "win32":
            return
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            self._handle = handle
        except BlockingIOError:
            os.close(handle)
            raise
        except OSError:  # a file system without locks
            os.close(handle)

    @property
    def surely(self) -> bool:
        """Whether the system holds it for us, so that no other run can."""
        return self._handle is not None

    def let_go(self) -> None:
        """Others may hold it."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None


@contextlib.contextmanager
def alone(folder: Path) -> Iterator[None]:
    """One run after another: this is not begun before every other run that is about to do the same in the folder has done it."""
    held = Held(folder, wait=True)
    try:
        yield
    finally:
        held.let_go()


def is_abandoned(folder: Path) -> bool:
    """Whether the run that held a folder is over."""
    try:
        held = Held(folder, wait=False)
    except OSError:  # another run holds it, or has just cleared it
        return False
    try:
        return held.surely or folder.stat().st_mtime < time.time() - _LONGEST_RUN_S
    except OSError:
        return False
    finally:
        held.let_go()
