"""`molewright paper`: what is asked for comes in as options; papers stand in a folder, and their names and code are printed."""

from __future__ import annotations

import argparse
from collections.abc import Callable
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
    from molewright.order.order import Order

HELP = "make a question paper and its mark scheme"
DESCRIPTION = "Make a question paper and its mark scheme. Without options: a homework of six questions."
_MOST_NAMES = 12  # of files that are told one by one


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.add_argument(
        "archetypes",
        nargs="*",
        metavar="ARCHETYPE",
        help="kinds of question, or topics, as 'molewright banks' lists them",
    )
    door.add_argument("--questions", type=whole_number, metavar="N", help="how many questions (6)")
    door.add_argument(
        "--level",
        choices=LEVEL_CHOICES,
        help="degree of support (mixed: structured, then exam style); stretch adds a part that needs an idea of its own",
    )
    door.add_argument(
        "--versions",
        default="A",
        metavar="ABC",
        help="one paper for each letter, same questions with other numbers (A)",
    )
    door.add_argument("--class-list", type=a_path, metavar="FILE", help="one paper for each line of a text file")
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
    add_bank_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Make the papers; tell their files, their code, and what could not be had."""
    from molewright.order.class_list import read_class_list
    from molewright.order.order import Wanted
    from molewright.papers.making import PaperMaker
    from molewright.papers.writing import printable, write_papers

    bank = bank_of(chosen)
    order, versions = _order(chosen, bank)
    tried = printable(forms_of(chosen))
    pupils = read_class_list(chosen.class_list, tried) if chosen.class_list else ()
    wanted = Wanted(
        title=_title(chosen.title, tried),
        versions=versions,
        pupils=pupils,
        forms=forms_of(chosen),
        sheets=once(chosen.sheet or SHEETS),
    )
    maker = PaperMaker(bank, order)
    folder = folder_of(chosen)
    written = write_papers(maker, wanted, folder, chosen.replace, progress)
    for name in written if len(written) <= _MOST_NAMES else written[:4]:
        print(folder / name)
    if len(written) > _MOST_NAMES:
        print(f"... and {len(written) - 4} more in {folder}")
    print(f"paper code {maker.code}")
    if maker.unstretched:
        print(f"without a stretch part, so in exam style as it stands: {', '.join(maker.unstretched)}")
    return 0


def _order(chosen: argparse.Namespace, bank: Bank) -> tuple[Order, tuple[str, ...]]:
    """The order and its versions, from the code or from what is asked for."""
    from molewright.papers.choosing import new_order
    from molewright.papers.code import read_code

    if chosen.code is None:
        order = new_order(bank, chosen.archetypes, chosen.questions, chosen.seed)
        return _in_another_form(chosen, order), _versions(chosen.versions)
    if chosen.archetypes or chosen.questions is not None or chosen.seed is not None:
        raise Mistake(
            "a code together with archetypes, --questions or --seed",
            where=Where("command line", entry="--code"),
            expected="the code alone: it says which questions and how many",
        )
    order, version = read_code(chosen.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
    return _in_another_form(chosen, order), (version,) if version else _versions(chosen.versions)


def _in_another_form(chosen: argparse.Namespace, order: Order) -> Order:
    """The order with the level, the masses and the units that the command line names."""
    from dataclasses import replace

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
