"""An order and the banks come in; its papers go out, one at a time: questions drawn and checked, and what composes their sheets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.experiment.quantity_texts import Numbers
from molewright.order.choices import STRETCH
from molewright.order.order import Order, Wanted
from molewright.papers.choosing import default_title
from molewright.papers.code import code_of, versioned
from molewright.papers.line_choice import stream_of
from molewright.papers.settling import CANDIDATES, FIRST, Slot, settle
from molewright.question.check import Question, Questions
from molewright.question.form import Form
from molewright.question.own_numbers import OwnQuestion, named_numbers, numbers_of, with_numbers
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS, Level


@dataclass(frozen=True, slots=True)
class Paper:
    """One version of a paper: its code, its questions and what composes its sheets."""

    code: str
    version: str
    questions: tuple[Question, ...]
    composer: Composer


class PaperMaker:
    """Makes the papers of one order from one bank. `order` is the settled one: every line is written out."""

    def __init__(self, bank: Bank, order: Order, plans: Plans | None = None) -> None:
        self.bank = bank
        self.known = tuple(sorted(bank.archetypes))
        self.questions = Questions(bank, plans or Plans.of_user(bank.fingerprint), order.masses)
        self.unstretched: dict[str, None] = {}  # kinds printed without a stretch part though one was asked for
        self.unusual: dict[str, None] = {}  # sentences about numbers that no draw would have come upon
        self._forms: dict[int, Form] = {}  # of the first version of each question
        self.order, self.slots = settle(self.questions, order)
        self.code = code_of(order, self.order, self._as_drawn(order), self.known, bank.fingerprint)

    def _as_drawn(self, order: Order) -> Order | None:
        """What a short order with these settings would be drawn as, where every line may come from it."""
        if order.short or not order.settled or not order.asked.short:
            return None
        return settle(self.questions, order.asked)[0]

    def title(self, wanted: Wanted) -> str:
        """The title that was asked for, or the one of an order without."""
        return wanted.title or default_title(self.bank, self.order)

    def paper(self, wanted: Wanted, version: str, pupil: str = "") -> Paper:
        """One version of the paper. Raises Mistake, with the line of the order, for numbers that cannot be."""
        made = tuple(self._question(slot, number, version) for number, slot in enumerate(self.slots, 1))
        code = versioned(self.code, version)
        setting = Setting(
            title=self.title(wanted),
            code=code,
            levels=tuple(sheet_level(slot.line.level) for slot in self.slots),
            version=version,
            style=self.order.style,
            masses=self.order.masses,
            pupil=pupil,
            fingerprint=self.bank.fingerprint,
        )
        composer = Composer(made, self.bank, setting)
        return Paper(code, version, composer.questions, composer)

    def _question(self, slot: Slot, number: int, version: str) -> Question:
        """A line's question in a version: as it was drawn before, with a person's own numbers, or drawn."""
        stream = stream_of(slot.line).branch(version)
        kept = slot.line.drawn_for(version)
        if slot.line.numbers:
            own = self._own(slot, slot.line.numbers, stream)
            for sentence in own.unusual:
                self.unusual[f"question {number}: {sentence}"] = None
            question = own.question
            if kept and not _holds(numbers_of(question), kept):
                question = self._own(slot, kept, stream).question
        elif kept:
            question = self._as_kept(slot, number, version, kept)
        else:
            question = self._drawn(slot, number, version)
        if slot.line.level == STRETCH and not question.added:
            question = self._stretched(question)
        return question

    def _drawn(self, slot: Slot, number: int, version: str) -> Question:
        """The question as its line draws it: of the form of the first version's, so that all versions are worth the same."""
        form = None if version == FIRST else self._form(slot, number)
        stream = stream_of(slot.line).branch(version)
        return self.questions.make(
            slot.archetype, stream, slot.chosen, CANDIDATES, form=form, stretch=slot.line.level == STRETCH
        )

    def _form(self, slot: Slot, number: int) -> Form:
        if number not in self._forms:
            self._forms[number] = self._drawn(slot, number, FIRST).form
        return self._forms[number]

    def _own(self, slot: Slot, numbers: Numbers, stream: Stream) -> OwnQuestion:
        where = (slot.line.where or Where("order")).under("numbers")
        named = named_numbers(self.questions.system(slot.chosen.variant), slot.chosen, numbers, where)
        return with_numbers(self.questions, slot.archetype, slot.chosen, named, stream, where)

    def _as_kept(self, slot: Slot, number: int, version: str, kept: Numbers) -> Question:
        """The question that was drawn before: as the seed gives it, or with its numbers where the banks have changed what that is."""
        stream = stream_of(slot.line).branch(version)
        try:
            question = self._drawn(slot, number, version)
        except Mistake:
            return self._own(slot, kept, stream).question
        return question if numbers_of(question) == kept else self._own(slot, kept, stream).question

    def _stretched(self, question: Question) -> Question:
        """The question with its stretch part; a kind that has none for these numbers is kept in mind."""
        stretched = self.questions.stretched(question)
        if not stretched.added:
            self.unstretched[question.draw.archetype.key] = None
        return stretched

    def order_with(self, papers: Mapping[str, tuple[Numbers, ...]]) -> Order:
        """The settled order with the numbers that were drawn, by version: what prints the same papers again."""
        lines = tuple(
            line.with_drawn({version: numbers[at] for version, numbers in papers.items()})
            for at, line in enumerate(self.order.lines)
        )
        return replace(self.order, lines=lines)

    def papers(self, wanted: Wanted) -> Iterator[Paper]:
        """Every version asked for, one at a time."""
        if wanted.pupils:
            width = max(2, len(str(len(wanted.pupils))))
            width = 5 if width == 4 else width  # four figures would read as the first letters of the code
            for number, pupil in enumerate(wanted.pupils, 1):
                yield self.paper(wanted, str(number).rjust(width, "0"), pupil)
        else:
            for version in wanted.versions:
                yield self.paper(wanted, version)


def sheet_level(level: str) -> Level:
    """How much support the sheets give at a level; the stretch level is exam style with a part more."""
    return next((one for one in LEVELS if one == level), LEVELS[-1])


def _holds(numbers: Numbers, kept: Numbers) -> bool:
    return dict(numbers) == dict(kept)
