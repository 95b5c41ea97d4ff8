"""A command line comes in; its command runs, and an exit code goes out. One place turns every failure into a sentence.

Exit codes: 0 done; 1 something the user can put right; 130 interrupted; 3 our bug.
"""

from __future__ import annotations

import argparse
import errno
import os
import re
from collections.abc import Sequence
from typing import Protocol

from molewright.cli import banks, browser, check, mark, paper, practise, progress, solve
from molewright.cli.options import Parser
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.machine import stopping, terminal
from molewright.version import VERSION

BUG, MISTAKE, INTERRUPT = 3, 1, 130
_NO_MEMORY = Mistake(
    "there is no memory left", do="Close other programs, or ask for fewer papers at once. No file is left half written."
)


class Command(Protocol):
    """What every module named in COMMANDS offers."""

    HELP: str
    DESCRIPTION: str

    def add_options(self, door: argparse.ArgumentParser) -> None:
        """Say what the command takes."""

    def run(self, chosen: argparse.Namespace) -> int:
        """Do it; the exit code. What it needs is imported only now."""


COMMANDS: dict[str, Command] = {
    "paper": paper,
    "banks": banks,
    "check": check,
    "solve": solve,
    "mark": mark,
    "practise": practise,
    "progress": progress,
    "browser": browser,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code."""
    terminal.prepare()
    if arguments is None:  # a process of our own: a polite kill and a closed window stop it as Ctrl-C does
        stopping.listen()
    try:
        try:
            return _run(arguments)
        finally:
            terminal.flush()
            if arguments is None:
                stopping.deafen()
    except Mistake as mistake:
        terminal.say(f"molewright: {mistake}")
        return MISTAKE
    except KeyboardInterrupt:
        if arguments is None:
            stopping.deafen()  # to a second Ctrl-C too
        terminal.say("molewright: interrupted; no file is left half written")
        return INTERRUPT
    except BrokenPipeError:
        terminal.abandon()
        return MISTAKE
    except Exception as bug:
        if os.environ.get("MOLEWRIGHT_TRACE"):
            raise
        if _without_memory(bug):
            terminal.say(f"molewright: {_NO_MEMORY}")
            return MISTAKE
        if isinstance(bug, OSError):  # a full disk, a name too long: nothing that we could have got right
            terminal.abandon()
            terminal.say(f"molewright: {of_the_system(bug)}")
            return MISTAKE
        terminal.say(
            f"molewright: this is a fault in molewright, not in what you asked: {type(bug).__name__}: {bug}\n"
            "No file is left half written. Set MOLEWRIGHT_TRACE=1 and run it again to see where."
        )
        return BUG


def _without_memory(bug: BaseException | None) -> bool:
    """Whether a failure comes from memory that was not to be had: a library may have made another one of it."""
    while bug is not None:
        if isinstance(bug, MemoryError) or (isinstance(bug, OSError) and bug.errno == errno.ENOMEM):
            return True
        if isinstance(bug, ImportError) and re.search("map segment|allocate memory", str(bug)):  # as glibc says it
            return True
        bug = bug.__cause__ or bug.__context__
    return False


def of_the_system(broken: OSError) -> Mistake:
    """What the system refused, and where it says so."""
    where = Where(str(broken.filename)) if broken.filename else Where("standard output")
    return Mistake(
        f"this cannot be read or written ({broken.strerror or broken})",
        where=where,
        do="Check the name, the permissions and the room that is left.",
    )


def _run(arguments: Sequence[str] | None) -> int:
    parser = build_parser()
    chosen, unknown = parser.parse_known_args(arguments)
    if unknown:
        raise _not_known(unknown[0], chosen)
    if "command" not in chosen:
        parser.print_help()
        print(
            "\nWithout a terminal: 'molewright browser' does all of this in pages that open in your browser, on this machine only."
        )
        return 0
    return COMMANDS[chosen.command].run(chosen)


def _not_known(word: str, chosen: argparse.Namespace) -> Mistake:
    """What a word on the command line is not; an option that is cut short is near the whole one."""
    asked = word.partition("=")[0]
    options: list[str] = getattr(chosen, "options", [])
    cut_short = [option for option in options if option.startswith(asked)] if asked.startswith("--") else []
    command = f"molewright {getattr(chosen, 'command', '')}".strip()
    return Mistake(
        f"{shortened(asked)} is no option" if asked.startswith("-") else f"{shortened(word)} is one word too many",
        where=Where("command line"),
        near=cut_short or nearest(asked, options),
        do=f"'{command} --help' tells what there is; options are written whole.",
    )


def build_parser() -> argparse.ArgumentParser:
    """The command line."""
    parser = Parser(prog="molewright", description="Titration questions and the mark schemes that belong to them.")
    parser.add_argument("--version", action="version", version=f"molewright {VERSION}")
    doors = parser.add_subparsers(metavar="WHAT", parser_class=Parser)
    for name, command in COMMANDS.items():
        door = doors.add_parser(name, help=command.HELP, description=command.DESCRIPTION)
        command.add_options(door)
        door.set_defaults(command=name, options=door.option_names())
    return parser
