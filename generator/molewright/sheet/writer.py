"""One question comes in; what writes it on every sheet goes out: its numbers, what things are called, symbols, working."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar, cast

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.experiment.tellings import Telling
from molewright.question.check import Question
from molewright.sheet.bottles import Bottles
from molewright.sheet.lines import Lines
from molewright.sheet.names import Names
from molewright.sheet.numbers import Numbers
from molewright.sheet.samples import Samples
from molewright.sheet.symbols import Symbols
from molewright.sheet.wording import OwnWords, Words
from molewright.slips.wrong_answers import WrongAnswer

Made = TypeVar("Made")


class Writer:
    """Writes one question, in the words and the unit style of the paper."""

    def __init__(
        self, question: Question, bank: Bank, words: Words, style: UnitStyle = "dm3", telling: Telling | None = None
    ) -> None:
        self.question = question
        self.telling = telling  # in which way the stem is to be told; None: in one of its own
        self.bank = bank
        self.words = words
        own = OwnWords(words, question.draw.stream.seed)
        self.say = own.say
        self.numbers = Numbers(question, style)
        self.bottles = Bottles(question, bank, own, self.numbers)
        self.samples = Samples(question, bank, self.bottles)
        self.names = Names(question, own, self.numbers, self.bottles, self.samples)
        self.symbols = Symbols(question, self.names)
        self.lines = Lines(question, self.numbers, self.symbols)
        self._made: dict[tuple[Hashable, ...], object] = {}

    def once(self, work: Callable[..., Made], *what: Hashable) -> Made:
        """What a function makes of this writer, and of these, made once: several sheets tell the same."""
        key = (work, *what)
        if key not in self._made:
            self._made[key] = work(self, *what)
        return cast(Made, self._made[key])

    @property
    def likely_wrong(self) -> tuple[WrongAnswer, ...]:
        """The wrong answers to its calculation that somebody would write, the likeliest first; none where it is not asked for."""
        return self.question.mistakes.likely if self.question.points else ()
