"""What is asked of the front of a paper and its questions come in; the blocks before the first question go out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from molewright.chem.conventions import Convention
from molewright.chem.masses import atomic_mass
from molewright.nodes.blocks import Block, Cell, FrontBlock, NewPage, Paragraph, Table, Together
from molewright.nodes.inline import Line, Text
from molewright.question.check import Question
from molewright.sheet.answer_space import AnswerSpace
from molewright.sheet.elements_used import elements_used
from molewright.sheet.wording import Words, marks_told

USUAL_FIELDS = ("name", "class", "date")
MOST_IN_A_BAND, MOST_IN_A_NARROW_BAND = 10, 15  # questions side by side in the table of marks
MOST_WIDE = 20  # questions that have wide columns; with more the table would not go on a cover
_LABELS = 0.17  # of the width of the page's column
_COLUMN, _NARROW_COLUMN = 0.075, 0.05


class FrontAsked(Protocol):
    """What an order asks of the front (order/front)."""

    @property
    def cover(self) -> bool:
        """Whether it is a page of its own."""

    @property
    def school(self) -> str:
        """The line above the title."""

    @property
    def fields(self) -> tuple[str, ...]:
        """What is to be filled in."""

    @property
    def minutes(self) -> int:
        """The time that is given, 0 for a guide."""

    @property
    def with_grid(self) -> bool:
        """Whether there is a table of marks."""

    @property
    def instructions(self) -> tuple[str, ...]:
        """Sentences of the teacher's own."""

    @property
    def may_use(self) -> tuple[str, ...]:
        """What may be used, in the teacher's own words."""


class OnSheets(Protocol):
    """What every sheet of the paper bears (sheet/compose)."""

    @property
    def title(self) -> str:
        """The title of the paper."""

    @property
    def subtitle(self) -> str:
        """What stands below it."""

    @property
    def pupil(self) -> str:
        """Whose paper it is."""

    @property
    def masses(self) -> Convention:
        """How relative atomic masses are rounded."""

    @property
    def levels(self) -> Sequence[str]:
        """The level of each question."""

    @property
    def stages(self) -> tuple[str, ...]:
        """How much of each question is shown, in a series that fades."""

    @property
    def front(self) -> FrontAsked | None:
        """What is asked of the front; None where nobody was asked."""

    @property
    def answer_space(self) -> AnswerSpace:
        """How much room there is for answers."""


def front_blocks(
    setting: OnSheets, questions: Sequence[Question], each: Sequence[int], words: Words, minutes: int
) -> list[Block]:
    """The heading or the cover of a paper; what follows a cover begins on a new page.

    `questions` are those that were drawn, `each` the marks of every question, `minutes` the guide.
    """
    front = setting.front
    total = sum(each)
    asked = USUAL_FIELDS if front is None else front.fields
    fields = tuple(word[:1].upper() + word[1:] for word in asked)
    if setting.answer_space == "none" and not (front is not None and front.cover):
        fields = ()  # what is answered elsewhere bears its name there
    given = front.minutes if front is not None else 0
    blocks: list[Block] = [
        FrontBlock(
            title=setting.title,
            subtitle=setting.subtitle,
            fields=tuple(field for field in fields if not (field == "Name" and setting.pupil)),
            filled=(("Name", setting.pupil),) if setting.pupil else (),
            marks=marks_told(total),
            time=f"{given} minutes" if given > 1 else "1 minute" if given else f"about {minutes} minutes",
            points=_points(setting, questions, words),
            above=front.school if front is not None else "",
            cover=front is not None and front.cover,
        )
    ]
    grid = marks_grid(each) if front is not None and front.with_grid else []
    blocks.append(Together((*grid, Paragraph(words.line("caution"), "caution"))))
    if front is not None and front.cover:
        blocks.append(NewPage())
    return blocks


def _points(setting: OnSheets, questions: Sequence[Question], words: Words) -> tuple[Line, ...]:
    front = setting.front
    masses = _masses_line(setting.masses, questions)
    named = any(question.worked.steps[-1].variable.kind == "atomic mass" for question in questions)
    allowed = words.line(f"front use{' table' if named else ''}{' masses' if masses else ''}")
    if front is not None and front.may_use:
        allowed = words.line("front allowed", allowed=", ".join(front.may_use))
    own = tuple((Text(sentence),) for sentence in front.instructions) if front is not None else ()
    series = (words.line("front series"),) if setting.stages[:1] == ("example",) else ()
    show = words.line("front show")
    if setting.answer_space == "none":
        show = (*words.line("front exercise book"), Text(" "), *show)
    rules = (*allowed, Text(" "), *words.line("front marks"))
    pictures = (words.line("front picture"),) if "scaffolded" in setting.levels else ()
    told = (*series, show, *pictures, rules, *own)
    return (*told, masses) if masses else told


def _masses_line(masses: Convention, questions: Sequence[Question]) -> Line:
    elements = {symbol for question in questions for symbol in elements_used(question)}
    if not elements:
        return ()
    listed = ", ".join(f"{symbol}\N{NO-BREAK SPACE}{atomic_mass(symbol, masses)}" for symbol in sorted(elements))
    return (Text("Relative atomic masses: "), Text(listed), Text("."))


def marks_grid(marks: Sequence[int]) -> list[Block]:
    """Tables with the marks of each question and room for those that are earned, in bands of equal length."""
    most, column = (MOST_IN_A_BAND, _COLUMN) if len(marks) <= MOST_WIDE else (MOST_IN_A_NARROW_BAND, _NARROW_COLUMN)
    bands = -(-len(marks) // most)
    long = -(-len(marks) // bands)
    found: list[Block] = []
    for start in range(0, len(marks), long):
        band = marks[start : start + long]
        last = start + long >= len(marks)
        columns = [str(number) for number in range(start + 1, start + len(band) + 1)]
        worth = list(map(str, band))
        if last:
            columns.append("all")
            worth.append(str(sum(marks)))
        share = _LABELS + column * len(columns)
        found.append(
            Table(
                widths=(_LABELS / share, *(column / share for _ in columns)),
                heading=_row("Question", columns),
                rows=(_row("Marks", worth), _row("Earned", [""] * len(columns))),
                width=share,
                summary="Marks of each question and room for those that are earned",
            )
        )
    return found


def _row(label: str, texts: Sequence[str]) -> tuple[Cell, ...]:
    return (
        Cell(((Text(label),),), head=True),
        *(Cell(((Text(text),),) if text else (), align="centre") for text in texts),
    )
