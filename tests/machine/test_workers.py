"""Work that is done elsewhere comes back in its order, a few lots at a time; what all of it needs is sent as seldom as can be."""

from __future__ import annotations

import itertools
import os
import random
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import pytest

from molewright.errors import Mistake
from molewright.machine import workers
from molewright.machine.workers import LOT, Workers
from shared.sending import Sending, Stopped


@dataclass(frozen=True)
class Squares:
    """Squares numbers; `much` is what has to be sent with it."""

    much: bytes = b""

    def made(self, number: int) -> int:
        return number * number


@dataclass(frozen=True)
class Late:
    """The first pieces of all take longest."""

    def made(self, number: int) -> int:
        time.sleep(random.random() / (200 + 50 * number))
        return number


@dataclass(frozen=True)
class UpTo:
    """Refuses a number."""

    most: int

    def made(self, number: int) -> int:
        if number > self.most:
            raise Mistake(f"the number {number}", expected=f"{self.most} at most")
        return number


NUMBERS = range(10 * LOT + 3)


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    workers._kept.clear()


def test_pieces_come_out_in_their_order_whoever_is_done_first() -> None:
    with ThreadPoolExecutor(3) as executor:
        assert list(Workers(executor=executor).done(Late(), NUMBERS)) == list(NUMBERS)


def test_only_so_many_lots_are_under_way() -> None:
    class Counting(Sending):
        most = 0

        def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
            made = super().submit(work, *given, **named)
            self.most = max(self.most, len(self.sent) - done // LOT)
            return made

    done = 0
    executor = Counting()
    for _ in Workers(executor=executor, ahead=lambda: 3).done(Squares(), NUMBERS):
        done += 1
    assert done == len(NUMBERS)
    assert executor.most == 3


def test_a_cluster_may_become_smaller_and_larger() -> None:
    sizes = itertools.cycle((5, 1, 0, 3))
    done = Workers(executor=Sending(), ahead=lambda: next(sizes)).done(Squares(), NUMBERS)
    assert list(done) == [number * number for number in NUMBERS]


def test_what_all_pieces_need_is_sent_with_the_first_lots_only() -> None:
    executor = Sending()
    much = os.urandom(50_000)
    assert list(Workers(executor=executor, ahead=lambda: 2).done(Squares(much), NUMBERS)) == [n * n for n in NUMBERS]
    assert [size > 50_000 for size in executor.sent] == [True, True, *[False] * (len(executor.sent) - 2)]


def test_a_process_that_comes_later_is_sent_it_too() -> None:
    lots = iter(range(100))

    def forget() -> None:
        if next(lots) == 5:
            workers._kept.clear()  # as a process that has only just begun, perhaps in the place of one that was ended

    executor = Sending(forget)
    much = os.urandom(50_000)
    assert list(Workers(executor=executor, ahead=lambda: 2).done(Squares(much), NUMBERS)) == [n * n for n in NUMBERS]
    assert sum(size > 50_000 for size in executor.sent) == 4  # with the first two, and with the two that were under way


def test_what_a_piece_raises_comes_through_in_its_place() -> None:
    done = Workers(executor=Sending()).done(UpTo(LOT), NUMBERS)
    assert [next(done) for _ in range(LOT)] == list(range(LOT))
    with pytest.raises(Mistake, match=f"the number {LOT + 1}; expected {LOT} at most"):
        next(done)


def test_what_is_not_wanted_any_more_is_called_off() -> None:
    waiting: list[Future[Any]] = []

    class Never(Executor):
        def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
            coming: Future[Any] = Future()
            if not waiting:
                coming.set_result([0] * LOT)
            waiting.append(coming)
            return coming

    with closing(Workers(executor=Never(), ahead=lambda: 4).done(Squares(), NUMBERS)) as done:
        assert next(done) == 0
    assert [one.cancelled() for one in waiting] == [False, True, True, True]


@pytest.mark.parametrize("pieces", [range(LOT), NUMBERS])
def test_little_work_stays_in_this_process(pieces: range, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(count: int) -> None:
        raise AssertionError(f"{count} processes were started")

    monkeypatch.setattr(workers, "_processes", never)
    monkeypatch.setattr(workers, "cores", lambda: 4)
    assert list(Workers(None).done(Squares(), pieces)) == [number * number for number in pieces]


def test_much_work_is_shared_once_it_is_known_to_be_much(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[int] = []

    class Here(Sending):
        def __init__(self, count: int) -> None:
            super().__init__()
            started.append(count)

    monkeypatch.setattr(workers, "_processes", Here)
    monkeypatch.setattr(workers, "_PAYS", -1.0)
    monkeypatch.setattr(workers, "cores", lambda: 4)
    assert list(Workers(None).done(Squares(), NUMBERS)) == [number * number for number in NUMBERS]
    assert started == [4]


@pytest.mark.parametrize("count", [0, -2])
def test_a_number_of_workers_that_is_none_is_refused(count: int) -> None:
    with pytest.raises(Mistake, match=r"workers; expected 1 or more"):
        Workers(count)


@pytest.mark.thorough
def test_a_process_that_is_ended_from_outside_is_told_in_a_sentence() -> None:
    with pytest.raises(Mistake, match=r"was ended from outside.*--workers 1"):
        list(Workers(2).done(Stopped(), NUMBERS))
