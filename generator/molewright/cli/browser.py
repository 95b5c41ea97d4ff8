"""`molewright browser`: pages on this machine for all that the other commands do; or a file that starts them."""

from __future__ import annotations

import argparse
import contextlib
from pathlib import Path

from molewright.cli.options import a_path, add_bank_options, bank_of, usual_head, whole_number
from molewright.errors import Mistake, Where

HELP = "everything without a terminal: pages in your browser, on this machine only"
DESCRIPTION = (
    "Open pages in your browser that put papers together, show them as they print, change single questions, give the files, mark "
    "returned answers and make practice. They are on this machine only; what is put together is kept in a folder, as orders that "
    "'molewright paper' prints too. Ctrl-C stops them."
)
_LARGEST_PORT = 65_535


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "--to", type=a_path, metavar="FOLDER", help="where papers are kept (Molewright, among your documents)"
    )
    door.add_argument(
        "--port", type=whole_number, metavar="NUMBER", help="the port of the pages (4780, or any that is free)"
    )
    door.add_argument("--no-open", action="store_true", help="only tell the address; open no browser")
    door.add_argument(
        "--address", metavar="NUMBER", default="127.0.0.1",
        help="another address of this machine to be at: others can reach it then (127.0.0.1)",
    )  # fmt: skip
    door.add_argument(
        "--starter", action="store_true", help="write a file that starts the pages when it is double-clicked, and end"
    )
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Answer requests until somebody stops it, or write the file that starts it."""
    from molewright.browser.serving import HERE, run, served
    from molewright.browser.starter import write_starter
    from molewright.machine import places, terminal

    if chosen.starter:
        print(write_starter(chosen.to or Path(), chosen.to is not None))
        return 0
    if chosen.port is not None and not 0 <= chosen.port <= _LARGEST_PORT:
        raise Mistake(
            f"the port {chosen.port}", expected=f"0 to {_LARGEST_PORT}", where=Where("command line", entry="--port")
        )
    folder = chosen.to or places.papers_in_the_browser()
    with served(folder, chosen.port, chosen.address, lambda: bank_of(chosen), usual_head()) as pages:
        if chosen.address != HERE:
            terminal.say(
                f"molewright: caution: the pages are at {chosen.address}, where other machines can reach them, and nothing that is "
                "sent is encrypted: pupils' names are read by whoever listens. Leave --address out unless you know who is there."
            )
        print(f"papers are kept in {pages.folder}", flush=True)
        print(f"open {pages.first}", flush=True)
        print("the address is good once; Ctrl-C stops the pages", flush=True)
        with contextlib.suppress(KeyboardInterrupt):
            run(pages, not chosen.no_open)
    print("the pages are stopped; all that was put together is kept")
    return 0
