"""The name of a file comes in; its bytes go out, never more than wanted: a device without an end stops where a file would."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from pathlib import Path

_PIECE = 1 << 20  # bytes
_OPENED_BY_THE_SHELL = ("/dev/", "/proc/")  # a pipe here has a writer; one that lies in a folder may wait for ever


def read_at_most(path: Path, most: int) -> bytes | None:
    """The bytes of a file; None where there are more than `most`, whatever its size was said to be. Raises OSError."""
    if path.is_fifo() and not str(path).startswith(_OPENED_BY_THE_SHELL):
        raise OSError(errno.EINVAL, "it is a pipe, not a file")
    pieces: list[bytes] = []
    room = most + 1
    with path.open("rb") as stream:
        while room and (piece := stream.read(min(room, _PIECE))):  # asked for all at once, it would hold room for all
            pieces.append(piece)
            room -= len(piece)
    return b"".join(pieces) if room else None


def lines_at_most(path: Path, most: int, longest: int) -> Iterator[tuple[int, bytes | None]]:
    """Each line of a file with the place where it begins; None for one that is too long or beyond `most`, and then no more."""
    at = 0
    with path.open("rb") as stream:
        while line := stream.readline(longest + 1):
            if len(line) > longest or at + len(line) > most:
                yield at, None
                return
            yield at, line
            at += len(line)
