"""What several commands share: the parser, the options for banks, forms and folders, the banks opened, a bar of progress."""

from __future__ import annotations

import argparse
import contextlib
import re
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from molewright.errors import Mistake, Where, nearest, shortened
from molewright.order.choices import FORMS, RENAMED_SHEETS

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.machine.workers import Workers
    from molewright.order.head import Head

_LEAST_FOR_A_BAR = 5
_SOON_S = 1.0  # after which somebody who waits is told how far it is
_WHOLE_NUMBER = re.compile("-?[0-9]{1,18}")


class Parser(argparse.ArgumentParser):
    """Mistyped options are the user's mistake: exit code 1, one sentence. No option may be cut short: the next one could be meant."""

    def __init__(self, *arguments: Any, **settings: Any) -> None:
        super().__init__(*arguments, **{**settings, "allow_abbrev": False})

    def error(self, message: str) -> NoReturn:
        """Tell it as any other mistake is told."""
        raise Mistake(message, where=Where("command line"), do=f"'{self.prog} --help' tells more.")

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Tell a word that is none of a few with the nearest of them; argparse asks this of every option and command."""
        if action.choices is None or value in action.choices:
            return
        known = [str(one) for one in action.choices]
        name = "/".join(action.option_strings) or action.metavar or action.dest
        raise Mistake(
            f"{shortened(str(value))} for {name}",
            where=Where("command line"),
            expected=f"one of: {', '.join(known)}",
            near=nearest(str(value), known),
            do=f"'{self.prog} --help' tells more.",
        )

    def option_names(self) -> list[str]:
        """Every option as it is written whole."""
        return [name for action in self._actions for name in action.option_strings if name.startswith("--")]


def whole_number(text: str) -> int:
    """A whole number as it is written here: int() would take 1_0 for 10, and figures of other scripts."""
    if not _WHOLE_NUMBER.fullmatch(text):
        raise argparse.ArgumentTypeError(f"{shortened(text)} is not a whole number")
    return int(text)


def a_sheet(text: str) -> str:
    """The name of a sheet. One that it had before is refused with what to write now; any other is for argparse to refuse."""
    if text in RENAMED_SHEETS:
        now = RENAMED_SHEETS[text]
        raise argparse.ArgumentTypeError(f"the sheet '{text}' is called '{now}' now: write --sheet {now}")
    return text


def a_path(text: str) -> Path:
    """The name of a file or folder. An empty one would mean the folder that one happens to be in."""
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError(f"{shortened(text)} names no file and no folder")
    return Path(text)


def some_words(text: str) -> str:
    """What is said in words. Nothing said would be taken for an option that is not there."""
    if not text.strip():
        raise argparse.ArgumentTypeError(f"{shortened(text)} says nothing")
    return text


def add_bank_options(door: argparse._ActionsContainer) -> None:
    """Which banks are read."""
    door.add_argument(
        "--entries",
        type=a_path,
        metavar="FOLDER",
        action="append",
        default=[],
        help="a folder with entries of your own, read beside the banks; may be given several times",
    )
    door.add_argument(
        "--banks", type=a_path, metavar="FOLDER", help="a whole set of other banks instead of the built-in ones"
    )


def add_file_options(door: argparse._ActionsContainer) -> None:
    """In which form files are written, and where."""
    door.add_argument(
        "--form",
        action="append",
        choices=FORMS,
        help="pdf, latex, html, text or docx (Word); may be given several times (pdf)",
    )
    door.add_argument("--to", type=a_path, metavar="FOLDER", help="where the files go (out)")
    door.add_argument("--replace", action="store_true", help="replace files of the same name")


def add_worker_options(door: argparse._ActionsContainer) -> None:
    """Who does the work of many papers. The papers are the same to the last byte."""
    door.add_argument(
        "--workers",
        type=whole_number,
        metavar="NUMBER",
        help="in how many processes many papers are made (as many as there are processors, where it saves time; 1: in this one)",
    )
    door.add_argument(
        "--scheduler",
        type=some_words,
        metavar="ADDRESS",
        help="of a Dask cluster whose workers make them instead, as tcp://host:8786 (needs the extra 'cluster')",
    )
    door.add_argument(
        "--shared",
        action="store_true",
        help="the workers of the cluster see the folder at the same path: a file for each paper is written there by them",
    )


@contextlib.contextmanager
def workers_of(chosen: argparse.Namespace) -> Iterator[Workers]:
    """Who does the work. Raises Mistake for a number of processes that is none, and for a scheduler that does not answer."""
    from molewright.machine.workers import Workers

    if chosen.scheduler:
        from molewright.machine.cluster import cluster

        if chosen.workers is not None:
            raise Mistake(
                "a number of workers, and a scheduler",
                where=Where("command line", entry="--workers"),
                expected="one of them: a scheduler has all its workers take part",
            )
        with cluster(chosen.scheduler, shared=chosen.shared) as workers:
            yield workers
        return
    if chosen.shared:
        raise Mistake(
            "a shared folder, and no scheduler",
            where=Where("command line", entry="--shared"),
            expected="--scheduler beside it, or neither",
        )
    try:
        workers = Workers(chosen.workers)
    except Mistake as mistake:
        raise mistake.at(Where("command line", entry="--workers")) from None
    yield workers


def forms_of(chosen: argparse.Namespace) -> tuple[str, ...]:
    """The forms asked for, each once."""
    return once(chosen.form or ["pdf"])


def folder_of(chosen: argparse.Namespace) -> Path:
    """Where the files go. What a run that was killed there has left, pupils' names among it, is cleared and told of."""
    from molewright.machine import places, terminal
    from molewright.machine.files import clear_abandoned

    folder: Path = chosen.to or places.papers()
    cleared = clear_abandoned(folder)
    if cleared:
        runs = "an earlier run was" if cleared == 1 else f"{cleared} earlier runs were"
        terminal.say(
            f"molewright: note: {runs} stopped in {folder} before the files were in place; what was left is cleared"
        )
    return folder


