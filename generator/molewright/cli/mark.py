"""`molewright mark`: returned answers come in; the marked answers, the marks and the class report stand in a folder."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from molewright.cli.options import a_path, add_bank_options, add_file_options, bank_of, folder_of, forms_of
from molewright.machine import terminal

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.marking.marked import MarkedClass

HELP = "mark returned answers"
DESCRIPTION = (
    "Mark returned answers: marks, mistakes, a class report, and feedback strips. The answers are the answer file of the paper, "
    "filled in (CSV or XLSX); or a table with the columns paper code, pupil, question, part and answer; or a folder of papers filled "
    "in on screen (PDF)."
)


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "answers", type=a_path, help="the returned answers: a CSV or XLSX file, or a folder of filled PDFs"
    )
    door.add_argument(
        "--record",
        type=a_path,
        metavar="FILE",
        help="the record of the paper, or a folder that holds it (looked for beside the answers and in out; "
        "otherwise the paper is made again from its code)",
    )
    door.add_argument(
        "--class-list",
        type=a_path,
        metavar="FILE",
        help="the class: a name on each line, or a table with a heading row",
    )
    add_file_options(door)
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Mark them, and tell the files, and what has changed where they were marked before."""
    from molewright.marking.files import reported_together, what_changed, write_marks

    papers = marked_papers(chosen, bank_of(chosen))
    folder = folder_of(chosen)
    for classes in reported_together(papers):
        changed = what_changed(classes, folder)
        if changed:
            terminal.say(f"molewright: what differs from the marks that stand in {folder}:")
            for line in changed:
                terminal.say(f"  {line}")
        for name in write_marks(classes, folder, forms_of(chosen), chosen.replace):
            print(folder / name)
    return 0


def marked_papers(chosen: argparse.Namespace, bank: Bank) -> tuple[MarkedClass, ...]:
    """The answers marked, a class for each paper that they are of; how they were read is told on standard error."""
    from molewright.marking.files import mark_set
    from molewright.order.class_list import read_class_list
    from molewright.papers.writing import printable

    tried = printable(forms_of(chosen))
    names = read_class_list(chosen.class_list, tried) if chosen.class_list else ()
    papers, notes = mark_set(chosen.answers, bank, given=chosen.record, class_list=names, tried=tried)
    for note in notes:
        terminal.say(f"molewright: note: {note}")
    return papers
