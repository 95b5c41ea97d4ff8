"""What several groups found: one value stands apart, its fault explains it, the other offered does not, the mean is plain."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, half_up
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.faults.class_values import FITTING, ask_class_values
from molewright.further_parts.faults.effect import effect, told
from molewright.further_parts.pieces import Calculation, FurtherPart, Rows, Said
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
SETTINGS = (("direct-purity", "percentage"), ("back-portions", "percentage"), ("moss-treatment", "percentage"))


def parts(calculation: Calculation, most: int = 30) -> Iterator[FurtherPart]:
    for number in range(most):
        try:
            (part,) = ask_class_values(replace(calculation, stream=Stream(f"class/{number}")))
        except Refusal:
            continue
        yield part


def shown(part: FurtherPart) -> list[Decimal]:
    (rows,) = part.shown
    assert isinstance(rows, Rows)
    return [Decimal(str(cell)) for cell in rows.rows[0]]


def odd(part: FurtherPart) -> Decimal:
    answer = part.points[0].answer
    assert isinstance(answer, Quantity)
    return answer.number


@for_each(("key", "asked"), SETTINGS)
def test_one_value_stands_well_apart_from_the_others(key: str, asked: str, calculate: Calculate) -> None:
    found = list(parts(calculate(key, asked)))
    assert found
    for part in found:
        others = shown(part)
        others.remove(odd(part))
        assert len(others) == FITTING
        spread = max(others) - min(others)
        assert spread > 0
        assert min(abs(odd(part) - one) for one in others) >= 3 * spread


@for_each(("key", "asked"), SETTINGS)
def test_the_mean_is_that_of_the_values_that_fit(key: str, asked: str, calculate: Calculate) -> None:
    calculation = calculate(key, asked)
    for part in parts(calculation):
        others = shown(part)
        others.remove(odd(part))
        mean = part.points[2].answer
        assert isinstance(mean, Quantity)
        assert mean.number == sum(others) / FITTING  # with no more places than the values have
        assert part.accepted is not None
        assert part.accepted[0] < mean.number < part.accepted[1]
        assert not part.accepted[0] <= sum(shown(part)) / (FITTING + 1) <= part.accepted[1]


@for_each(("key", "asked"), SETTINGS)
def test_the_fault_makes_the_odd_value_and_the_other_moves_it_the_other_way(
    key: str, asked: str, bank: Bank, calculate: Calculate
) -> None:
    calculation = calculate(key, asked)
    places = calculation.worked.answer.places
    letters = set()
    for part in parts(calculation):
        assert isinstance(part.demand, Said)
        offered = [dict(part.demand.slots)[slot] for slot in ("first", "second")]
        letter = str(part.points[1].answer)[-1]
        letters.add(letter)
        fault = next(one for one in bank.faults if told(calculation, one.told) == offered["AB".index(letter)])
        seen = effect(calculation, fault)
        assert half_up(seen.answer_exact, places) == odd(part)
        assert (seen.answer == "higher") == (odd(part) > calculation.worked.answer.number)
        rest = offered["BA".index(letter)]
        other = next(one for one in bank.faults if told(calculation, one.told) == rest)
        assert {effect(calculation, other).answer, seen.answer} == {"higher", "lower"}
    assert letters == {"A", "B"}


def test_a_percentage_stays_below_a_hundred_and_no_value_is_absurd(calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    for part in parts(calculation):
        assert max(shown(part)) < 100
        assert Fraction(15, 1000) <= abs(Fraction(odd(part)) / calculation.worked.answer.exact - 1) <= Fraction(15, 100)


def test_two_titrations_are_not_compared(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_class_values(calculate("back-blank"))


def test_no_group_stands_out_in_the_table(calculate: Calculate) -> None:
    for part in parts(calculate("direct-purity", "percentage")):
        (rows,) = part.shown
        assert isinstance(rows, Rows)
        assert not rows.headed
