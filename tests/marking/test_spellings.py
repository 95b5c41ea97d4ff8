"""Right answers in every usual dress are read, and none as another number than it means. `python tests/spellings.py` types 100,000."""

from __future__ import annotations

import json
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.answer.accepted import AnswerType
from molewright.answer.written import Reading, Unread, Written
from molewright.chem.units import Unit, parse_unit
from molewright.marking.typed_answers import Asked, read_answer
from shared.for_each import for_each
from shared.made_spellings import made_spellings

_LIST = json.loads((Path(__file__).parent.parent / "reference/spellings.json").read_text("utf-8"))
TYPED: list[Mapping[str, str | None]] = [*_LIST["first series"]["typed"], *_LIST["added"]["typed"]]
_TYPES: Mapping[str, AnswerType] = {"whole number": "whole number", "ratio": "ratio"}


def read(one: Mapping[str, str | None]) -> tuple[Reading, Unit]:
    unit = parse_unit(one["unit"]) if one["unit"] else Unit.NONE
    return read_answer(one["typed"] or "", Asked(unit, _TYPES.get(one["answer"] or "", "number"))), unit


def test_every_listed_spelling_is_read_as_what_it_means_or_goes_to_the_teacher() -> None:
    wrong = []
    for one in TYPED:
        found, unit = read(one)
        here = found.in_unit(unit) if isinstance(found, Written) else None
        means = None if one["means"] is None else Fraction(one["means"])
        if (here.number if here else None) != means or (means is None and not isinstance(found, Unread)):
            wrong.append(f"{one['typed']!r} means {one['means']}: {found}")
    assert not wrong, "\n".join(wrong)
    assert sum(one["means"] is not None for one in TYPED) >= 300
    assert sum(one["means"] is None for one in TYPED) >= 100


def test_of_many_made_spellings_none_is_misread_and_nearly_all_are_read() -> None:
    meant, read_right = 0, 0
    for one in made_spellings(1500, seed=7):
        found = read_answer(one.text, Asked(one.unit, one.type))
        if isinstance(found, Written):
            here = found.in_unit(one.unit)
            assert here is not None, one
            assert here.number == one.means, one
            read_right += 1
        meant += one.means is not None
    assert read_right >= meant * 0.97


@for_each(
    ("text", "kind", "before"),
    [("1.995 = 2", "whole number", "1.995"), ("x = 2 (1.995)", "whole number", "1.995"), ("2.0", "whole number", None),
     ("2.49 = 5:2", "ratio", "2.49"), ("5:2 (2.49 : 1)", "ratio", "2.49"), ("0.09497 = 0.0950", "number", None)],
)  # fmt: skip
def test_the_value_before_rounding_is_kept_beside_a_whole_number_or_ratio(
    text: str, kind: AnswerType, before: str | None
) -> None:
    found = read_answer(text, Asked(Unit.NONE, kind))
    assert isinstance(found, Written)
    assert (found.before and found.before.number) == (before and Fraction(before))


@pytest.mark.parametrize(
    "text", ["97.8 to 98.0", "97.9 or 98.1", "97.8-98.0", "between 97.8 and 98.0", "97.8 – 98.0 %"]
)
def test_a_range_or_a_choice_is_told_as_that(text: str) -> None:
    found = read_answer(text, Asked(Unit.PERCENT, "number"))
    assert isinstance(found, Unread)
    assert "a range or a choice" in found.why


def test_a_letter_of_several_meanings_is_a_unit_only_where_what_is_asked_settles_it() -> None:
    found = read_answer("0.0950 M", Asked(Unit.MOL_PER_L, "number"))
    assert isinstance(found, Written)
    assert found.in_unit(Unit.MOL_PER_L) is not None
    assert isinstance(read_answer("0.0950 M", Asked(Unit.MOL, "number")), Unread)
    assert isinstance(read_answer("84.3 M", Asked(Unit.G_PER_MOL, "number")), Unread)


def test_a_figure_with_a_dot_above_it_repeats() -> None:
    third = read_answer("1.6\u0307", Asked(Unit.NONE, "number"))
    assert isinstance(third, Written)
    assert third.number == Fraction(5, 3)
