"""`molewright check`: banks or a folder of entries come in; their faults, or what every kind of question can draw, are printed."""

from __future__ import annotations

import argparse

from molewright.cli.options import a_path, add_bank_options, bank_of, progress, whole_number
from molewright.errors import Mistake, Where

HELP = "check banks, the built-in ones or your own"
DESCRIPTION = "Check every entry of the banks and draw each archetype; tell every fault with file and line."
_DRAWS = 20
_OWN_DRAWS = 60  # few variants, whose share of refusals should not be a matter of luck
_MOST_DRAWS = 10_000


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "folder",
        nargs="?",
        type=a_path,
        help="a folder with entries of your own, or a whole set of banks (none: the built-in ones)",
    )
    add_bank_options(door)
    door.add_argument(
        "--draws",
        type=whole_number,
        metavar="N",
        help=f"questions to draw of every variant ({_DRAWS}; of entries of your own {_OWN_DRAWS})",
    )
    door.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="ARCHETYPE",
        help="only this kind of question, or topic; may be given several times (entries of your own: those)",
    )
    door.add_argument(
        "--full",
        action="store_true",
        help="tell more of each: how many distinct questions it can make, how answers and titres spread, how far common "
        "mistakes lie apart, three samples (always so for entries of your own)",
    )


def run(chosen: argparse.Namespace) -> int:
    """Read every entry, then draw."""
    from molewright.bank.readers.folders import is_whole
    from molewright.papers.choosing import find_archetypes
    from molewright.survey.listing import check_bank

    if chosen.draws is not None and not 1 <= chosen.draws <= _MOST_DRAWS:
        raise Mistake(
            f"{chosen.draws} draws", expected=f"1 to {_MOST_DRAWS}", where=Where("command line", entry="--draws")
        )
    if chosen.folder is not None and is_whole(chosen.folder):
        chosen.banks = chosen.folder
    elif chosen.folder is not None:
        chosen.entries.insert(0, chosen.folder)
    bank = bank_of(chosen, whole=True)
    only = find_archetypes(bank, chosen.only) or tuple(sorted(bank.own))
    if chosen.entries and not only:
        print(
            "Your entries are read and without fault. They hold no kind of question of your own, so none is drawn:\n"
            "'--only KEY' draws a kind of the banks that uses them."
        )
        return 0
    draws = chosen.draws or (_OWN_DRAWS if bank.own else _DRAWS)
    for line in check_bank(bank, None, draws, progress, only, chosen.full or bool(bank.own)):
        print(line)
    return 0
