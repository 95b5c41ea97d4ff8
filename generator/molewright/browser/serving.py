"""A folder, a port and an address come in; the pages are there until the program is stopped. Writes no log."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from molewright.browser.application import application, folder_is_ready
from molewright.browser.door import KEY, Door
from molewright.browser.jobs import clear_left_behind
from molewright.browser.shelf import Shelf
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake, Where
from molewright.order.defaults import NOBODY_SAID
from molewright.order.head import Head

if TYPE_CHECKING:
    from uvicorn import Server

    from molewright.bank.definitions import Bank

HERE = "127.0.0.1"
EVERYWHERE = ("", "0.0.0.0", "::")
USUAL_PORT = 4780
MOST_AT_ONCE = 400  # connections
_LISTENING = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """The pages, ready to be run: the first address, with its key, and where the papers are."""

    first: str
    folder: Path
    door: Door
    listening: socket.socket
    room: Workroom


@contextmanager
def served(
    folder: Path, port: int | None, address: str, read: Callable[[], Bank], usual: Head = NOBODY_SAID
) -> Iterator[Served]:
    """The pages at an address; what was made for them is cleared away at the end. Raises Mistake where a port is taken."""
    if address in EVERYWHERE:
        raise Mistake(
            f"the address {address}, which stands for all that this machine has",
            where=Where("command line", entry="--address"),
            expected="one of its addresses, as others ask for it",
        )
    folder_is_ready(folder)
    clear_left_behind()
    listening = _listen(address, port)
    room = Workroom(Shelf(folder.resolve()), read, usual)
    try:
        host = f"{address}:{listening.getsockname()[1]}"
        door, keys = application(room, host)
        yield Served(
            first=f"http://{host}/?{KEY}={keys.first}",
            folder=room.shelf.folder,
            door=door,
            listening=listening,
            room=room,
        )
    finally:
        room.jobs.end()
        listening.close()


def server_of(pages: Served) -> Server:
    """What answers requests; it writes no log."""
    import uvicorn

    config = uvicorn.Config(
        pages.door,
        log_config=None,
        access_log=False,
        log_level="critical",  # what goes wrong is told by `application`, without what was asked, which may hold names
        server_header=False,
        lifespan="off",
        ws="none",
        limit_concurrency=MOST_AT_ONCE,
        timeout_graceful_shutdown=2,
    )
    return uvicorn.Server(config)


def run(pages: Served, opened: bool) -> None:
    """Answer requests until somebody stops the program."""
    server = server_of(pages)
    pages.room.warm_up()
    if opened:
        webbrowser.open(pages.first)  # the socket listens already: what is asked now is answered in a moment
    server.run(sockets=[pages.listening])


def _listen(address: str, port: int | None) -> socket.socket:
    """A socket at the port that is asked for; without one at the usual, so that open pages find it again, or at any that is free."""
    for wanted in (USUAL_PORT, 0) if port is None else (port,):
        made = socket.socket(
            socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP
        )  # asyncio sends small answers at once then
        try:
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            made.bind((address, wanted))
            made.listen(_LISTENING)
        except OSError as broken:
            made.close()
            reason = broken.strerror or str(broken)
        else:
            return made
    raise Mistake(
        f"the port {port if port is not None else USUAL_PORT} cannot be had ({reason})",
        where=Where("command line", entry="--port"),
        expected="a port that no other program uses",
        do="Leave --port out: one that is free is taken then.",
    )
