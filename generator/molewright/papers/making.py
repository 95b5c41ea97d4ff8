"""An order and the banks come in; its papers go out, one at a time: questions drawn and checked, and what composes their sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.choices import STRETCH
from molewright.order.order import Order, Wanted
from molewright.papers.choosing import default_title, levels, settle
from molewright.papers.code import DRAWS, versioned, write_code
from molewright.question.check import Question, Questions
from molewright.sheet.compose import Composer, Setting

MOST_CODE = 140  # letters
CANDIDATES = 3  # draws of a question of which the one with the plainest slips is printed


@dataclass(frozen=True, slots=True)
class Paper:
    """One version of a paper: its code, its questions and what composes its sheets."""

    code: str
    version: str
    questions: tuple[Question, ...]
    composer: Composer


class PaperMaker:
    """Makes the papers of one order from one bank."""

    def __init__(self, bank: Bank, order: Order, plans: Plans | None = None) -> None:
        self.bank = bank
        self.order = order
        self.known = tuple(sorted(bank.archetypes))
        self.code = write_code(order, self.known, bank.fingerprint)
        if len(self.code) > MOST_CODE:
            raise Mistake(
                f"the code of a paper with {len(order.archetypes)} kinds of question has {len(self.code)} letters",
                expected=f"at most {MOST_CODE}, for the files are called by it",
                do="Name fewer kinds, or none for a mixture of all.",
            )
        self.questions = Questions(bank, plans or Plans.of_user(bank.fingerprint), order.masses)
        self.unstretched: dict[str, None] = {}  # kinds printed without a stretch part though one was asked for
        # level, masses and units are left out: the same seed gives the same questions in every form
        self._seed = f"molewright/{DRAWS}/{order.seed}/{order.count}/{'+'.join(order.archetypes)}"
        self.selected, self.chosen = settle(self.questions, order, self._seed)

    def title(self, wanted: Wanted) -> str:
        """The title that was asked for, or the one of an order without."""
        return wanted.title or default_title(self.bank, self.order)

    def paper(self, wanted: Wanted, version: str, pupil: str = "") -> Paper:
        """One version of the paper."""
        made = tuple(
            self.questions.make(archetype, Stream(f"{self._seed}/{index}/{version}"), chosen, CANDIDATES)
            for index, (archetype, chosen) in enumerate(zip(self.selected, self.chosen, strict=True))
        )
        if self.order.level == STRETCH:
            made = tuple(map(self._stretched, made))
        code = versioned(self.code, version)
        setting = Setting(
            title=self.title(wanted),
            code=code,
            levels=levels(self.order),
            version=version,
            style=self.order.style,
            masses=self.order.masses,
            pupil=pupil,
            fingerprint=self.bank.fingerprint,
        )
        composer = Composer(made, self.bank, setting)
        return Paper(code, version, composer.questions, composer)

    def _stretched(self, question: Question) -> Question:
        """The question with its stretch part; a kind that has none for these numbers is kept in mind."""
        stretched = self.questions.stretched(question)
        if stretched.further_parts == question.further_parts:
            self.unstretched[question.draw.archetype.key] = None
        return stretched

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
