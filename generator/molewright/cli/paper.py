"""`molewright paper`: what is asked for comes in as options; papers stand in a folder, and their names and code are printed."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from molewright.cli.options import (
    a_path,
    add_bank_options,
    add_file_options,
    bank_of,
    folder_of,
    forms_of,
    once,
    progress,
    whole_number,
)
from molewright.errors import Mistake, Where, shortened
from molewright.order.choices import LEVEL_CHOICES, MASSES, SHEETS

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.order import Order, Wanted

HELP = "make a question paper and its mark scheme"
DESCRIPTION = "Make a question paper and its mark scheme. Without options: a homework of six questions."
_MOST_NAMES = 12  # of files that are told one by one
_FILES = (".yaml", ".yml", ".jsonl")  # how the names of order files and records end


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "archetypes",
        nargs="*",
        metavar="WHAT",
        help="kinds of question or topics, as 'molewright banks' lists them (the first words of a topic will do); or one order "
        "file, or one record, to print or change what it holds",
    )
    door.add_argument("--questions", type=whole_number, metavar="N", help="how many questions (6)")
    door.add_argument(
        "--level",
        choices=LEVEL_CHOICES,
        help="degree of support (mixed: structured, then exam style); stretch adds a part that needs an idea of its own",
    )
    door.add_argument(
        "--versions",
        metavar="ABC",
        help="one paper for each letter, same questions with other numbers (A)",
    )
    door.add_argument(
        "--class-list",
        type=a_path,
        metavar="FILE",
        help="one paper for each pupil: a name on each line, or a table whose heading row has name, or forename and surname",
    )
    door.add_argument("--title", default="", help="the title of the paper")
    door.add_argument("--masses", choices=MASSES, help="relative atomic masses (one place)")
    door.add_argument("--litres", action="store_true", help="write mol/L and mL instead of mol dm⁻³ and cm³")
    add_file_options(door)
    door.add_argument("--sheet", action="append", choices=SHEETS, help="only these sheets (all four)")
    door.add_argument(
        "--code",
        metavar="CODE",
        help="make the paper of this code again; with --level, --masses or --litres the same questions in another form",
    )
    door.add_argument("--seed", type=whole_number, metavar="N", help="a number that fixes the paper")
    for what, told in (
        ("numbers", "other numbers"),
        ("scene", "another scene"),
        ("kind", "another kind of the same topic"),
    ):
        door.add_argument(
            f"--new-{what}",
            type=whole_number,
            action="append",
            default=[],
            metavar="N",
            help=f"{told} for question N of the order; the other questions stay as they are",
        )
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Make the papers; tell their files, their code, and what could not be had."""
    from molewright.order.class_list import read_class_list
    from molewright.papers.making import PaperMaker
    from molewright.papers.writing import printable, write_papers

    bank = bank_of(chosen)
    order, said = _order(chosen, bank)
    forms = forms_of(chosen) if chosen.form else said.forms
    tried = printable(forms)
    pupils = read_class_list(chosen.class_list, tried) if chosen.class_list else ()
    wanted = replace(
        said,
        title=_title(chosen.title, tried) or said.title,
        pupils=pupils,
        forms=forms,
        sheets=once(chosen.sheet or said.sheets),
    )
    order = _with_changes(chosen, bank, order)
    maker = PaperMaker(bank, order)
    folder = folder_of(chosen)
    written = write_papers(maker, wanted, folder, chosen.replace, progress)
    for name in written if len(written) <= _MOST_NAMES else written[:4]:
        print(folder / name)
    if len(written) > _MOST_NAMES:
        print(f"... and {len(written) - 4} more in {folder}")
    print(f"paper code {maker.code}")
    for sentence in maker.unusual:
        print(f"no draw would have come upon this: {sentence}")
    if maker.unstretched:
        print(f"without a stretch part, so in exam style as it stands: {', '.join(maker.unstretched)}")
    return 0


def _order(chosen: argparse.Namespace, bank: Bank) -> tuple[Order, Wanted]:
    """The order and what is wanted of it: from an order file, a record, a code, or what is asked for on the command line."""
    from molewright.order.order import Wanted
    from molewright.papers.choosing import new_order
    from molewright.papers.code import read_code

    files = [name for name in chosen.archetypes if name.endswith(_FILES)]
    if files:
        order, wanted = _from_file(chosen, files)
        return _in_another_form(chosen, order), _in_versions(chosen, wanted)
    if chosen.code is None:
        order = new_order(bank, chosen.archetypes, chosen.questions, chosen.seed)
        return _in_another_form(chosen, order), _in_versions(chosen, Wanted())
    if chosen.archetypes or chosen.questions is not None or chosen.seed is not None:
        raise Mistake(
            "a code together with archetypes, --questions or --seed",
            where=Where("command line", entry="--code"),
            expected="the code alone: it says which questions and how many",
        )
    order, version = read_code(chosen.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
    wanted = Wanted(versions=(version,)) if version else _in_versions(chosen, Wanted())
    return _in_another_form(chosen, order), wanted


def _from_file(chosen: argparse.Namespace, files: list[str]) -> tuple[Order, Wanted]:
    """The order of an order file or a record, which says all that the options for a new order would."""
    from molewright.order.order_file import read_order
    from molewright.papers.choosing import fresh_seed
    from molewright.papers.record.again import order_of
    from molewright.papers.record.reader import read_record

    beside = {"--questions": chosen.questions, "--seed": chosen.seed, "--code": chosen.code}
    named = [option for option, given in beside.items() if given is not None]
    if len(chosen.archetypes) > 1 or named:
        raise Mistake(
            f"{shortened(files[0])} together with {', '.join(named) or 'something else to make'}",
            where=Where("command line"),
            expected="one order file or record alone: it says which questions and how many",
        )
    path = Path(files[0])
    if path.name.endswith(".jsonl"):
        return order_of(read_record(path), fresh_seed)
    return read_order(path, fresh_seed)


def _in_versions(chosen: argparse.Namespace, wanted: Wanted) -> Wanted:
    return replace(wanted, versions=_versions(chosen.versions)) if chosen.versions is not None else wanted


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


def _in_another_form(chosen: argparse.Namespace, order: Order) -> Order:
    """The order with the level, the masses and the units that the command line names."""
    named = {"level": chosen.level, "masses": chosen.masses, "style": "litre" if chosen.litres else None}
    return replace(order, **{key: text for key, text in named.items() if text is not None})


def _versions(text: str) -> tuple[str, ...]:
    letters = once(text.replace(",", "").replace(" ", ""))
    if not text.isascii() or not letters or not all(map(str.isalpha, letters)):  # the capital of ß would be SS
        raise Mistake(
            f"the versions {shortened(text)}",
            expected="letters, as ABC",
            where=Where("command line", entry="--versions"),
        )
    return once(text.replace(",", "").replace(" ", "").upper())


def _title(text: str, tried: Callable[[str], None]) -> str:
    from molewright.order.class_list import clean_name

    where = Where("command line", entry="--title")
    title = clean_name(text, where) if text else ""
    try:
        tried(title)
    except Mistake as mistake:
        raise mistake.at(where) from None
    return title
