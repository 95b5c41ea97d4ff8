"""Questions come in; the sheets of a paper go out, all from the same objects: questions, scheme, worked solutions, answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count
from typing import TypeVar

from molewright.bank.definitions import Bank
from molewright.chem.conventions import CONVENTIONS, Convention, UnitStyle
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.units import words_in_litres
from molewright.experiment.tellings import Telling
from molewright.nodes.blocks import (
    Block,
    ClosingLine,
    Heading,
    LookName,
    NewPage,
    Paragraph,
    Sheet,
    SheetKind,
    TintName,
)
from molewright.nodes.inline import Text
from molewright.question.check import Question
from molewright.sheet.answer_space import AnswerSpace, in_space
from molewright.sheet.answers import answers_table
from molewright.sheet.example import HINTED, at_stage, example_block
from molewright.sheet.front import FrontAsked, front_blocks
from molewright.sheet.further_parts import further_sketches
from molewright.sheet.hazards import hazard_notes
from molewright.sheet.marked_parts import marked_parts
from molewright.sheet.marking_sheet import MarkedPaper, marking_blocks
from molewright.sheet.parts import Level, question_block
from molewright.sheet.scheme import scheme_rows, scheme_table
from molewright.sheet.teachers_question import TeachersQuestion, marked_part, printed, scheme_blocks, worked_blocks
from molewright.sheet.telling.ways import opened
from molewright.sheet.wording import Words, marks_told
from molewright.sheet.worked_solution import worked_solution
from molewright.sheet.writer import Writer
from molewright.sheet.wrong_table import wrong_table

Made = TypeVar("Made")

TEACHERS_SHEETS: frozenset[SheetKind] = frozenset(("scheme", "marking", "report"))
MINUTES_A_MARK = 1.4  # homework, while learning (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What stands on every sheet of a paper: title, version, code, level of each question, unit style, a pupil's name.

    `teachers` are questions in a teacher's own words, each with its number on the paper; those that are drawn have the other numbers.
    """

    title: str
    code: str
    levels: tuple[Level, ...]
    version: str = ""
    style: UnitStyle = "dm3"
    masses: Convention = "one place"
    pupil: str = ""
    fingerprint: str = ""
    subtitle: str = ""
    front: FrontAsked | None = None
    answer_space: AnswerSpace = "normal"
    look: LookName = "usual"  # of what pupils get
    tint: TintName = ""
    sign: str = ""  # a word that tells the papers of a class at several levels apart, and ranks nobody
    teachers: tuple[tuple[int, TeachersQuestion], ...] = ()
    stages: tuple[
        str, ...
    ] = ()  # of each question in a series that fades, how much of it is shown; () for a paper that is none
    tellings: tuple[
        Telling | None, ...
    ] = ()  # of each question, in which way it is to be told; () where none is asked for


