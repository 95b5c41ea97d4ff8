"""The right answers of a class come in, paper by paper; one sheet goes out, pupil by part, so that a whole set is marked from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Sheet, Table
from molewright.nodes.inline import Text

MOST_PARTS = 6  # side by side in one table
_NAMES = 0.28  # of the width


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


def _tables(rows: Sequence[KeyRow], question: int, level: str, summary: str) -> list[Block]:
    """The answers to one question at one level, so many parts side by side as fit."""
    parts = list(dict.fromkeys(part for row in rows for number, part, _ in row.answers if number == question))
    found: list[Block] = []
    for start in range(0, len(parts), MOST_PARTS):
        shown = parts[start : start + MOST_PARTS]
        share = (1 - _NAMES) / len(shown)
        heading = (level or "Paper", *(f"({part})" if part else "Answer" for part in shown))
        body = []
        for row in rows:
            right = {part: answer for number, part, answer in row.answers if number == question}
            cells = (row.who, *(right.get(part, "") for part in shown))
            body.append(tuple(Cell(((Text(text),),), head=at == 0) for at, text in enumerate(cells)))
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
