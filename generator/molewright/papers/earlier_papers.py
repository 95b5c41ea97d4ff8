"""Folders, records and orders of earlier papers come in; the questions that were set in them go out, as an order keeps them.

Only the command line names them: what is taken from them is written into the order, which reads no file.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.errors import Mistake, Where
from molewright.order.order import Order, Past
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.papers.line_choice import Avoided, quantity_asked
from molewright.papers.record.form import SUFFIX
from molewright.papers.record.reader import order_in, read_record
from molewright.papers.record.set_before import past_of
from molewright.papers.slots import Slot

MOST_PAPERS = 200  # of a folder: a paper a week for some years
MOST_ENTRIES = 20_000  # files and folders looked through
RECORD_ENDING = ".jsonl"


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """What was set before, each question once, and sentences about what could not be read."""

    past: tuple[Past, ...]
    notes: tuple[str, ...]


def read_earlier(paths: Sequence[Path]) -> Earlier:
    """The questions of some papers: of orders, of records, of all that lie in a folder or below it.

    Raises Mistake for what is named and is none, and for a folder without a paper. What else lies in a folder is passed over.
    """
    past: dict[Past, None] = {}
    notes: list[str] = []
    for path in paths:
        if not path.exists() and not path.name.endswith((ORDER_ENDING, RECORD_ENDING)):
            notes.append(f"there is no folder {path} yet: nothing was set before")  # the first of many weeks
            continue
        found = _in_folder(path, notes) if path.is_dir() else _in_paper(path)
        past.update(dict.fromkeys(found))
    return Earlier(past=tuple(past), notes=tuple(notes))


def _in_folder(folder: Path, notes: list[str]) -> Iterator[Past]:
    names, whole = _papers_in(folder)
    if not whole:
        notes.append(f"{folder} holds more than {MOST_ENTRIES} files; papers among the others are not known")
    if len(names) > MOST_PAPERS:
        notes.append(f"{len(names)} papers in {folder}: the {MOST_PAPERS} written last are not to come again")
        names = sorted(names, key=_when, reverse=True)[:MOST_PAPERS]
    passed: list[Mistake] = []
    read = 0
    for name in names:
        try:
            found = _in_paper(name)
        except Mistake as mistake:
            passed.append(mistake)
        else:
            read += 1
            yield from found
    if not names:
        notes.append(f"there is no paper in {folder} yet: nothing was set before")
    elif not read:
        raise Mistake(
            f"there is no paper in {folder}",
            expected=f"files ending in {ORDER_ENDING} or {SUFFIX}, as they were written beside papers",
            where=passed[0].where,
        )
    if passed:
        told = "1 file is no paper and was" if len(passed) == 1 else f"{len(passed)} files are no papers and were"
        notes.append(f"{told} passed over in {folder}: {passed[0]}")


def _papers_in(folder: Path) -> tuple[list[Path], bool]:
    """The orders in a folder and below it, and the records without an order beside them; whether all of it was looked through."""
    orders: list[Path] = []
    records: list[Path] = []
    entries = (Path(inside, name) for inside, _, names in os.walk(folder) for name in names)
    for path in islice(entries, MOST_ENTRIES):
        if path.name.endswith(ORDER_ENDING):
            orders.append(path)
        elif path.name.endswith(RECORD_ENDING):
            records.append(path)
    known = {str(path).removesuffix(ORDER_ENDING) for path in orders}
    alone = [path for path in records if str(path).removesuffix(SUFFIX) not in known]
    return sorted(orders) + sorted(alone), next(entries, None) is None


def _when(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def _in_paper(path: Path) -> tuple[Past, ...]:
    """What was set in the paper of one order or record."""
    where = Where(str(path))
    if not path.is_file():
        raise Mistake("there is no such file or folder", where=where, expected="a folder, an order or a record")
    record = path.name.endswith(RECORD_ENDING)
    text = order_in(path) if record else ""
    if record and not text:
        return tuple(dict.fromkeys(_in_record(path)))
    order, _ = parse_order(text, str(path), _no_seed) if record else read_order(path, _no_seed)
    found = tuple(
        Past(kind=line.kind, roles=line.roles, asked=quantity_asked(line), scene=line.scene)
        for line in order.lines
        if line.from_banks and line.settled
    )
    if not found and all(line.from_banks for line in order.lines):
        raise Mistake(
            "this order has not been made into a paper yet",
            where=where,
            expected="the order that was written beside a paper",
        )
    return found


def _in_record(path: Path) -> Iterator[Past]:
    """What was set in the papers of a record that tells no order: a practice, which each pupil has another one of."""
    record = read_record(path)
    for held in islice(record.versions.values(), MOST_PAPERS):
        yield from past_of(held.read())


def _no_seed() -> int:
    return 0  # nothing is drawn


def told_repeats(bank: Bank, order: Order, slots: Sequence[Slot]) -> Iterator[str]:
    """A sentence for each topic in which scenes or experiments of earlier papers come again, for there is nothing else."""
    past = Avoided.before(order)
    scenes: dict[str, list[int]] = defaultdict(list)
    experiments: dict[str, list[int]] = defaultdict(list)
    for slot in slots:
        if slot.chosen.context.key in past.scenes:
            scenes[slot.archetype.topic].append(slot.place + 1)
        if past.met(slot.archetype, slot.chosen.variant, slot.chosen.ask):
            experiments[slot.archetype.topic].append(slot.place + 1)
    for topic in dict.fromkeys((*scenes, *experiments)):
        if topic in scenes:
            known = _scenes(bank, topic)
            yield (
                f"{topic}: {len(known - past.scenes)} of {len(known)} scenes have not been set yet; "
                f"{_questions(scenes[topic])} in a scene of an earlier paper"
            )
        if topic in experiments:
            yield f"{topic}: {_questions(experiments[topic])} an experiment of an earlier paper again, with other numbers"


def _scenes(bank: Bank, topic: str) -> set[str]:
    kinds = (one for one in bank.archetypes.values() if one.topic == topic)
    return {scene.key for kind in kinds for variant in kind.variants for scene in variant.contexts}


def _questions(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"question {numbers[0]} is"
    return f"questions {', '.join(map(str, numbers[:-1]))} and {numbers[-1]} are"
