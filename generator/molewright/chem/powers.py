"""Roots, powers of ten and logarithms of exact fractions: fractions come in, fractions of 30 figures go out, the same ones every time.

A root or a logarithm is no fraction, so 30 figures stand for it: 25 more than any pupil writes. Floats, which only filter candidates,
are answered by floats.
"""

from __future__ import annotations

import math
from decimal import Context, Decimal
from fractions import Fraction
from typing import Protocol, overload

FIGURES = 30
_MOST_POWER = 300  # of ten
_WORKED = Context(prec=FIGURES + 10)
_KEPT = Context(prec=FIGURES)


class Rational(Protocol):
    """A whole number over another one: a fraction, reduced or not."""

    @property
    def numerator(self) -> int:
        """What stands above."""

    @property
    def denominator(self) -> int:
        """What stands below."""


@overload
def root(number: float, power: int) -> float: ...
@overload
def root(number: Rational, power: int) -> Fraction: ...
def root(number: float | Rational, power: int) -> float | Fraction:
    """The root of a number above zero: the second, the third. Raises ArithmeticError below zero."""
    if isinstance(number, float):
        if number < 0:
            raise ZeroDivisionError("a root of what is below zero")
        return float(number ** (1 / power))
    decimal = _decimal(number)
    if decimal < 0:
        raise ZeroDivisionError("a root of what is below zero")
    found = _WORKED.sqrt(decimal) if power == 2 else _WORKED.power(decimal, _WORKED.divide(Decimal(1), Decimal(power)))
    return Fraction(_KEPT.plus(found))


@overload
def minus_log(number: float) -> float: ...
@overload
def minus_log(number: Rational) -> Fraction: ...
def minus_log(number: float | Rational) -> float | Fraction:
    """The logarithm to the base ten with its sign turned: 5 for 0.00001. Raises ArithmeticError for what is not above zero."""
    if isinstance(number, float):
        if number <= 0:
            raise ZeroDivisionError("a logarithm of what is not above zero")
        return -math.log10(number)
    decimal = _decimal(number)
    if decimal <= 0:
        raise ZeroDivisionError("a logarithm of what is not above zero")
    return -Fraction(_KEPT.plus(_WORKED.log10(decimal)))


@overload
def ten_to_minus(number: float) -> float: ...
@overload
def ten_to_minus(number: Rational) -> Fraction: ...
def ten_to_minus(number: float | Rational) -> float | Fraction:
    """Ten to the power of a number with its sign turned: 0.00001 for 5. Raises ArithmeticError where that is out of all bounds."""
    if isinstance(number, float):
        return float(10.0**-number)
    if abs(number.numerator) > _MOST_POWER * abs(number.denominator):
        raise OverflowError("a power of ten out of all bounds")
    return Fraction(_KEPT.plus(_WORKED.power(Decimal(10), -_decimal(number))))


def _decimal(number: Rational) -> Decimal:
    """A fraction, reduced or not, or a whole number as a decimal of more figures than are kept."""
    return _WORKED.divide(Decimal(number.numerator), Decimal(number.denominator))
