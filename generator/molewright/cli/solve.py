"""`molewright solve`: the file of a described experiment comes in; its steps, its answer and the accepted range are printed."""

from __future__ import annotations

import argparse

from molewright.cli.options import a_path, add_bank_options, bank_of

HELP = "work out a described experiment"
DESCRIPTION = "Work out one quantity of an experiment that is described in a file."


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument("file", type=a_path, help="the described experiment")
    door.add_argument("--json", action="store_true", help="print JSON: exact answer, rounded answer, unit, steps")
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Work it out."""
    from molewright.solve.described import as_json, as_text, solve_file

    experiment, worked = solve_file(chosen.file, bank_of(chosen))
    if chosen.json:
        print(as_json(experiment, worked))
    else:
        print(as_text(experiment, worked), end="")
    return 0
