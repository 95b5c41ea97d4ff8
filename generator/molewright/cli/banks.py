"""`molewright banks`: the banks come in; a line for each entry of one kind is printed."""

from __future__ import annotations

import argparse

from molewright.cli.options import add_bank_options, bank_of

HELP = "list what the banks hold"
DESCRIPTION = "List what the banks hold."
LISTED = (
    "archetypes",
    "materials",
    "substances",
    "reactions",
    "equations",
    "indicators",
    "apparatus",
    "contexts",
    "slips",
)


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument("what", nargs="?", choices=LISTED, default=LISTED[0], help=f"what to list ({LISTED[0]})")
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """List them."""
    from molewright.survey.listing import list_bank

    for line in list_bank(bank_of(chosen), chosen.what):
        print(line)
    return 0
