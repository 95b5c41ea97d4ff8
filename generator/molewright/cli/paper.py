"""`molewright paper`: what is asked for comes in as options; papers stand in a folder, and their names and code are printed."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from molewright.cli import paper_options
from molewright.cli.options import (
    bank_of,
    folder_of,
    forms_of,
    once,
    progress,
    usual_head,
)
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.order.choices import (
    CLASS_KEY,
    FADED,
    LEVEL_CHOICES,
    SHEETS,
)

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.head import Head
    from molewright.order.order import Order, Past, Wanted

HELP = "make a question paper and its mark scheme"
DESCRIPTION = "Make a question paper and its mark scheme. Without options: a homework of six questions."
_MOST_NAMES = 12  # of files that are told one by one
_FILES = (".yaml", ".yml", ".jsonl")  # how the names of order files and records end


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    paper_options.add_options(door)


def run(chosen: argparse.Namespace) -> int:
    """Make the papers; tell their files, their code, and what could not be had."""
    from molewright.machine import terminal
    from molewright.order.class_list import read_class_list
    from molewright.papers.earlier_papers import told_repeats
    from molewright.papers.sets import PaperSet
    from molewright.papers.summary import summary
    from molewright.papers.writing import printable, without_effect, write_papers

    bank = bank_of(chosen)
    order, said = _order(chosen, bank, usual_head())
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
    order = _with_changes(chosen, bank, order)
    papers = PaperSet(bank, order, wanted)
    for sentence in told_repeats(bank, papers.order, papers.makers[papers.levels[0]].slots):
        terminal.say(f"molewright: note: {sentence}")
    for sentence in without_effect(wanted):
        terminal.say(f"molewright: note: {sentence}")
    folder = folder_of(chosen)
    told = write_papers(papers, folder, chosen.replace, progress)
    for name in told.files if len(told.files) <= _MOST_NAMES else told.files[:4]:
        print(folder / name)
    if len(told.files) > _MOST_NAMES:
        print(f"... and {len(told.files) - 4} more in {folder}")
    for line in summary(papers, told):
        print(line)
    for level, maker in papers.makers.items():
        print(f"paper code {maker.code}" if len(papers.makers) == 1 else f"paper code {maker.code} ({level})")
    return 0


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
        return _in_another_form(chosen, order), _in_versions(chosen, wanted)
    if chosen.code is None:
        levels = usual.levels if chosen.level is None else _levels(chosen.level)
        count, marks, aim = _count(chosen, usual), _marks(chosen), chosen.aim or ""
        if levels == (FADED,):
            order = faded_order(bank, chosen.archetypes, chosen.questions, chosen.seed)
            order = replace(order, marks=marks, not_again=past, aim=aim)
        else:
            order = new_order(bank, chosen.archetypes, count, chosen.seed, marks, past, aim)
        order = replace(with_levels(order, usual.levels), masses=usual.masses, style=usual.style, telling=usual.telling)
        return _in_another_form(chosen, order), _in_versions(chosen, usual.wanted)
    single = (chosen.questions, chosen.seed, chosen.marks, chosen.aim)
    if chosen.archetypes or past or any(one is not None for one in single):
        raise Mistake(
            "a code together with archetypes, --questions, --marks, --seed, --aim or --not-again",
            where=Where("command line", entry="--code"),
            expected="the code alone: it says which questions and how many",
        )
    order, version = read_code(chosen.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
    wanted = replace(usual.wanted, versions=(version,)) if version else _in_versions(chosen, usual.wanted)
    return _in_another_form(chosen, order), wanted


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


def _levels(text: str) -> tuple[str, ...]:
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
    """The sheets that are named; where none is, those of the order; of a class with numbers of their own, the questions and one key.

    A paper that is aimed at a slip is for learning: its worked solutions are among them."""
    if chosen.sheet:
        return once(chosen.sheet)
    own = len(wanted.pupils) > 1 and wanted.numbers == "own"
    worked = ("worked",) if aimed else ()
    return ("questions", *worked, CLASS_KEY) if own and wanted.sheets == SHEETS else wanted.sheets


def _in_another_form(chosen: argparse.Namespace, order: Order) -> Order:
    """The order with the level, the masses and the units that the command line names."""
    levels = _levels(chosen.level) if chosen.level is not None else ()
    if levels:
        order = replace(
            order, level=levels[0] if len(levels) == 1 else "mixed", levels=levels if len(levels) > 1 else ()
        )
        order = replace(order, lines=tuple(replace(line, level="") for line in order.lines))
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
