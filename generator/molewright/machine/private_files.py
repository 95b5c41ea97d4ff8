"""A small file of one person comes in or goes out whole: nobody else on the machine may read it."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from molewright.errors import Mistake, Where
from molewright.machine.bounded_reading import read_at_most

_OWNER_ONLY = 0o600


def read_private(path: Path, most: int) -> bytes | None:
    """The bytes of a file; None where there is none that can be read, or more than `most`."""
    try:
        return read_at_most(path, most)
    except OSError:
        return None


def write_private(path: Path, content: bytes) -> None:
    """Write it whole, or leave what was there. Raises Mistake where the folder cannot be written."""
    made = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, made = tempfile.mkstemp(prefix=".beside-", dir=path.parent)  # only its owner may read such a file
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        Path(made).chmod(_OWNER_ONLY)
        os.replace(made, path)  # noqa: PTH105 - one move, atomic
    except OSError as broken:
        if made:
            with contextlib.suppress(OSError):
                Path(made).unlink()
        raise Mistake(
            f"'{path.name}' cannot be written ({broken.strerror or broken})",
            where=Where(str(path.parent)),
            do="Check the folder's permissions and the room that is left, or name another with --to.",
        ) from None


def remove_private(path: Path) -> None:
    """Let a file be gone; nothing is said where it was not there."""
    with contextlib.suppress(FileNotFoundError):
        path.unlink()
