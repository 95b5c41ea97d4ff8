"""An order and who gets it come in; every paper of the set goes out, in the order of the class list or level by level."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.experiment.quantity_texts import Numbers
from molewright.order.choices import STRETCH
from molewright.order.order import Order, Wanted
from molewright.papers.copies import SIGNS, Copy, copies, levels_of
from molewright.papers.exact_marks import Looking
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.slots import FIRST

MOST_MORE = (
    0.25  # of the marks of the other levels, that the stretch level may have on top of them: a quarter of the time
)


class PaperSet:
    """The papers of one order at all its levels: the same experiments with the same numbers, as much support as each level gives."""

    def __init__(
        self, bank: Bank, order: Order, wanted: Wanted, plans: Plans | None = None, looking: Looking | None = None
    ) -> None:
        """`looking` is told how far a search for marks that add up is; it may raise to stop it."""
        levels = levels_of(order, wanted)
        asked = replace(order, levels=levels, level="mixed") if len(levels) > 1 else replace(order, level=levels[0])
        first = PaperMaker(bank, asked, plans, looking=looking)
        self.bank = bank
        self.asked = order
        self.wanted = wanted
        self._first: dict[str, Paper] = {}  # of each level
        self.levels = levels
        self.order = first.order
        self.copies = copies(asked, wanted)
        self.makers = {levels[0]: first}
        if len(levels) > 1:
            every = self._stretched(first) if STRETCH in levels else None
            if every is not None:
                parts = (line.part for line in every.order.lines)
                lines = (replace(line, part=part) for line, part in zip(self.order.lines, parts, strict=True))
                self.order = replace(self.order, lines=tuple(lines))
            self.makers = {level: self._maker(first, every, level) for level in levels}

    def _stretched(self, first: PaperMaker) -> PaperMaker:
        """The questions of the set, each with its stretch part."""
        return PaperMaker(self.bank, self.order.at(STRETCH), questions=first.questions, stretched_too=True)

    def _maker(self, first: PaperMaker, every: PaperMaker | None, level: str) -> PaperMaker:
        order = self.order.at(level)
        if level == STRETCH and every is not None:
            order = self._stretching_some(every, order)
        return PaperMaker(self.bank, order, questions=first.questions, stretched_too=every is not None)

    def _stretching_some(self, every: PaperMaker, order: Order) -> Order:
        """The order with a stretch part in so many questions, from the last on, as keep its total comparable to the other levels'."""
        questions = every.paper(self.wanted, FIRST).questions
        gains = [question.marks - question.unstretched().marks for question in questions]
        room = MOST_MORE * (sum(question.marks for question in questions) - sum(gains))
        lines = list(order.lines)
        for slot, gain in reversed(list(zip(every.slots, gains, strict=True))):
            fits = 0 < gain <= room
            room -= gain if fits else 0
            line = lines[slot.place]
            lines[slot.place] = replace(line, level=line.level or (STRETCH if fits else "exam"))
        return replace(order, lines=tuple(lines))

    @property
    def code(self) -> str:
        """The code that the files of the whole set are called by: that of its first level."""
        return self.makers[self.levels[0]].code

    @property
    def title(self) -> str:
        """The title on every sheet."""
        return self.makers[self.levels[0]].title(self.wanted)

    @property
    def own_numbers(self) -> bool:
        """Whether each pupil has numbers of their own."""
        return bool(self.wanted.pupils) and self.wanted.numbers == "own"

    @property
    def joined(self) -> bool:
        """Whether the sheets of a kind stand in one file: where it is asked for, for a class, and for several levels."""
        return self.wanted.files == "joined" or (
            not self.wanted.files and bool(self.wanted.pupils or len(self.levels) > 1)
        )

    def paper(self, copy: Copy) -> Paper:
        """The paper of a copy. Raises Mistake for numbers that cannot be."""
        first = self._first.get(copy.level)
        if first is not None and copy == self._copy(copy.level):
            return first
        sign = SIGNS[copy.level] if len(self.levels) > 1 else ""
        made = self.makers[copy.level].paper(self.wanted, copy.version, copy.pupil, sign)
        if copy == self._copy(copy.level):
            self._first[copy.level] = made
        return made

    def firsts(self) -> dict[str, Paper]:
        """The first paper of every level that anybody gets, in the order in which they come."""
        return {level: self.paper(self._copy(level)) for level in dict.fromkeys(copy.level for copy in self.copies)}

    def _copy(self, level: str) -> Copy:
        """The first copy of a level."""
        return next(copy for copy in self.copies if copy.level == level)

    def apart(self) -> Iterator[Copy]:
        """One copy for each level and version: the papers that differ in more than a name."""
        seen: set[tuple[str, str]] = set()
        for copy in self.copies:
            if copy.numbers not in seen:
                seen.add(copy.numbers)
                yield copy

    def settled(self, drawn: Mapping[str, Sequence[Numbers]], wordings: Sequence[str]) -> Order:
        """The settled order of the set, with the numbers that were drawn by version and a mark of each wording."""
        maker = self.makers[self.levels[0]]
        order = maker.order_with(drawn, wordings)
        if len(self.levels) == 1:
            return order
        lines = [
            replace(line, drawn=one.drawn, wording=one.wording)
            for line, one in zip(self.order.lines, order.lines, strict=True)
        ]
        return replace(self.order, lines=tuple(lines))

    def reworded(self, wordings: Sequence[str], version: str) -> tuple[int, ...]:
        """The numbers of questions that do not read as they did when the order was written: the banks, or we, have changed.

        `wordings` are of this version; those in the order are of the first version whose numbers it keeps.
        """
        slots = self.makers[self.levels[0]].slots
        return tuple(
            slot.place + 1
            for slot, now in zip(slots, wordings, strict=True)
            if slot.line.wording not in ("", now) and slot.line.drawn and slot.line.drawn[0][0] == version
        )
