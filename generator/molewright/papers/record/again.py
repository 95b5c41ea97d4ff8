"""The record of papers comes in; the settled order that prints the same papers again goes out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from molewright.errors import Mistake
from molewright.experiment.quantity_texts import Numbers
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.papers.record.reader import Record

MOST_PRINTED_AGAIN = 500  # papers of one record


def order_of(record: Record, fresh_seed: Callable[[], int]) -> tuple[Order, Wanted]:
    """The order with the numbers of every paper of a record. Raises Mistake for a record that tells no order."""
    if not record.order:
        raise Mistake(
            "this record tells no order: it is of an earlier version, or of a practice",
            where=record.where,
            expected="the record of a paper",
            do="Print such a paper again with the version of molewright that made it.",
        )
    if len(record.versions) > MOST_PRINTED_AGAIN:
        raise Mistake(
            f"{len(record.versions)} papers",
            expected=f"at most {MOST_PRINTED_AGAIN} to print again",
            where=record.where,
        )
    order, wanted = parse_order(record.order, record.where.file, fresh_seed)
    drawn = {version: _numbers(held.read(), record) for version, held in record.versions.items()}
    places = [at for at, line in enumerate(order.lines) if line.words is None]
    if any(len(numbers) != len(places) for numbers in drawn.values()):
        raise Mistake("a paper in the record has not as many questions as its order", where=record.where)
    lines = list(order.lines)
    for number, at in enumerate(places):
        lines[at] = lines[at].with_drawn({version: numbers[number] for version, numbers in drawn.items()})
    first = record.paper(next(iter(record.versions)))
    return replace(order, lines=tuple(lines)), replace(wanted, versions=tuple(drawn), title=first.title)


def _numbers(paper: Mapping[str, Any], record: Record) -> tuple[Numbers, ...]:
    try:
        return tuple(
            tuple((str(name), " ".join(str(text).split())) for name, text in question["given"].items())
            for question in paper["questions"]
            if "archetype" in question
        )
    except (KeyError, TypeError, AttributeError):
        raise Mistake("a paper in the record is damaged", where=record.where) from None
