"""The schema of orders: it takes whatever the writer writes, refuses what the reader refuses, and names the same words."""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from hypothesis import given

from molewright.chem.conventions import UNIT_STYLES
from molewright.machine import places
from molewright.order.choices import (
    ANSWER_SPACES,
    FIELDS,
    FILES,
    FORMS,
    FRONT_PAGES,
    LEVEL_CHOICES,
    LINE_LEVELS,
    LOOKS,
    MASSES,
    SHEET_CHOICES,
    TINTS,
    WHOSE_NUMBERS,
)
from molewright.order.front_text import MOST_INSTRUCTIONS, MOST_LETTERS, MOST_MINUTES
from molewright.order.lines import READINGS
from molewright.order.order import MOST_MARKS, MOST_PAST, MOST_QUESTIONS, MOST_SEED, Order, Wanted
from molewright.order.order_file import MOST_LINES, MOST_OWN_MARKS, MOST_WEIGHT
from molewright.order.order_text import write_order
from molewright.reading.fields import MOST_NAME, MOST_TEXT
from order.test_order_file import FAULTS, orders
from shared.for_each import for_each

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator

UNSEEN = {
    "more lines than questions": "two values that do not go together",
    "a number of no unit": "units are many, and have their own spellings",
    "two titles": "two values that do not go together",
    "own words without end": "several paragraphs are too long together",
}
"""Faults of a text that no schema of its values can see."""


@cache
def schema() -> Draft202012Validator:
    from jsonschema import Draft202012Validator  # late: it takes longer to import than all else that tests collect

    path = places.templates() / "schemas" / "order.schema.json"
    return Draft202012Validator(json.loads(path.read_text("utf-8")))


def as_json(held: Any) -> Any:
    """What a reader of YAML made of a text, as JSON has it: its keys are texts."""
    return json.loads(json.dumps(held, allow_nan=False))


def held_of(text: str, loader: Any) -> Any:
    return as_json(yaml.load(text, Loader=loader))


def test_it_is_a_schema() -> None:
    schema().check_schema(schema().schema)


@pytest.mark.thorough
@given(orders())
def test_whatever_is_written_fits(made: tuple[Order, Wanted]) -> None:
    text = write_order(*made, ["A note"])
    for loader in (yaml.BaseLoader, yaml.SafeLoader):  # every value a text; numbers and truths made of some
        schema().validate(held_of(text, loader))


@for_each("fault", [fault for fault in FAULTS if fault not in UNSEEN])
def test_what_the_reader_refuses_does_not_fit(fault: str) -> None:
    text = FAULTS[fault][0]
    for loader in (yaml.BaseLoader, yaml.SafeLoader):
        assert not schema().is_valid(held_of(text, loader)), text


@for_each("fault", UNSEEN)
def test_what_it_cannot_see_is_a_fault_all_the_same(fault: str) -> None:
    assert fault in FAULTS
    assert schema().is_valid(held_of(FAULTS[fault][0], yaml.BaseLoader))


def test_it_names_the_same_words_as_the_reader() -> None:
    held = schema().schema["properties"]
    shared = schema().schema["$defs"]
    assert tuple(shared["level"]["enum"]) == LEVEL_CHOICES
    assert tuple(shared["line_level"]["enum"]) == LINE_LEVELS
    assert tuple(shared["sheet"]["enum"]) == SHEET_CHOICES
    assert tuple(shared["form"]["enum"]) == FORMS
    assert tuple(shared["front_page"]["enum"]) == FRONT_PAGES
    assert tuple(shared["field"]["enum"]) == FIELDS
    assert tuple(shared["line"]["properties"]["readings"]["enum"]) == READINGS
    one_of = {
        "masses": MASSES,
        "units": UNIT_STYLES,
        "numbers": WHOSE_NUMBERS,
        "files": FILES,
        "answer space": ANSWER_SPACES,
        "look": LOOKS,
        "tint": TINTS,
    }
    for key, words in one_of.items():
        assert tuple(held[key]["enum"]) == words


def bounds(branch: dict[str, Any]) -> tuple[int, int]:
    """The least and the most of a whole number, having tried them as texts too."""
    number, text = branch["anyOf"]
    least, most = number["minimum"], number["maximum"]
    from jsonschema import Draft202012Validator

    fits = Draft202012Validator(text).is_valid
    assert fits(str(least))
    assert fits(str(most))
    return least, most


def test_it_has_the_same_bounds_as_the_reader() -> None:
    held = schema().schema["properties"]
    shared = schema().schema["$defs"]
    assert bounds(held["seed"]) == (0, MOST_SEED)
    assert bounds(held["questions"]) == (1, MOST_QUESTIONS)
    assert bounds(held["marks"]) == (1, MOST_MARKS)
    assert bounds(held["topics"]["anyOf"][1]["additionalProperties"]) == (1, MOST_WEIGHT)
    assert bounds(shared["own_words"]["properties"]["marks"]) == (1, MOST_OWN_MARKS)
    assert bounds(shared["own_words"]["properties"]["answer lines"]) == (0, MOST_LINES)
    assert bounds(shared["front"]["properties"]["minutes"]) == (1, MOST_MINUTES)
    assert (held["lines"]["maxItems"], held["not again"]["maxItems"]) == (MOST_QUESTIONS, MOST_PAST)
    assert (shared["text"]["maxLength"], shared["name"]["maxLength"]) == (MOST_TEXT, MOST_NAME)
    assert shared["sentence"]["maxLength"] == MOST_LETTERS
    assert shared["sentences"]["anyOf"][1]["maxItems"] == MOST_INSTRUCTIONS


@pytest.mark.parametrize(
    "text", ["questions: 41", "marks: 401", "seed: 99999999", "front: {minutes: 301}", "topics: {redox: 21}"]
)
def test_one_more_than_the_most_does_not_fit(text: str) -> None:
    assert not schema().is_valid(held_of(text, yaml.SafeLoader))
