"""The right answers of a class come in, paper by paper; one sheet goes out, pupil by part, so that a whole set is marked from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.chem.quantity import parse_quantity
from molewright.errors import Mistake
from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Sheet, Table
from molewright.nodes.inline import Text

MOST_PARTS = 6  # side by side in one table
_NAMES = 0.25  # of the width


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRow:
    """One paper of the class: whose it is, or which version, and the right answer of each part of each question."""

    who: str
    level: str
    answers: tuple[tuple[int, str, str], ...]  # question, part ("" for none), the right answer


def class_key(title: str, code: str, rows: Sequence[KeyRow]) -> Sheet:
    """The key of a class: for each question a table with a row for each paper and a column for each part."""
    blocks: list[Block] = [
        Heading(1, (Text(f"{title}: answers of the class"),)),
        Paragraph((Text("The rounded right answers; accepted ranges stand in the mark scheme."),), "note"),
    ]
    levels = list(dict.fromkeys(row.level for row in rows))
    questions = list(dict.fromkeys(question for row in rows for question, _, _ in row.answers))
    for question in questions:
        blocks.append(Heading(2, (Text(f"Question {question}"),)))
        for level in levels:
            same = [row for row in rows if row.level == level]
            named = f"Question {question}, {level}" if len(levels) > 1 else f"Question {question}"
            blocks += _tables(same, question, level if len(levels) > 1 else "", named)
    return Sheet(
        title=f"{title}, answers of the class",
        subject="Titration calculations",
        kind="key",
        code=code,
        blocks=tuple(blocks),
        header=f"{title}, answers of the class",
    )


def _column(rows: Sequence[KeyRow], question: int, part: str) -> tuple[str, list[str]]:
    """The heading of a part and its answers paper by paper; a unit that they share stands in the heading alone."""
    found = [
        next((answer for number, label, answer in row.answers if (number, label) == (question, part)), "")
        for row in rows
    ]
    named = f"({part})" if part else "Answer"
    try:
        quantities = [parse_quantity(answer, unit_needed=False) for answer in found if answer]
    except Mistake:
        return named, found
    units = {quantity.unit for quantity in quantities}
    if len(units) != 1:
        return named, found
    (unit,) = units
    numbers = iter(quantity.number_text for quantity in quantities)
    return f"{named} / {unit.unbroken}" if unit else named, [next(numbers) if answer else "" for answer in found]


def _tables(rows: Sequence[KeyRow], question: int, level: str, summary: str) -> list[Block]:
    """The answers to one question at one level, so many parts side by side as fit."""
    parts = list(dict.fromkeys(part for row in rows for number, part, _ in row.answers if number == question))
    found: list[Block] = []
    for start in range(0, len(parts), MOST_PARTS):
        shown = parts[start : start + MOST_PARTS]
        share = (1 - _NAMES) / len(shown)
        columns = [_column(rows, question, part) for part in shown]
        heading = (level or "Paper", *(head for head, _ in columns))
        body = []
        for at, row in enumerate(rows):
            cells = (row.who, *(answers[at] for _, answers in columns))
            body.append(tuple(Cell(((Text(text),),), head=not place) for place, text in enumerate(cells)))
        found.append(
            Table(
                widths=(_NAMES, *(share for _ in shown)),
                heading=tuple(Cell(((Text(text),),), head=True) for text in heading),
                rows=tuple(body),
                width=1.0 if len(shown) > 2 else 0.7,
                whole=False,
                summary=summary,
            )
        )
    return found
