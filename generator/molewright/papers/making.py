"""An order and the banks come in; its papers go out, one at a time: questions drawn and checked, and what composes their sheets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.experiment.quantity_texts import Numbers
from molewright.further_parts.pieces import FAULT
from molewright.further_parts.stretch import stretch_kinds
from molewright.order.choices import EQUATION_LEVELS, FADED, STAGES, STRETCH
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.choosing import default_title
from molewright.papers.code import code_of, proof_code, versioned
from molewright.papers.equation_choice import equation_of
from molewright.papers.exact_marks import Looking
from molewright.papers.line_choice import stream_of
from molewright.papers.part_choice import part_of_question, require_part
from molewright.papers.settling import settle
from molewright.papers.slots import CANDIDATES, FIRST, Slot, sheet_level
from molewright.question.asked_equation import with_equation
from molewright.question.check import Question, Questions
from molewright.question.form import Form
from molewright.question.own_numbers import OwnQuestion, named_numbers, numbers_of, with_numbers
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.teachers_question import TeachersQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One version of a paper: its code, its questions and what composes its sheets."""

    code: str
    version: str
    questions: tuple[Question, ...]
    composer: Composer
    levels: tuple[str, ...] = ()  # of each question, as an order tells them


class PaperMaker:
    """Makes the papers of one order from one bank. `order` is the settled one: every line is written out."""

    def __init__(
        self,
        bank: Bank,
        order: Order,
        plans: Plans | None = None,
        questions: Questions | None = None,
        stretched_too: bool = False,
        looking: Looking | None = None,
    ) -> None:
        """`stretched_too`: the same numbers are printed with stretch parts for others, so they have to allow these.

        `looking` is told how far a search for marks that add up is.
        """
        self.bank = bank
        self._stretched_too = stretched_too
        self.known = tuple(sorted(bank.archetypes))
        self.questions = questions or Questions(bank, plans or Plans.of_user(bank.fingerprint), order.masses)
        self.unstretched: dict[str, None] = {}  # kinds printed without a stretch part though one was asked for
        self.unusual: dict[str, None] = {}  # sentences about numbers that no draw would have come upon
        self._forms: dict[int, Form] = {}  # of the first version of each question
        self.idle_parts: dict[
            str, None
        ] = {}  # sentences about stretch parts that are asked for below the stretch level
        self.order, self.slots = self._settled(order, looking)
        self._made: tuple[str, tuple[Question, ...]] = ("", ())  # the version that was made last
        self.code = (
            proof_code(self.order, bank.fingerprint)
            if stretched_too
            else code_of(order, self.order, self._as_drawn(order), self.known, bank.fingerprint)
        )

    def _as_drawn(self, order: Order) -> Order | None:
        """What a short order with these settings would be drawn as, where every line may come from it."""
        if order.short or not order.settled or not order.asked.short:
            return None
        return self._settled(order.asked)[0]

    def _settled(self, order: Order, looking: Looking | None = None) -> tuple[Order, tuple[Slot, ...]]:
        """The order with every line settled: the part that is picked for the first version is that of all, and written out."""
        settled, slots = settle(self.questions, order, looking)
        slots = tuple(self._with_equation(self._with_part(slot), order) for slot in slots)
        lines = list(settled.lines)
        for slot in slots:
            lines[slot.place] = replace(lines[slot.place], part=slot.line.part, equation=slot.line.equation)
        return replace(settled, lines=tuple(lines)), slots

    def _with_part(self, slot: Slot) -> Slot:
        """The question with its stretch part or its fault fixed. Raises Mistake where the one asked for cannot be."""
        stretched = slot.line.level == STRETCH and bool(stretch_kinds(slot.archetype))
        if not stretched and FAULT not in slot.archetype.further_parts:
            if slot.line.part:
                sentence = (
                    f"question {slot.place + 1}: the part '{slot.line.part}' is printed at the level stretch only"
                )
                self.idle_parts[sentence] = None
            return slot
        try:
            question = self._calculated(slot, FIRST)
        except Mistake:
            if not slot.line.part:
                raise
            question = self._calculated(replace(slot, chosen=replace(slot.chosen, part="")), FIRST)
        if slot.line.part:
            require_part(self.questions, question, slot.line)
        part = part_of_question(question)
        return replace(slot, line=replace(slot.line, part=part), chosen=replace(slot.chosen, part=part))

    def title(self, wanted: Wanted) -> str:
        """The title that was asked for, or the one of an order without."""
        alone = self.slots[0] if len(self.slots) == self.order.count == 1 else None
        own = alone.archetype.title if alone is not None and alone.own is not None else ""
        return wanted.title or own or default_title(self.bank, self.order)

    def _with_equation(self, slot: Slot, order: Order) -> Slot:
        """The question with the kind of equation that it asks for written out; it is kept in mind where its level asks none."""
        kind = equation_of(self.questions, order, slot)
        if kind and slot.line.level not in EQUATION_LEVELS:
            told = f"question {slot.place + 1}: the equation '{kind}' is asked at the levels {', '.join(EQUATION_LEVELS)} only"
            self.idle_parts[told] = None
        return replace(slot, line=replace(slot.line, equation=kind))

    def paper(self, wanted: Wanted, version: str, pupil: Pupil | None = None, sign: str = "") -> Paper:
        """One version of the paper. Raises Mistake, with the line of the order, for numbers that cannot be.

        `sign` tells the papers of a class at several levels apart.
        """
        if self._made[0] != version:  # pupils who share their numbers come one after another
            self._made = version, tuple(self._question(slot, version) for slot in self.slots)
        made = self._made[1]
        code = versioned(self.code, version)
        setting = Setting(
            title=self.title(wanted),
            code=code,
            levels=tuple(sheet_level(slot.line.level) for slot in self.slots),
            version=version,
            style=self.order.style,
            masses=self.order.masses,
            pupil=pupil.name if pupil else "",
            front=wanted.front,
            answer_space=wanted.answer_space,
            look=(pupil.look if pupil else "") or wanted.look,
            tint=(pupil.tint if pupil else "") or wanted.tint,
            sign=sign,
            fingerprint=self.bank.fingerprint,
            teachers=_teachers(self.order),
            stages=_stages(self.order, self.slots),
            tellings=tuple(slot.line.telling or self.order.telling for slot in self.slots),
        )
        composer = Composer(made, self.bank, setting)
        levels = tuple(slot.line.level for slot in self.slots)
        return Paper(code=code, version=version, questions=composer.questions, composer=composer, levels=levels)

    def papers(self, wanted: Wanted) -> Iterator[Paper]:
        """Every version asked for, one at a time."""
        return (self.paper(wanted, version) for version in wanted.versions)

    def _question(self, slot: Slot, version: str) -> Question:
        """A line's question in a version, with the equation that it asks for."""
        question = self._calculated(slot, version)
        asks = slot.line.equation and slot.line.level in EQUATION_LEVELS
        return with_equation(self.questions, question, slot.line.equation) if asks else question

    def _calculated(self, slot: Slot, version: str) -> Question:
        """A line's question in a version: as it was drawn before, with a person's own numbers, or drawn."""
        if slot.own is not None:
            return self._experiment(slot, slot.own, version)
        stream = stream_of(slot.line).branch(version)
        kept = slot.line.drawn_for(version)
        if slot.line.numbers:
            own = self._own(slot, slot.line.numbers, stream)
            for sentence in own.unusual:
                self.unusual[f"question {slot.place + 1}: {sentence}"] = None
            question = own.question
            if kept and not _holds(numbers_of(question), kept):
                question = self._own(slot, kept, stream).question
        elif kept:
            question = self._as_kept(slot, version, kept)
        else:
            question = self._drawn(slot, version)
        if slot.line.level != STRETCH:
            return question.unstretched()
        return question if question.added else self._stretched(question)

    def _experiment(self, slot: Slot, own: OwnQuestion, version: str) -> Question:
        """A described experiment, as it is written or with the numbers of a version."""
        named = f"question {slot.place + 1}"
        if slot.moving is not None:
            own, written = slot.moving.question(self.questions, version, stream_of(slot.line).branch(version)), own
            named += f", version {version}" if own is not written else ""
        self.unusual.update(dict.fromkeys(f"{named}: {sentence}" for sentence in own.unusual))
        return own.question

    def _drawn(self, slot: Slot, version: str) -> Question:
        """The question as its line draws it: of the form of the first version's, so that all versions are worth the same."""
        form = None if version == FIRST else self._form(slot)
        stream = stream_of(slot.line).branch(version)
        return self.questions.make(
            slot.archetype,
            stream,
            slot.chosen,
            CANDIDATES,
            form=form,
            stretch=self._stretched_too or slot.line.level == STRETCH,
        )

    def _form(self, slot: Slot) -> Form:
        if slot.place not in self._forms:
            self._forms[slot.place] = self._drawn(slot, FIRST).form
        return self._forms[slot.place]

    def _own(self, slot: Slot, numbers: Numbers, stream: Stream) -> OwnQuestion:
        where = (slot.line.where or Where("order")).under("numbers")
        named = named_numbers(self.questions.system(slot.chosen.variant), slot.chosen, numbers, where)
        return with_numbers(self.questions, slot.archetype, slot.chosen, named, stream, where)

    def _as_kept(self, slot: Slot, version: str, kept: Numbers) -> Question:
        """The question that was drawn before: as the seed gives it, or with its numbers where the banks have changed what that is."""
        stream = stream_of(slot.line).branch(version)
        try:
            question = self._drawn(slot, version)
        except Mistake:
            return self._own(slot, kept, stream).question
        return question if numbers_of(question) == kept else self._own(slot, kept, stream).question

    def _stretched(self, question: Question) -> Question:
        """The question with its stretch part; a kind that has none for these numbers is kept in mind."""
        stretched = self.questions.stretched(question)
        if not stretched.added:
            self.unstretched[question.draw.archetype.key] = None
        return stretched

    def order_with(self, papers: Mapping[str, Sequence[Numbers]], wordings: Sequence[str]) -> Order:
        """The settled order with the numbers that were drawn, by version, and a mark of each wording: what prints it all again."""
        lines = list(self.order.lines)
        for at, slot in enumerate(self.slots):
            fixed = papers if slot.own and not slot.moving else slot.line.as_written
            drawn = {version: numbers[at] for version, numbers in papers.items() if version not in fixed}
            lines[slot.place] = replace(lines[slot.place].with_drawn(drawn), wording=wordings[at])
        return replace(self.order, lines=tuple(lines))


def _stages(order: Order, slots: Sequence[Slot]) -> tuple[str, ...]:
    """How much is shown of each question, where any is of a series that fades or like one of it."""
    if order.level == FADED:
        return tuple(slot.line.level for slot in slots)
    shown = tuple(slot.line.level if slot.line.level in STAGES else "" for slot in slots)
    return shown if any(shown) else ()


def _teachers(order: Order) -> tuple[tuple[int, TeachersQuestion], ...]:
    """The questions in a teacher's own words, each with its number on the paper."""
    return tuple(
        (
            number,
            TeachersQuestion(
                text=line.words.text, marks=line.words.marks, answer=line.words.answer, lines=line.words.lines
            ),
        )
        for number, line in enumerate(order.lines, 1)
        if line.words is not None
    )


def _holds(numbers: Numbers, kept: Numbers) -> bool:
    return dict(numbers) == dict(kept)
