"""A cluster makes the same papers to the last byte, though one of its workers is killed; one that is not there is told of."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.machine import workers
from molewright.machine.cluster import cluster
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers

PUPILS = tuple(Pupil(name=f"Ilsa Quern {number}") for number in range(40))
WANTED = Wanted(pupils=PUPILS, numbers="own", sheets=("questions", "answers"))
TOLD_BY = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "DASK_DISTRIBUTED__ADMIN__LOG_LENGTH": "0"}


@contextlib.contextmanager
def process(*command: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process of the cluster, ended at the end."""
    run = subprocess.Popen(
        [sys.executable, "-m", *command], env=TOLD_BY, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield run
    finally:
        run.kill()
        run.wait()


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        port: int = held.getsockname()[1]
    return port


@pytest.fixture
def address() -> Iterator[str]:
    """Of a scheduler on this machine that has no worker yet."""
    port = free_port()
    command = (
        "distributed.cli.dask_scheduler",
        "--host",
        "127.0.0.1",
        "--port",
        str(port),
        "--no-dashboard",
        "--no-show",
    )
    with process(*command):
        end = time.monotonic() + 60
        while time.monotonic() < end:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.1)
        yield f"tcp://127.0.0.1:{port}"


def worker(address: str) -> contextlib.AbstractContextManager[subprocess.Popen[bytes]]:
    alone = ("--no-nanny", "--nthreads", "1", "--no-dashboard", "--local-directory", tempfile.gettempdir())
    return process("distributed.cli.dask_worker", address, *alone)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_one_of_two_workers_is_killed_and_the_papers_are_the_same(
    address: str, bank: Bank, plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers, "LOT", 2)

    def papers() -> PaperSet:
        return PaperSet(bank, Order(seed=3, count=2), WANTED, plans)

    write_papers(papers(), tmp_path / "here")
    done: list[int] = []
    with worker(address) as first, worker(address) as second, cluster(address, 60) as its:
        assert its.executor is not None

        def killing(number: int, total: int) -> None:
            done.append(number)
            if number == 6:
                first.send_signal(signal.SIGKILL)

        write_papers(papers(), tmp_path / "there", progress=killing, workers=its)
        assert second.poll() is None
    assert done == list(range(1, len(PUPILS) + 1))
    assert first.poll() is not None
    assert files(tmp_path / "there") == files(tmp_path / "here")


def test_a_scheduler_that_is_not_there_or_has_no_worker_is_told_in_time(address: str) -> None:
    for where, told in (
        (f"tcp://127.0.0.1:{free_port()}", "no scheduler answers"),
        ("nowhere at all", "no scheduler answers"),
        ("smoke://127.0.0.1:1", "no scheduler answers"),
        (address, "has no worker"),
    ):
        begun = time.monotonic()
        with pytest.raises(Mistake, match=told), cluster(where, 2):
            raise AssertionError("there is no cluster there")
        assert time.monotonic() - begun < 30
