"""What somebody did, with two mistakes in it: both change the answer as performed, and every other line tells of no mistake."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from molewright.bank.definitions import Bank, LaboratoryFault
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.faults.effect import EFFECT_WORDS, effect
from molewright.further_parts.faults.what_somebody_did import LEAST_LINES, MISTAKES, MOST_LINES, ask_method
from molewright.further_parts.pieces import Calculation, FurtherPart, Rows, Said
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
KINDS = ("direct-solutions", "standard-solution", "direct-purity", "moss-treatment", "back-portions")


def parts(calculation: Calculation, many: int = 12) -> Iterator[FurtherPart]:
    for number in range(many):
        (part,) = ask_method(replace(calculation, stream=Stream(f"method/{number}")))
        yield part


def clauses(part: FurtherPart) -> list[str]:
    """The lines as the bank tells them, before names are put in."""
    (rows,) = part.shown
    assert isinstance(rows, Rows)
    found = []
    for _, line in rows.rows:
        assert isinstance(line, Said)
        clause = dict(line.slots)["clause"]
        assert isinstance(clause, Said)
        found.append(clause.key)
    return found


def faults_told(bank: Bank, lines: list[str]) -> dict[int, LaboratoryFault]:
    wrong = {one.told: one for one in bank.faults if one.rightly and one.told != one.rightly}
    return {number: wrong[line] for number, line in enumerate(lines, 1) if line in wrong}


@for_each("key", KINDS)
def test_two_lines_are_mistakes_and_move_the_answer_as_the_scheme_says(
    key: str, bank: Bank, calculate: Calculate
) -> None:
    calculation = calculate(key)
    for part in parts(calculation):
        mistakes = faults_told(bank, clauses(part))
        assert len(mistakes) == MISTAKES
        assert part.marks == 2 * MISTAKES
        told = [point.answer for point in part.points]
        for index, (number, fault) in enumerate(mistakes.items()):
            way = effect(calculation, fault).answer
            assert way != "none"
            assert told[2 * index : 2 * index + 2] == [f"line {number}", f"answer {EFFECT_WORDS[way]}"]


@for_each("key", KINDS)
def test_lines_stand_in_the_order_of_the_work_and_none_says_the_opposite_of_another(
    key: str, bank: Bank, calculate: Calculate
) -> None:
    steps = {text: one.step for one in bank.faults if one.rightly for text in (one.told, one.rightly)}
    for part in parts(calculate(key)):
        found = [steps[line] for line in clauses(part)]
        assert found == sorted(set(found))
        assert LEAST_LINES <= len(found) <= MOST_LINES


def test_water_from_the_wash_bottle_is_never_a_mistake(calculate: Calculate) -> None:
    seen = False
    for part in parts(calculate("direct-solutions"), 30):
        lines = clauses(part)
        washed = [number for number, line in enumerate(lines, 1) if "washed down" in line]
        seen = seen or bool(washed)
        assert not {f"line {number}" for number in washed} & {point.answer for point in part.points}
    assert seen


def test_a_method_is_not_asked_of_two_titrations(calculate: Calculate) -> None:
    with pytest.raises(Refusal, match="nobody could tell which"):
        ask_method(calculate("standardise-then-assay"))


def test_a_fault_with_a_right_way_has_a_step_and_the_other_way_round(bank: Bank) -> None:
    with_steps = [one for one in bank.faults if one.step]
    assert len(with_steps) >= 15
    assert all(bool(one.rightly) == bool(one.step) for one in bank.faults)
