"""`molewright practise`: returned answers come in; each pupil's next practice, aimed at the mistake found, stands in a folder."""

from __future__ import annotations

import argparse

from molewright.cli import mark
from molewright.cli.options import bank_of, folder_of, forms_of, progress

HELP = "make each pupil's next practice from returned answers"
DESCRIPTION = "Make each pupil's next practice from returned answers, aimed at the slip that was found."


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes: what `mark` does."""
    mark.add_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Mark the answers, make the papers, and tell the files."""
    from molewright.marking.files import write_practice

    bank = bank_of(chosen)
    papers = mark.marked_papers(chosen, bank)
    folder = folder_of(chosen)
    sheets = 0
    for marked in papers:
        written = write_practice(marked, bank, None, folder, forms_of(chosen), chosen.replace, progress)
        told = [name for name in written if name.endswith(("-list.txt", ".jsonl"))]
        for name in told:
            print(folder / name)
        sheets += len(written) - len(told)
    print(f"{sheets} practice papers and mark schemes in {folder}")
    return 0
