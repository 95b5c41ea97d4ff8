"""The questions of a paper come in; a mark of how each is worded goes out: an order that prints again tells what reads otherwise."""

from __future__ import annotations

import hashlib

from molewright.nodes.blocks import QuestionBlock, Sheet
from molewright.papers.making import Paper
from molewright.render import renderer
from molewright.sheet.parts import calculation_block

FIGURES = 8


def wordings(paper: Paper) -> tuple[str, ...]:
    """A mark for each question: of its stem and of what its calculation asks, in exam style, whatever level it is printed at."""
    return tuple(_mark(calculation_block(writer, 1)) for writer in paper.composer.writers)


def _mark(block: QuestionBlock) -> str:
    sheet = Sheet(title="", subject="", kind="questions", code="", blocks=(block,))
    return hashlib.sha256(renderer("text").render(sheet)).hexdigest()[:FIGURES]
