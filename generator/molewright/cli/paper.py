"""`molewright paper`: what is asked for comes in as options; papers stand in a folder, and their names and code are printed."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from molewright.cli import paper_options
from molewright.cli.options import bank_of, usual_head
from molewright.cli.printing import in_another_form, in_versions, levels_of, print_papers
from molewright.errors import Mistake, Where, shortened
from molewright.order.choices import FADED

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.head import Head
    from molewright.order.order import Order, Past, Wanted

HELP = "make a question paper and its mark scheme"
DESCRIPTION = "Make a question paper and its mark scheme. Without options: a homework of six questions."
_FILES = (".yaml", ".yml", ".jsonl")  # how the names of order files and records end


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    paper_options.add_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Make the papers; tell their files, their code, and what could not be had."""
    bank = bank_of(chosen)
    order, said = _order(chosen, bank, usual_head())
    return print_papers(chosen, bank, _with_changes(chosen, bank, order), said)


def _order(chosen: argparse.Namespace, bank: Bank, usual: Head) -> tuple[Order, Wanted]:
    """The order and what is wanted of it: from an order file, a record, a code, or what is asked for on the command line.

    `usual` is what a department has settled for what nobody says.
    """
    from molewright.order.head import with_levels
    from molewright.papers.choosing import new_order
    from molewright.papers.code import read_code
    from molewright.papers.fading import faded_order

    files = [name for name in chosen.archetypes if name.endswith(_FILES)]
    past = _earlier(chosen)
    if files:
        order, wanted = _from_file(chosen, files, usual)
        order = replace(order, not_again=tuple(dict.fromkeys((*order.not_again, *past))))
        return in_another_form(chosen, order), in_versions(chosen, wanted)
    if chosen.code is None:
        levels = usual.levels if chosen.level is None else levels_of(chosen.level)
        count, marks, aim = _count(chosen, usual), _marks(chosen), chosen.aim or ""
        if levels == (FADED,):
            order = faded_order(bank, chosen.archetypes, chosen.questions, chosen.seed)
            order = replace(order, marks=marks, not_again=past, aim=aim)
        else:
            order = new_order(bank, chosen.archetypes, count, chosen.seed, marks, past, aim)
        order = replace(with_levels(order, usual.levels), masses=usual.masses, style=usual.style, telling=usual.telling)
        order = replace(order, equations=chosen.equations or usual.equations)
        return in_another_form(chosen, order), in_versions(chosen, usual.wanted)
    single = (chosen.questions, chosen.seed, chosen.marks, chosen.aim)
    if chosen.archetypes or past or any(one is not None for one in single):
        raise Mistake(
            "a code together with archetypes, --questions, --marks, --seed, --aim or --not-again",
            where=Where("command line", entry="--code"),
            expected="the code alone: it says which questions and how many",
        )
    order, version = read_code(chosen.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
    wanted = replace(usual.wanted, versions=(version,)) if version else in_versions(chosen, usual.wanted)
    return in_another_form(chosen, order), wanted


def _count(chosen: argparse.Namespace, usual: Head) -> int | None:
    """How many questions: kinds or marks that are asked for say more than what is usual."""
    if chosen.questions is not None or chosen.archetypes or chosen.marks is not None:
        found: int | None = chosen.questions
        return found
    return usual.count or None


def _marks(chosen: argparse.Namespace) -> int:
    """The marks that are asked for; 0 where none are."""
    if chosen.marks is not None and chosen.marks < 1:
        raise Mistake(f"{chosen.marks} marks", expected="at least 1", where=Where("command line", entry="--marks"))
    return chosen.marks or 0


def _earlier(chosen: argparse.Namespace) -> tuple[Past, ...]:
    """What was set in the papers that are named, told of what of them could not be read."""
    from molewright.machine import terminal
    from molewright.papers.earlier_papers import read_earlier

    earlier = read_earlier(chosen.not_again)
    for note in earlier.notes:
        terminal.say(f"molewright: note: {note}")
    return earlier.past


def _from_file(chosen: argparse.Namespace, files: list[str], usual: Head) -> tuple[Order, Wanted]:
    """The order of an order file or a record, which says all that the options for a new order would."""
    from molewright.order.order_file import read_order
    from molewright.papers.choosing import fresh_seed
    from molewright.papers.record.again import order_of
    from molewright.papers.record.reader import read_record

    single = ("questions", "marks", "aim", "seed", "code")
    named = [f"--{option}" for option in single if getattr(chosen, option) is not None]
    if len(chosen.archetypes) > 1 or named:
        raise Mistake(
            f"{shortened(files[0])} together with {', '.join(named) or 'something else to make'}",
            where=Where("command line"),
            expected="one order file or record alone: it says which questions and how many",
        )
    path = Path(files[0])
    if path.name.endswith(".jsonl"):
        return order_of(read_record(path), fresh_seed)
    return read_order(path, fresh_seed, usual)


def _with_changes(chosen: argparse.Namespace, bank: Bank, order: Order) -> Order:
    """The order with the questions that are to have other numbers, another scene or another kind."""
    from molewright.papers.changing import CHANGES, changed
    from molewright.papers.choosing import fresh_seed
    from molewright.papers.making import PaperMaker

    wished = [(what, number) for what in CHANGES for number in getattr(chosen, f"new_{what}")]
    if wished and not order.settled:
        order = PaperMaker(bank, order).order
    for what, number in wished:
        try:
            order = changed(bank, order, what, number, str(fresh_seed()))
        except Mistake as mistake:
            raise mistake.at(Where("command line", entry=f"--new-{what}")) from None
    return order
