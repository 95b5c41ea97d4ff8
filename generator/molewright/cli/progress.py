"""`molewright progress`: a folder of marked papers of a class comes in; its mark book over time stands in a folder."""

from __future__ import annotations

import argparse

from molewright.cli.options import a_path, add_file_options, folder_of, forms_of
from molewright.machine import terminal

HELP = "put the marked papers of a class into one mark book"
DESCRIPTION = (
    "Put the marked papers of a class into one mark book: marks over time, and what each pupil misunderstood, where it was seen and "
    "whether it is gone. It is made from the tables of marked answers that 'molewright mark' has written into the folder, and into "
    "folders in it (week 1, week 2, ...); nothing else is kept anywhere."
)


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "folder", type=a_path, metavar="FOLDER", help="where the marked answers lie, in folders by date or week"
    )
    add_file_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Read the tables, write the book, and tell the papers in their order and the files."""
    from molewright.marking.files import write_book
    from molewright.marking.progress import read_book

    book = read_book(chosen.folder)
    for note in book.notes:
        terminal.say(f"molewright: note: {note}")
    for number, paper in enumerate(book.papers, 1):
        print(f"{number} {paper.label}, {len(paper.sittings)} pupils")
    folder = folder_of(chosen)
    for name in write_book(book, folder, forms_of(chosen), chosen.replace):
        print(folder / name)
    return 0
