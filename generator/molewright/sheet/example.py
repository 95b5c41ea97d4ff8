"""A question of a series that fades comes in; how it is then set goes out, and the block of the one that is an example."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from molewright.nodes.blocks import Paragraph, QuestionBlock
from molewright.nodes.inline import Text
from molewright.question.check import Question
from molewright.question.fading import as_example, with_first_step_given, with_last_steps_open
from molewright.sheet.equations import reactions
from molewright.sheet.further_parts import before, worked_parts
from molewright.sheet.parts import ask_line
from molewright.sheet.reminder import reminder
from molewright.sheet.stem import stem
from molewright.sheet.worked_steps import shown_to_the_pupil, worked_steps
from molewright.sheet.writer import Writer

HINTED = "last steps open"  # the stage at which hints stand beside what is left open
_SET: Mapping[str, Callable[[Question], Question]] = {
    "example": as_example,
    HINTED: with_last_steps_open,
    "first step given": with_first_step_given,
}


def at_stage(question: Question, stage: str) -> Question:
    """The question as it is set at a stage of a series; as it is where nothing of it is shown."""
    return _SET[stage](question) if stage in _SET else question


def example_block(writer: Writer, number: int) -> QuestionBlock:
    """A whole question with its solution: what is asked, then every step, then its further parts."""
    first = before(writer)
    further = worked_parts(writer, writer.question.further_parts)
    solution = [*further[:first], *worked_steps(writer), *further[first:]]
    head = Paragraph((Text(writer.words.text("example lead"), bold=True),))
    return QuestionBlock(
        number=number,
        stem=(head, *stem(writer, reactions(writer), complete_table=False, easy=True)),
        parts=tuple(shown_to_the_pupil(solution, ask_line(writer))),
        marks=0,
        reminder=reminder(writer),
        bookmark=f"Question {number}",
    )
