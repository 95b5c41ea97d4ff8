"""A paper comes in; one question of it goes out by itself, as text and as HTML to stand in a page of another's. Draws nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from molewright.errors import Mistake
from molewright.nodes.blocks import QuestionBlock
from molewright.papers.making import Paper
from molewright.render import fragment, renderer


@dataclass(frozen=True, slots=True)
class OneQuestion:
    """A question as the pupil gets it."""

    text: str
    html: str


def one_question(paper: Paper, number: int) -> OneQuestion:
    """The question of that number. Raises Mistake where the paper has none."""
    sheet = paper.composer.question_paper()
    there = {block.number: block for block in sheet.blocks if isinstance(block, QuestionBlock)}
    if number not in there:
        raise Mistake(f"question {number}", expected=f"1 to {max(there)}, for the paper has so many questions")
    alone = replace(sheet, blocks=(there[number],), title="", header="", version="", code="")
    return OneQuestion(renderer("text").render(alone).decode(), fragment(alone))
