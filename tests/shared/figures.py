"""Questions that live from a figure: their parts, their course and their sheets, for the tests of readings, curves and indicators."""

from __future__ import annotations

from collections.abc import Callable

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.further_parts.curves.course import Course, follow
from molewright.further_parts.pieces import FurtherPart
from molewright.nodes.blocks import Sheet
from molewright.question.check import Question
from molewright.render import text
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level

Make = Callable[[str, int], Question]
SEEDS = range(6)


def parts(question: Question, kind: str) -> list[FurtherPart]:
    """The further parts of one kind; there is one at least."""
    found = [part for part in question.further_parts if part.kind == kind]
    assert found
    return found


def course_of(bank: Bank, question: Question) -> Course:
    """The titration curve of a question that has one."""
    found = follow(bank, question.draw)
    assert found is not None
    return found


def sheets(bank: Bank, question: Question, level: Level, style: UnitStyle) -> tuple[Sheet, ...]:
    """Question paper, mark scheme, worked solutions and answers of one question."""
    composer = Composer((question,), bank, Setting(title="Figures", code="A-0000", levels=(level,), style=style))
    return composer.question_paper(), composer.mark_scheme(), composer.worked_solutions(), composer.answers()


def told(sheet: Sheet) -> str:
    """A sheet as text on one line."""
    return " ".join(text.render(sheet).decode().split())
