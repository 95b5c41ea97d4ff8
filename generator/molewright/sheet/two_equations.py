"""Two equations in two amounts come in; their lines go out: both, what is left when one is taken from the other, the value."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.chem.quantity import MINUS, TIMES, Quantity, finite_places, half_up, to_figures
from molewright.chem.units import Unit
from molewright.derivation.simultaneous import EquationXY, Straight, TwoUnknowns
from molewright.nodes.inline import Amount, Line, Maths, MathsItem, Over, Sign, Text

_FIGURES = 4  # of a number on the way
_MOST_PLACES = 4  # of a number that is written in full
X, Y = Text("x", italic=True), Text("y", italic=True)


def two_equations(
    found: TwoUnknowns, x: tuple[MathsItem, ...], y: tuple[MathsItem, ...], printed: Mapping[Fraction, str]
) -> tuple[Line, ...]:
    """The lines of the algebra; `x` and `y` say which amounts the letters stand for, `printed` how numbers of the question look."""
    many, number = found.left
    kind = found.first.says
    times: list[MathsItem] = [_plain(found.multiple, printed), Sign(TIMES)] if found.multiple != 1 else []
    taken = _known(found.multiple * found.second.c, kind, printed)  # its value: what is multiplied is rounded in print
    words: list[list[MathsItem]] = [[Text("(1)")], [*times, Text("(2)")]]
    sides = [_known(found.first.c, kind, printed), taken]
    if many < 0:  # the other way round, so that nothing is below zero
        many, number = -many, -number
        words.reverse()
        sides.reverse()
    reached = _known(number, kind, {})
    return (
        (Text("Let "), Maths((X, Sign("="), *x)), Text(" and "), Maths((Y, Sign("="), *y)), Text(".")),
        (Text("(1) "), Maths(_equation(found.first, printed))),
        (Text("(2) "), Maths(_equation(found.second, printed))),
        (Maths((*words[0], Sign(MINUS), *words[1])), Text(":")),
        (Maths((*_term(many, X, True, {}), Sign("="), sides[0], Sign(MINUS), sides[1], Sign("="), reached)),),
        (Maths((X, Sign("="), Over((reached,), (_plain(many, {}),)), Sign("="), _mole(found.value))),),
    )


def in_terms_of_x(asked: Straight) -> tuple[MathsItem, ...]:
    """What is asked as so many x, and what comes to it: "333.3x", or "x" where it is that amount itself."""
    rest: tuple[MathsItem, ...] = ()
    if asked.c:
        rest = (Sign("+" if asked.c > 0 else MINUS), _plain(abs(asked.c), {}))
    return (*_term(asked.a, X, True, {}), *rest)


def _equation(one: EquationXY, printed: Mapping[Fraction, str]) -> tuple[MathsItem, ...]:
    known = _known(one.c, one.says, printed)
    return (*_term(one.a, X, True, printed), *_term(one.b, Y, not one.a, printed), Sign("="), known)


def _term(many: Fraction, letter: Text, first: bool, printed: Mapping[Fraction, str]) -> tuple[MathsItem, ...]:
    if not many:
        return ()
    sign: tuple[MathsItem, ...] = (Sign(MINUS),) if many < 0 else () if first else (Sign("+"),)
    return (*sign, *((_plain(abs(many), printed),) if abs(many) != 1 else ()), letter)


def _plain(number: Fraction, printed: Mapping[Fraction, str]) -> Text:
    if number in printed:
        return Text(printed[number])
    places = finite_places(number)
    short = places is not None and places <= _MOST_PLACES
    written = half_up(number, places or 0) if short else to_figures(number, _FIGURES)
    return Text(f"{written:f}".replace("-", MINUS))


def _known(number: Fraction, says: str, printed: Mapping[Fraction, str]) -> MathsItem:
    """A known side as it is written: an amount in standard form, anything else in full."""
    small = says == "amount" and abs(number) < Fraction(1, 10)
    return Amount(Quantity(to_figures(number, _FIGURES), Unit.NONE, True)) if small else _plain(number, printed)


def _mole(number: Fraction) -> Amount:
    return Amount(Quantity(to_figures(number, _FIGURES), Unit.MOL, abs(number) < Fraction(1, 10)), bold=True)