def usual_head() -> Head:
    """What a department has settled for all its papers, told of where there is such a file."""
    from molewright.machine import places, terminal
    from molewright.order.defaults import NOBODY_SAID, read_defaults

    path = places.defaults()
    if path is None:
        return NOBODY_SAID
    head = read_defaults(path)
    terminal.say(f"molewright: note: what is not asked for is as in {path}")
    return head


def once(given: Sequence[str]) -> tuple[str, ...]:
    """What was given, each once, in its order."""
    return tuple(dict.fromkeys(given))


def bank_of(chosen: argparse.Namespace, whole: bool = False) -> Bank:
    """The banks: those of a folder are read whole, the built-in ones only as far as they are used unless they are to be checked."""
    import gc

    from molewright.bank.readers.whole_bank import read_bank

    # What is read here lives as long as the run. Looking through it again and again for garbage doubled the time of a class set.
    gc.set_threshold(100_000, 20, 50)
    bank = read_bank(chosen.banks, whole=whole or chosen.banks is not None, own=tuple(dict.fromkeys(chosen.entries)))
    gc.freeze()
    return bank


@contextlib.contextmanager
def looking() -> Iterator[Callable[[int, int], None]]:
    """A line on the terminal that tells how many questions were looked at, where that takes more than a second; gone afterwards."""
    since, shown = time.monotonic(), ""

    def told(done: int, total: int) -> None:
        nonlocal shown
        if sys.stderr.isatty() and time.monotonic() - since > _SOON_S:
            shown = f"looking for questions that add up: {done} of {total} at most (Ctrl-C stops it)"
            print(f"\r{shown}", end="", file=sys.stderr, flush=True)

    try:
        yield told
    finally:
        if shown:
            print(f"\r{' ' * len(shown)}\r", end="", file=sys.stderr, flush=True)


def progress(done: int, total: int) -> None:
    """A bar on the terminal for more than a handful of papers."""
    if total < _LEAST_FOR_A_BAR or not sys.stderr.isatty():
        return
    filled = 30 * done // total
    print(
        f"\r[{'#' * filled}{'.' * (30 - filled)}] {done} of {total}",
        end="" if done < total else "\n",
        file=sys.stderr,
        flush=True,
    )
