"""Drawn questions come in; each is stretched and some are composed at every level, so that no level fails unseen. Nothing goes out.

What cannot be composed raises as it would for whoever prints the paper.
"""

from __future__ import annotations

from collections.abc import Sequence

from molewright.bank.definitions import Bank
from molewright.question.check import Question, Questions
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS, Level

STRETCHED: Level = "exam"  # the level of a question with a stretch part
COMPOSED = 3  # questions of which all sheets are composed: that takes ten times as long as drawing them


def try_every_level(questions: Questions, drawn: Sequence[Question], bank: Bank) -> None:
    """Stretch every question; compose the sheets of the first few at each level, the stretch level too."""
    for number, question in enumerate(drawn):
        stretched = questions.stretched(question)
        if number < COMPOSED:
            for level in LEVELS:
                _compose(question, bank, level)
            _compose(stretched, bank, STRETCHED)


def _compose(question: Question, bank: Bank, level: Level) -> None:
    composer = Composer((question,), bank, Setting(title="", code="", levels=(level,)))
    composer.question_paper()
    composer.mark_scheme()
    composer.worked_solutions()
    composer.answers()
