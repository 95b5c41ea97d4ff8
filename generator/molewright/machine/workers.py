"""Work in many like pieces comes in; it is done here, in other processes, or wherever an executor has them, and comes out in its order.

What all pieces need (banks and order) is sent once to a process, which keeps it; pieces go out in small lots and only a few lots ahead
of what has come back, so that memory does not grow with their number. Processes are started anew (spawn), which is safe on every
system and in a program with threads; each takes about as long to begin as a first paper does.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import multiprocessing
import os
import pickle
import signal
import threading
import time
import zlib
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass
from itertools import islice
from multiprocessing.synchronize import Event
from typing import Generic, Protocol, TypeVar, cast

from molewright.errors import Mistake
from molewright.machine.stopping import STOPS, undisturbed
from molewright.version import VERSION

Piece = TypeVar("Piece")
Made = TypeVar("Made")
_In = TypeVar("_In", contravariant=True)
_Out = TypeVar("_Out", covariant=True)

LOT = 8  # pieces that are sent together
_TRIED = 4  # pieces that are done here, after a first one, before it is decided whether other processes pay
_PAYS = 2.5  # seconds of work that are left: two processes are at work after one of these
AHEAD = 2  # lots for each process that are sent and not yet back
_PATIENCE = 10.0  # seconds that processes have for the piece that they have begun, once they are told to stop


class Maker(Protocol[_In, _Out]):
    """What does each piece. It is sent to other processes, so it has to be picklable."""

    def made(self, piece: _In, /) -> _Out:
        """One piece done."""


@dataclass(frozen=True, slots=True)
class Workers:
    """Who does the work: at most so many processes on this machine (None: all cores, when it pays), or an executor of somebody's.

    `ahead` tells of an executor how many lots may be under way, and is asked again and again. `shared` says that whoever works there
    sees the folder that is written to, and writes files of their own there.
    """

    most: int | None = 1
    executor: Executor | None = None
    ahead: Callable[[], int] = lambda: AHEAD * cores() + 1
    shared: bool = False

    def __post_init__(self) -> None:
        if self.most is not None and self.most < 1:
            raise Mistake(f"{self.most} workers", expected="1 or more; 1 does everything in one process")

    def done(self, maker: Maker[Piece, Made], pieces: Sequence[Piece]) -> Generator[Made]:
        """Every piece done, in its order. Raises what doing a piece raises, and Mistake where a process is ended from outside."""
        if self.executor is not None:
            yield from _spread(maker, pieces, self.executor, self.ahead)
            return
        count = min(self.most or cores(), -(-len(pieces) // LOT))
        waiting = iter(pieces)
        if self.most is None and count > 1:
            each = yield from _tried(maker, waiting)
            if each * (len(pieces) - _TRIED - 1) < _PAYS:
                count = 1
        if count <= 1:
            for piece in waiting:
                yield maker.made(piece)
            return
        with _processes(count) as executor:
            yield from _spread(maker, tuple(waiting), executor, lambda: AHEAD * count + 1)


HERE = Workers()
"""One process, this one."""


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _tried(maker: Maker[Piece, Made], waiting: Iterator[Piece]) -> Generator[Made, None, float]:
    """The first pieces done here; the processor time of one in seconds, but for the very first, which warms up what is kept."""
    spent = 0.0
    for number, piece in enumerate(islice(waiting, _TRIED + 1)):
        begun = time.process_time()
        made = maker.made(piece)
        spent += time.process_time() - begun if number else 0.0
        yield made
    return spent / _TRIED


@contextlib.contextmanager
def _processes(count: int) -> Iterator[Executor]:
    """So many processes on this machine; all of them are ended at the end.

    Where that comes of an interrupt or a mistake, each ends after the piece that it has begun, or is ended if that takes long.
    """
    before = set(multiprocessing.active_children())
    anew = multiprocessing.get_context("spawn")
    stop = anew.Event()
    executor = ProcessPoolExecutor(count, anew, _begin, (stop,))
    try:
        with _deaf_from_the_start():
            for _ in range(count):
                executor.submit(_nothing)
        yield executor
    except BaseException:
        with undisturbed():
            stop.set()
            executor.shutdown(wait=False, cancel_futures=True)
            # one that is killed while it hands over leaves half a message, for whose end the library waits for ever
            until = time.monotonic() + _PATIENCE
            for child in set(multiprocessing.active_children()) - before:
                child.join(max(0.0, until - time.monotonic()))
                if child.is_alive():
                    child.terminate()
        raise
    executor.shutdown()


@contextlib.contextmanager
def _deaf_from_the_start() -> Iterator[None]:
    """Processes that are started meanwhile do not hear what a terminal says to all of them: this one does, and ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    heard = signal.pthread_sigmask(signal.SIG_BLOCK, set(STOPS) - {signal.SIGTERM})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, heard)


