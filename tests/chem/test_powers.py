"""Roots, powers of ten and logarithms of fractions: their laws, and that floats and fractions agree."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.chem.powers import FIGURES, minus_log, root, ten_to_minus
from shared.for_each import for_each

NUMBERS = [Fraction(7, 3), Fraction(1, 10**5), Fraction(175, 10**7), Fraction(2), Fraction(10**9, 7)]


@for_each("number", NUMBERS)
def test_each_undoes_the_other_to_its_figures(number: Fraction) -> None:
    least = Fraction(1, 10 ** (FIGURES - 3))
    assert abs(ten_to_minus(minus_log(number)) / number - 1) < least
    assert abs(root(number, 2) ** 2 / number - 1) < least
    assert abs(root(number, 3) ** 3 / number - 1) < least


@for_each("number", NUMBERS)
def test_a_float_gets_the_same_answer(number: Fraction) -> None:
    assert root(float(number), 3) == pytest.approx(float(root(number, 3)))
    assert minus_log(float(number)) == pytest.approx(float(minus_log(number)))
    assert ten_to_minus(float(number % 14)) == pytest.approx(float(ten_to_minus(number % 14)))


def test_whole_powers_of_ten_come_out_whole() -> None:
    assert minus_log(Fraction(1, 10**5)) == 5
    assert ten_to_minus(Fraction(3)) == Fraction(1, 1000)


@pytest.mark.parametrize("number", [Fraction(0), Fraction(-1), 0.0, -2.0])
def test_what_has_no_logarithm_is_refused(number: Fraction | float) -> None:
    with pytest.raises(ArithmeticError):
        minus_log(number)
    if number:
        with pytest.raises(ArithmeticError):
            root(number, 2)
    with pytest.raises(ArithmeticError):
        ten_to_minus(Fraction(-(10**6)))
