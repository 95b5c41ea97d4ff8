"""The address of a scheduler comes in; the workers of its cluster go out, for as long as they are wanted. The only home of Dask.

It is an optional extra (`pip install 'molewright[cluster]'`). A scheduler gives the lots of a worker that is lost to another. What
never comes back, and a scheduler that does not answer, is told in a sentence within a bounded time.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from typing import TYPE_CHECKING

from molewright.errors import Mistake, Where, shortened
from molewright.machine.workers import AHEAD, Workers

if TYPE_CHECKING:
    from distributed import Client

PATIENCE = 10.0  # seconds for a scheduler to answer, and as many for it to have a worker
_COUNTED_EVERY = 5.0  # seconds after which the workers of a cluster are counted again


@contextlib.contextmanager
def cluster(address: str, patience: float = PATIENCE, shared: bool = False) -> Iterator[Workers]:
    """The workers of the cluster whose scheduler is at an address (tcp://host:8786); of those that come and go meanwhile, all.

    `shared`: its workers see the folder that is written to at the same path, and write files of their own there.
    Raises Mistake where no scheduler answers there, where it has no worker, and where it or a piece of work is lost for good.
    """
    where = Where("command line", entry="--scheduler")
    try:
        from distributed import Client, KilledWorker
        from distributed.comm import CommClosedError
    except ImportError:
        raise Mistake(
            "a scheduler, and nothing here that could talk to it",
            expected="the extra 'cluster'",
            where=where,
            do="Install it: pip install 'molewright[cluster]'.",
        ) from None
    try:
        client = Client(address, timeout=patience, set_as_default=False, name="molewright")
    except (
        OSError,
        ValueError,
        ImportError,
    ) as broken:  # ValueError: no address at all; ImportError: a protocol that is not installed
        raise Mistake(
            f"no scheduler answers at {shortened(address)} ({type(broken).__name__})",
            expected="the address that 'dask scheduler' tells when it begins, as tcp://host:8786",
            where=where,
        ) from None
    with client:
        try:
            client.wait_for_workers(1, timeout=patience)
        except OSError:
            raise Mistake(
                f"the scheduler at {shortened(address)} has no worker",
                expected="one at least, with this version of molewright",
                where=where,
                do=f"Start some: dask worker {address}",
            ) from None
        try:
            yield Workers(executor=client.get_executor(), ahead=_Ahead(client), shared=shared)
        except (KilledWorker, CancelledError, CommClosedError) as lost:
            raise Mistake(
                f"the cluster at {shortened(address)} lost what it was given ({type(lost).__name__})",
                expected="workers with memory enough, and a scheduler that stays",
                do="Nothing was written. Look at what its workers tell, and try again.",
            ) from None


class _Ahead:
    """How many lots may be under way: a few for each thread of the cluster, which is asked now and then."""

    def __init__(self, client: Client) -> None:
        self._client = client
        self._counted = float("-inf")
        self._threads = 1

    def __call__(self) -> int:
        if time.monotonic() - self._counted > _COUNTED_EVERY:
            self._threads = max(1, sum(self._client.nthreads().values()))
            self._counted = time.monotonic()
        return AHEAD * self._threads + 1