def _nothing() -> None:
    """What a process does first."""


def _begin(stop: Event) -> None:
    """In a process that works for another: what stops that one stops this one, and nothing else does."""
    _told.append(stop)
    for number in STOPS:
        signal.signal(number, signal.SIG_DFL if number == signal.SIGTERM else signal.SIG_IGN)
    threading.Thread(target=_end_with_it, daemon=True).start()
    gc.set_threshold(100_000, 20, 50)


def _end_with_it() -> None:
    """Wait until the process that is worked for has ended, even if it was killed, and end."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@dataclass(slots=True)
class _Lot(Generic[Piece]):
    pieces: Sequence[Piece]
    coming: Future[list[object] | None]


def _spread(
    maker: Maker[Piece, Made], pieces: Sequence[Piece], executor: Executor, ahead: Callable[[], int]
) -> Generator[Made]:
    """Every piece done by an executor, in its order."""
    packed = zlib.compress(pickle.dumps(maker, pickle.HIGHEST_PROTOCOL), 1)
    key = hashlib.sha256(packed).hexdigest()
    starts = iter(range(0, len(pieces), LOT))
    under_way: deque[_Lot[Piece]] = deque()
    sent = 0

    def submit(lot: Sequence[Piece], with_maker: bool) -> Future[list[object] | None]:
        return executor.submit(_made_there, VERSION, key, packed if with_maker else None, lot)

    try:
        while True:
            room = max(1, ahead())
            for start in islice(starts, max(0, room - len(under_way))):  # a cluster may have become smaller
                lot = pieces[start : start + LOT]
                under_way.append(_Lot(lot, submit(lot, sent < room)))
                sent += 1
            if not under_way:
                return
            first = under_way[0]
            made = first.coming.result()
            if (
                made is None
            ):  # done by a process that has not had the maker yet: one that came later, or in the place of another
                first.coming = submit(first.pieces, True)
                continue
            under_way.popleft()
            yield from cast(list[Made], made)
    except BrokenExecutor:
        raise Mistake(
            "a process that was at work for this one was ended from outside, perhaps because memory was short",
            expected="it to go on to its end",
            do="Nothing was written. Try again with --workers 1, which needs the least memory.",
        ) from None
    finally:
        for lot_left in under_way:
            lot_left.coming.cancel()


_told: list[Event] = []  # what tells this process that nobody waits any more for what it does
_one_at_a_time = threading.Lock()
_kept: dict[str, Maker[object, object]] = {}


def _made_there(version: str, key: str, packed: bytes | None, pieces: Sequence[object]) -> list[object] | None:
    """In another process: a lot done; None where the maker is not known here and was not sent. A process does one lot at a time."""
    if version != VERSION:
        raise Mistake(
            f"a worker has version {VERSION} of molewright, and is to make papers of version {version}",
            expected="the same on all machines, for others make other papers",
        )
    with _one_at_a_time:
        maker = _kept.get(key)
        if maker is None:
            if packed is None:
                return None
            _kept.clear()  # of an order that was made before
            maker = _kept[key] = pickle.loads(zlib.decompress(packed))
        made: list[object] = []
        for piece in pieces:
            if any(stop.is_set() for stop in _told):
                return None
            made.append(maker.made(piece))
        return made
