"""A question in a teacher's own words comes in; what is printed of it on each sheet goes out. Its text is printed as it was written."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.nodes.blocks import RULED_MM, Block, Cell, Heading, Paragraph, Part, QuestionBlock, Together, Working
from molewright.nodes.inline import Line, Text
from molewright.sheet.marked_parts import MarkedPart
from molewright.sheet.scheme import scheme_table
from molewright.sheet.wording import Words, marks_told


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachersQuestion:
    """Its text and its answer, each in paragraphs; its marks, which only the teacher can give; how many lines are ruled."""

    text: str
    marks: int
    answer: str
    lines: int


def printed(asked: TeachersQuestion, number: int) -> QuestionBlock:
    """The question as it stands on the question paper: its last paragraph has the marks and the lines to write on."""
    *opening, demand = _paragraphs(asked.text)
    space = (Working(height_mm=RULED_MM * asked.lines, rule_mm=0.0, ruled=True),) if asked.lines else ()
    return QuestionBlock(
        number=number,
        stem=tuple(Paragraph(line) for line in opening),
        parts=(Part("", demand, space, asked.marks),),
        marks=asked.marks,
        bookmark=f"Question {number}",
    )


def scheme_blocks(asked: TeachersQuestion, number: int, words: Words) -> list[Block]:
    """Heading, the answer beside its mark points, and the total."""
    row = (
        Cell(((Text(str(number), bold=True),),)),
        Cell(tuple(_paragraphs(asked.answer))),
        Cell(((Text("1" if asked.marks == 1 else f"1 to {asked.marks}", bold=True),),), align="centre"),
        Cell((words.line("teachers guide"),)),
    )
    return [
        Heading(2, (Text(f"Question {number}: {words.text('teachers title')} ({marks_told(asked.marks)})"),)),
        scheme_table([row], number),
    ]


def worked_blocks(asked: TeachersQuestion, number: int) -> list[Block]:
    """Its answer as it stands among the worked solutions."""
    first, *more = _paragraphs(asked.answer)
    answer = (Text("Answer: ", bold=True), *first)
    return [Together((Heading(2, (Text(f"Question {number}"),)), *(Paragraph(line) for line in (answer, *more))))]


def marked_part(asked: TeachersQuestion, words: Words) -> MarkedPart:
    """The question as it is marked: its answer, and that the teacher judges what is as good."""
    answer = tuple(one for line in _paragraphs(asked.answer) for one in (*line, Text(" ")))[:-1]
    return MarkedPart(
        place=(0, 0), label="", value=answer, accepted=words.line("teachers accept"), marks=asked.marks, wrong=()
    )


def _paragraphs(text: str) -> list[Line]:
    """A text line by line; one without any is one empty line."""
    lines = [" ".join(line.split()) for line in text.splitlines()]
    return [(Text(line),) for line in lines if line] or [(Text(""),)]
