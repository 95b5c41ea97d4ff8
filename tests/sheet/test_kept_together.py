"""What a reader must not find on another page: the answer without its working, a picture without its equations, a lone sentence."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from molewright.nodes.blocks import Heading, Items, Paragraph, Together
from molewright.nodes.figures import FlowFigure
from molewright.render.text.lines import plain_line
from molewright.sheet.equations import equation, reactions
from molewright.sheet.writer import Writer
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once

KEYS = sorted(built_in().archetypes)


def said(block: Any) -> str:
    return plain_line(block.line) if isinstance(block, Paragraph | Heading) else ""


def flat(blocks: Iterable[Any]) -> Iterator[Any]:
    """Blocks and those kept together in them, in order: half-equations stand with the equation that they make."""
    for block in blocks:
        yield from flat(block.blocks) if isinstance(block, Together) else (block,)


def worked_below(writer: Writer) -> bool:
    """Whether anything is worked out of a question."""
    return bool(writer.question.points or writer.question.further_parts)


@every_kind_once
def test_an_answer_stands_with_its_last_step_and_a_picture_with_its_equations_and_first_step(
    turn: Turn, compose: Callable[..., Any]
) -> None:
    made = compose(*turn)
    groups = [block.blocks for block in made.worked.blocks if isinstance(block, Together)]
    pictures = [group for group in groups if any(isinstance(one, FlowFigure) for one in group)]
    assert len(pictures) == len(made.questions)
    for writer, group in zip(made.composer.writers, pictures, strict=True):
        assert not isinstance(group[-1], FlowFigure)
        assert getattr(group[-1], "tone", "") != "centred" or not worked_below(writer)
        told = [one for one in flat(group) if isinstance(one, Paragraph) and one.tone == "centred"]
        assert [one.line[0] for one in told] == [equation(reaction) for reaction in reactions(writer)]
    answers = [group for group in groups if any(said(one).startswith("Answer: ") for one in group)]
    assert len(answers) == sum(bool(question.points) for question in made.questions)
    assert all(said(group[-2]).startswith("Answer: ") and len(group) > 3 for group in answers)
    assert all(said(group[-1]).startswith("Does that make sense? ") for group in answers)
    assert not any(said(block).startswith("Answer: ") for block in made.worked.blocks)


def test_the_sentence_under_the_hazard_notes_stands_with_them(compose: Callable[..., Any]) -> None:
    scheme = compose("back-portions", "exam", "dm3").scheme
    *_, last = scheme.blocks
    assert isinstance(last, Together)
    assert any(isinstance(one, Items) for one in last.blocks)
    assert said(last.blocks[-1]).startswith("These notes are for the teacher")
