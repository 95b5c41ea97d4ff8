"""A paper comes in; its questions go out as HTML to stand in a page of another's: as a pupil reads them, and solved step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from molewright.errors import Mistake
from molewright.nodes.blocks import Block, Heading, QuestionBlock, Sheet, Together
from molewright.papers.making import Paper
from molewright.render import placed
from molewright.sheet.answer_space import in_space
from molewright.sheet.teachers_question import worked_blocks
from molewright.sheet.worked_solution import worked_solution


def shown_questions(paper: Paper) -> dict[int, str]:
    """Every question by its number, without room to write in; the look is that of templates/html/sheet.css."""
    sheet = paper.composer.question_paper()
    blocks = [in_space(block, "none") for block in sheet.blocks if isinstance(block, QuestionBlock)]
    return {block.number: _placed(sheet, (block,)) for block in blocks}


def solved_steps(paper: Paper, number: int) -> tuple[str, ...]:
    """The worked solution of a question, a step each, none with what a later one finds, after what its stem tells.

    Raises Mistake where the paper has none such.
    """
    composer = paper.composer
    sheet = replace(composer.question_paper(), kind="answers")
    asked = composer.teachers.get(number)
    if asked is not None:
        return (_placed(sheet, _bare(worked_blocks(asked, number))),)
    found = next((one for one in composer.numbered if one[0] == number), None)
    if found is None:
        raise Mistake(f"question {number}", expected=f"1 to {len(composer.each_marks)}")
    _, writer, level = found
    _, *steps = worked_solution(writer, number, level, one_by_one=True)
    return tuple(_placed(sheet, (step,)) for step in steps)


def _bare(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """Blocks without the heading that says which question they belong to."""
    found: list[Block] = []
    for block in blocks:
        if isinstance(block, Together):
            found += _bare(block.blocks)
        elif not isinstance(block, Heading):
            found.append(block)
    return tuple(found)


def _placed(sheet: Sheet, blocks: tuple[Block, ...]) -> str:
    return placed(replace(sheet, blocks=blocks, title="", header="", version="", code=""))
