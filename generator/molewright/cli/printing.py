"""An order and the options for its sheets come in; its papers stand in a folder, and their names and code are printed.

What `paper` and `solve` have in common: for whom, in which versions, at which levels, in which forms, on which sheets.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from molewright.cli.options import folder_of, forms_of, looking, once, progress, workers_of
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.order.choices import LEVEL_CHOICES

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.order import Order, Wanted

_MOST_NAMES = 12  # of files that are told one by one


def print_papers(chosen: argparse.Namespace, bank: Bank, order: Order, said: Wanted) -> int:
    """Make the papers; tell their files, their code, and what could not be had. `said` is what is wanted where no option says it."""
    from molewright.machine import terminal
    from molewright.order.class_list import read_class_list
    from molewright.papers.earlier_papers import told_repeats
    from molewright.papers.sets import PaperSet
    from molewright.papers.summary import summary
    from molewright.papers.writing import printable, without_effect, write_papers

    forms = forms_of(chosen) if chosen.form else said.forms
    tried = printable(forms)
    pupils = read_class_list(chosen.class_list, tried) if chosen.class_list else ()
    wanted = replace(
        said,
        title=_title(chosen.title, tried) or said.title,
        front=replace(said.front, page=chosen.front) if chosen.front else said.front,
        pupils=pupils,
        numbers=chosen.numbers or said.numbers,
        files=chosen.files or said.files,
        answer_space=chosen.answer_space or said.answer_space,
        look=chosen.look or said.look,
        tint=chosen.tint or said.tint,
        fillable=said.fillable if chosen.fillable is None else chosen.fillable,
        forms=forms,
    )
    _require_sense(chosen, wanted)
    wanted = replace(wanted, sheets=_sheets(chosen, wanted, bool(order.aim)))
    with looking() as told_of_it:
        papers = PaperSet(bank, order, wanted, looking=told_of_it)
    for sentence in told_repeats(bank, papers.order, papers.makers[papers.levels[0]].slots):
        terminal.say(f"molewright: note: {sentence}")
    for sentence in without_effect(wanted):
        terminal.say(f"molewright: note: {sentence}")
    folder = folder_of(chosen)
    with workers_of(chosen) as workers:
        told = write_papers(papers, folder, chosen.replace, progress, workers)
    for name in told.files if len(told.files) <= _MOST_NAMES else told.files[:4]:
        print(folder / name)
    if len(told.files) > _MOST_NAMES:
        print(f"... and {len(told.files) - 4} more in {folder}")
    for line in summary(papers, told):
        print(line)
    for level, maker in papers.makers.items():
        print(f"paper code {maker.code}" if len(papers.makers) == 1 else f"paper code {maker.code} ({level})")
    return 0


def _require_sense(chosen: argparse.Namespace, wanted: Wanted) -> None:
    """Raises Mistake for options that say nothing beside the others, so that nobody thinks they were heard."""
    if chosen.numbers and not wanted.pupils:
        raise Mistake(
            f"'{chosen.numbers}' for numbers, and no class",
            where=Where("command line", entry="--numbers"),
            expected="a class list (--class-list) beside it, or neither",
        )
    if chosen.versions is not None and wanted.pupils and wanted.numbers == "own":
        raise Mistake(
            "versions, and numbers of each pupil's own",
            where=Where("command line", entry="--versions"),
            expected="--numbers shared, with names on papers that share their numbers, or no versions",
        )


def in_versions(chosen: argparse.Namespace, wanted: Wanted) -> Wanted:
    """What is wanted, in the versions that the command line names."""
    return replace(wanted, versions=_versions(chosen.versions)) if chosen.versions is not None else wanted


def levels_of(text: str) -> tuple[str, ...]:
    """The levels that are named, parted by commas."""
    levels = once([word.strip() for word in text.casefold().split(",")])
    for level in levels:
        if level not in LEVEL_CHOICES:
            raise Mistake(
                f"the level {shortened(level)}",
                expected=f"of: {', '.join(LEVEL_CHOICES)}",
                near=nearest(level, LEVEL_CHOICES),
                where=Where("command line", entry="--level"),
            )
    return levels


def _sheets(chosen: argparse.Namespace, wanted: Wanted, aimed: bool) -> tuple[str, ...]:
    """The sheets that are named; where none is, those that are usual for what is wanted."""
    from molewright.papers.copies import usual_sheets

    return once(chosen.sheet) if chosen.sheet else usual_sheets(wanted, aimed)


def in_another_form(chosen: argparse.Namespace, order: Order) -> Order:
    """The order with the level, the masses and the units that the command line names."""
    from molewright.papers.changing import at_levels

    if chosen.level is not None and (levels := levels_of(chosen.level)):
        order = at_levels(order, levels)
    if chosen.telling:
        order = replace(order, lines=tuple(replace(line, telling=None) for line in order.lines))
    named = {
        "telling": chosen.telling,
        "masses": chosen.masses,
        "style": None if chosen.litres is None else "litre" if chosen.litres else "dm3",
    }
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
    title = clean_name(text, where, "title") if text else ""
    try:
        tried(title)
    except Mistake as mistake:
        raise mistake.at(where) from None
    return title
