"""Room to answer in: as much as has to be written, pressed and spread with the answer space that is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import replace
from typing import Any, get_args

import pytest

from molewright.nodes.blocks import FrontBlock, LookName, Part, QuestionBlock, Table, TintName, Working
from molewright.order.choices import ANSWER_SPACES, LOOKS, TINTS
from molewright.render.text.lines import plain_line
from molewright.sheet.answer_space import AnswerSpace, height_mm, lines_to_write

RULE_ABOVE_MM = 6.8 + 1.4  # what the rule's own line and the gap below the demand keep above it


def spaces(block: Any) -> Iterator[Working]:
    for part in block.parts:
        yield from (one for one in part.blocks if isinstance(one, Working))


def paper(made: Any, space: str) -> Any:
    composer = copy(made.composer)  # which others use too
    composer.setting = replace(composer.setting, answer_space=space)
    return composer.question_paper()


def questions(made: Any, space: str) -> list[QuestionBlock]:
    return [block for block in paper(made, space).blocks if isinstance(block, QuestionBlock)]


def test_an_order_and_a_sheet_know_the_same_answer_spaces_looks_and_tints() -> None:
    assert get_args(AnswerSpace) == ANSWER_SPACES
    assert get_args(LookName) == LOOKS
    assert get_args(TintName)[1:] == TINTS


@pytest.mark.parametrize("level", ["structured", "exam"])
def test_fifteen_millimetres_stay_free_above_each_rule_of_a_calculation(
    level: str, compose: Callable[..., Any]
) -> None:
    for question in questions(compose("back-portions", level, "dm3"), "normal"):
        found = [one for one in spaces(question) if one.rule_mm]
        assert found
        assert all(one.least_mm + RULE_ABOVE_MM >= 15 for one in found)
        assert all(one.least_mm <= one.height_mm < one.most_mm for one in found)


def test_more_room_is_given_for_more_to_write(compose: Callable[..., Any]) -> None:
    made = compose("back-portions", "exam", "dm3")
    for writer, question in zip(made.composer.writers, questions(made, "normal"), strict=True):
        points = [point for point in writer.question.worked.points if point.steps]
        steps = sum(len(point.steps) for point in points)
        assert lines_to_write(writer, points) >= steps
        *_, last = spaces(question)
        assert last.height_mm == height_mm(lines_to_write(writer, points))


def test_wide_is_wider_than_normal_and_small_smaller_and_none_has_nothing_to_write_on(
    compose: Callable[..., Any],
) -> None:
    made = compose("back-portions", "structured", "dm3")
    total = {
        space: sum(one.height_mm for question in questions(made, space) for one in spaces(question))
        for space in ANSWER_SPACES
    }
    assert total["wide"] > 1.4 * total["normal"] > 2 * total["small"] > 0
    assert not total["none"]
    assert not [one for question in questions(made, "none") for one in spaces(question)]


def test_what_is_answered_in_an_exercise_book_says_so_and_has_no_rows_to_fill_in(compose: Callable[..., Any]) -> None:
    made = compose("direct-solutions", "structured", "dm3")
    found = {space: questions(made, space) for space in ("normal", "none")}
    rows = {
        space: sum(len(block.rows) for question in each for block in question.stem if isinstance(block, Table))
        for space, each in found.items()
    }
    assert rows["none"] < rows["normal"]
    front = next(block for block in paper(made, "none").blocks if isinstance(block, FrontBlock))
    assert "exercise book" in "".join(plain_line(line) for line in front.points)
    assert not front.fields
    parts: list[Part] = [part for question in found["none"] for part in question.parts]
    assert sum(part.marks for part in parts) == made.composer.marks
