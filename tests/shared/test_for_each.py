"""Gathered tests: every case is checked, every failure is told, and nothing is skipped in silence."""

from __future__ import annotations

import inspect
from collections.abc import Callable

import pytest

from shared.for_each import MOST_TOLD, NothingToCheck, check_all, for_each, for_every


def shares_of(test: Callable[..., None]) -> list[int]:
    """The shares that pytest makes items of."""
    (mark,) = (one for one in test.pytestmark if one.name == "parametrize")  # type: ignore[attr-defined]
    return list(mark.args[1])


@pytest.mark.parametrize("shares", [1, 2, 3, 7, 20])
def test_every_case_is_checked_once_however_many_shares_there_are(shares: int) -> None:
    seen: list[int] = []

    @for_each("number", range(10), shares=shares)
    def gathered(number: int) -> None:
        seen.append(number)

    for share in shares_of(gathered):
        gathered(share)
    assert sorted(seen) == list(range(10))


def test_arguments_are_checked_each_with_each() -> None:
    seen: list[str] = []

    @for_every(letter="ab", number=[1, 2])
    def gathered(letter: str, number: int) -> None:
        seen.append(f"{letter}{number}")

    gathered(0)
    assert seen == ["a1", "a2", "b1", "b2"]


def test_cases_that_take_long_to_find_are_found_when_the_test_runs() -> None:
    seen: list[int] = []
    asked: list[str] = []

    def cases() -> list[int]:
        asked.append("now")
        return [1, 2]

    @for_each("number", cases)
    def gathered(number: int) -> None:
        seen.append(number)

    assert not asked
    gathered(0)
    assert (seen, asked) == ([1, 2], ["now"])


def test_what_belongs_together_is_in_one_share() -> None:
    seen: list[tuple[str, str]] = []

    @for_each(
        ("key", "level"),
        [(key, level) for key in "abc" for level in "xyz"],
        shares=2,
        share_of=lambda case: ord(case[0]),
    )
    def gathered(key: str, level: str) -> None:
        seen.append((key, level))

    gathered(1)
    assert seen == [(key, level) for key in "ac" for level in "xyz"]
    gathered(0)
    assert len(seen) == 9


def test_every_failure_is_told_by_name_with_what_it_said() -> None:
    def test_odd(number: int) -> None:
        assert number % 2, f"{number} is even"

    with pytest.raises(pytest.fail.Exception) as caught:
        check_all(test_odd, ("number",), [(f"number {one}", (one,)) for one in range(5)], {})
    said = str(caught.value)
    assert said.startswith("3 of 5 cases fail")
    assert all(f"number {one}: line" in said and f"{one} is even" in said for one in (0, 2, 4))
    assert "number 1" not in said


def test_more_failures_than_are_told_are_still_named() -> None:
    def test_none(number: int) -> None:
        raise AssertionError(f"because of {number}")

    many = MOST_TOLD + 3
    with pytest.raises(pytest.fail.Exception) as caught:
        check_all(test_none, ("number",), [(f"case {one}", (one,)) for one in range(many)], {})
    said = str(caught.value).splitlines()
    assert said[0].startswith(f"{many} of {many}")
    assert said[-1] == f"case {many - 1}"


@pytest.mark.parametrize("end", [pytest.skip, pytest.fail])
def test_a_case_that_is_skipped_or_failed_by_hand_is_a_failure(end: Callable[[str], None]) -> None:
    def test_ends(number: int) -> None:
        if number == 2:
            end("by hand")

    with pytest.raises(pytest.fail.Exception, match="1 of 3 cases fail"):
        check_all(test_ends, ("number",), [(str(one), (one,)) for one in range(3)], {})


def test_fixtures_are_asked_for_by_their_own_names() -> None:
    @for_each(("one", "two"), [(1, 2), (3, 4)])
    def gathered(one: int, tmp_path: object, two: int, bank: object) -> None:
        pass

    assert list(inspect.signature(gathered).parameters) == ["share", "tmp_path", "bank"]


@pytest.mark.parametrize(
    ("arguments", "cases", "names"),
    [
        ("number", [], ()),
        ("number", [1, 1], ()),
        ("number", [1, 2], ("a", "a")),
        (("number", "other"), [(1,)], ()),
        ("key", [1], ()),
    ],
)
def test_cases_that_would_check_less_than_they_say_are_refused(
    arguments: str | tuple[str, ...], cases: list[object], names: tuple[str, ...]
) -> None:
    def test_number(number: int) -> None:
        pass

    with pytest.raises(NothingToCheck):
        for_each(arguments, cases, names)(test_number)