class Composer:
    """Composes the sheets of one paper from its questions."""

    def __init__(self, questions: Iterable[Question], bank: Bank, setting: Setting) -> None:
        self.stages = setting.stages or ("",) * len(setting.levels)
        self.questions = tuple(
            at_stage(question.in_style(level == "exam"), stage)
            for question, level, stage in zip(questions, setting.levels, self.stages, strict=True)
        )
        self.bank = bank
        self.setting = setting
        litre = setting.style == "litre"
        self.words = Words(
            {key: tuple(map(words_in_litres, texts)) for key, texts in bank.words.items()} if litre else bank.words
        )
        tellings = setting.tellings or (None,) * len(setting.levels)
        self.writers = tuple(
            Writer(question, bank, self.words, setting.style, telling)
            for question, telling in zip(self.questions, tellings, strict=True)
        )
        self.teachers = dict(setting.teachers)
        free = (number for number in count(1) if number not in self.teachers)
        self.numbers = tuple(next(free) for _ in self.questions)

    @property
    def each_marks(self) -> list[int]:
        """Marks of each question, in the order of the paper."""
        return self._each(lambda _, writer, __: [writer.question.marks], lambda _, asked: [asked.marks])

    @property
    def marks(self) -> int:
        """Marks of the whole paper."""
        return sum(self.each_marks)

    @property
    def minutes(self) -> int:
        """A time guide, in steps of five minutes."""
        return max(5, round(self.marks * MINUTES_A_MARK / 5) * 5)

    @property
    def told_otherwise(self) -> tuple[int, ...]:
        """The numbers of questions that would be odd in the way of telling that is asked for."""
        return tuple(
            number for number, writer, _ in self.numbered if writer.telling not in (None, opened(writer).way.telling)
        )

    # ------------------------------------------------------------ sheets

    def question_paper(self) -> Sheet:
        """The pupil's sheet."""
        blocks = front_blocks(self.setting, self.questions, self.each_marks, self.words, self.minutes)
        blocks += self._each(
            self._printed,
            lambda number, asked: [in_space(printed(asked, number), self.setting.answer_space)],
        )
        blocks.append(ClosingLine(self.words.text("end")))
        compact = self.setting.answer_space in ("small", "none")
        return replace(self._sheet("questions", "", tuple(blocks), turn_over=True), compact=compact)

    def mark_scheme(self) -> Sheet:
        """The teacher's sheet: the marking sheet, then one row a mark point, then hazards."""
        blocks: list[Block] = [
            Heading(1, (Text(f"{self.setting.title}, mark scheme"),)),
            *self._marking(),
            *(
                [NewPage()] if len(self.writers) + len(self.teachers) > 1 else []
            ),  # one question's follows on its marking sheet
            Heading(2, self.words.line("full scheme")),
            Paragraph((*self.words.line("scheme key"), Text(" "), *self.words.line("scheme rows")), "note"),
            self._caution(),
        ]
        blocks += self._each(self._marked, lambda number, asked: scheme_blocks(asked, number, self.words))
        if self.writers:
            blocks += hazard_notes(self.questions, self.bank, self.writers[0], self.words)
        return self._sheet("scheme", "mark scheme", tuple(blocks))

    def _printed(self, number: int, writer: Writer, level: Level) -> list[Block]:
        """A question that was drawn, as the pupil gets it."""
        if writer.question.shown is not None:
            whole = Writer(writer.question.shown, self.bank, self.words, self.setting.style, writer.telling)
            return [example_block(whole, number)]
        block = question_block(writer, number, level, self._stage(number) == HINTED)
        return [in_space(block, self.setting.answer_space)]

    def _stage(self, number: int) -> str:
        return self.stages[self.numbers.index(number)]

    def _demand(self, number: int, writer: Writer) -> list[Block]:
        """What a question of a series that fades demands, for the marker."""
        stage = self._stage(number)
        if not stage:
            return []
        first, last = self.questions[0].draw, writer.question.draw
        same = (first.archetype, first.variant, first.context) == (last.archetype, last.variant, last.context)
        key = f"demand {stage}{' same' if stage == 'exam' and same else ''}"
        return [Paragraph(self.words.line(key), "note")]

    def _marked(self, number: int, writer: Writer, level: Level) -> list[Block]:
        """What the mark scheme holds of a question that was drawn."""
        named = writer.numbers.in_units(with_scripts(writer.question.draw.archetype.title))
        title = f"Question {number}: {named} ({marks_told(writer.question.marks)})"
        table = scheme_table(scheme_rows(writer, number, level), number)
        blocks: list[Block] = [Heading(2, (Text(title),)), *self._demand(number, writer)]
        if writer.question.shown is not None:
            return blocks
        blocks += [table, *further_sketches(writer)]
        wrong = wrong_table(writer, number, level)
        return [*blocks, wrong] if wrong is not None else blocks

    def worked_solutions(self) -> Sheet:
        """Worked solutions for pupils: the stem once more, the picture, every step with its reason, and a check."""
        blocks: list[Block] = [Heading(1, (Text(f"{self.setting.title}, worked solutions"),)), self._caution()]
        blocks += self._each(
            lambda number, writer, level: worked_solution(writer, number, level),
            lambda number, asked: worked_blocks(asked, number),
        )
        return self._sheet("worked", "worked solutions", tuple(blocks))

    def answers(self) -> Sheet:
        """Right values only, part by part, for pupils who check themselves."""
        blocks: tuple[Block, ...] = (
            Heading(1, (Text(f"{self.setting.title}, answers"),)),
            Paragraph((Text(self._identity()),), "note"),
            answers_table(self.marked.questions),
        )
        return self._sheet("answers", "answers", blocks)

    def marking_sheet(self) -> Sheet:
        """What a marker marks from, by itself: it opens the mark scheme too."""
        blocks = (Heading(1, (Text(f"{self.setting.title}, marking sheet"),)), *self._marking())
        return self._sheet("marking", "marking sheet", blocks)

    @cached_property
    def marked(self) -> MarkedPaper:
        """Every part of every question as it is marked."""
        drawn = ((number, tuple(marked_parts(writer, level))) for number, writer, level in self.numbered)
        teachers = ((number, (marked_part(asked, self.words),)) for number, asked in self.teachers.items())
        found = sorted([*drawn, *teachers], key=lambda one: one[0])
        return MarkedPaper(who=self.setting.version, level="", questions=tuple(found))

    def _marking(self) -> tuple[Block, ...]:
        told = (Text(f"{self._identity()} "), Text(f"This paper: {marks_told(self.marks)} in all.", bold=True))
        return (Paragraph(told, "note"), *marking_blocks([self.marked], self.words))

    # ------------------------------------------------------------ pieces

    def _caution(self) -> Paragraph:
        return Paragraph(self.words.line("caution"), "caution")

    def _each(
        self,
        drawn: Callable[[int, Writer, Level], list[Made]],
        teachers: Callable[[int, TeachersQuestion], list[Made]],
    ) -> list[Made]:
        """What is made of each question, in the order of the paper."""
        found = {number: teachers(number, asked) for number, asked in self.teachers.items()}
        for number, writer, level in self.numbered:
            found[number] = drawn(number, writer, level)
        return [one for number in sorted(found) for one in found[number]]

    @property
    def numbered(self) -> list[tuple[int, Writer, Level]]:
        """The questions that were drawn, each with its number on the paper."""
        return list(zip(self.numbers, self.writers, self.setting.levels, strict=True))

    def _sheet(self, kind: SheetKind, what: str, blocks: tuple[Block, ...], turn_over: bool = False) -> Sheet:
        title = f"{self.setting.title}, {what}" if what else self.setting.title
        version = f"Version {self.setting.version}" if self.setting.version else ""
        version = " · ".join(filter(None, (version, self.setting.sign)))
        for_pupils = kind not in TEACHERS_SHEETS
        return Sheet(
            title=title,
            look=self.setting.look if for_pupils else "usual",
            tint=self.setting.tint if for_pupils else "",
            subject="Titration calculations",
            kind=kind,
            code=self.setting.code,
            blocks=blocks,
            header=title,
            version=version,
            turn_over=turn_over,
        )

    def _identity(self) -> str:
        version = f"Version {self.setting.version}. " if self.setting.version else ""
        return f"{version}Paper code {self.setting.code}. {MASSES_SAID[self.setting.masses]}"


MASSES_SAID: dict[Convention, str] = {
    "one place": "Relative atomic masses to one decimal place.",
    "two places": "Relative atomic masses to two decimal places.",
    "whole": "Relative atomic masses as whole numbers (Cl 35.5, Cu 63.5).",
    "unrounded": "Relative atomic masses unrounded.",
}
assert set(MASSES_SAID) == set(CONVENTIONS)
