"""A relation solved for one quantity comes in; the right side of a line of working goes out, with numbers or with blanks.

Two equations in two amounts become lines as well: both equations, what is left when one is taken from the other, the value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from molewright.chem.quantity import MINUS, TIMES, Quantity, finite_places, half_up, to_figures
from molewright.derivation.simultaneous import EquationXY, Straight, TwoUnknowns
from molewright.experiment.relations.variables import Relation
from molewright.nodes.inline import Amount, Gap, Line, Maths, MathsItem, Over, Sign, Text

Written = Callable[[str], Quantity]


def right_side(relation: Relation, target: str, written: Written, gaps: bool = False) -> tuple[MathsItem, ...]:
    """The relation solved for its target; `written` gives each other quantity as it stands on the page."""
    if relation.form == "sum":
        return _summed(relation, target, written, gaps)
    power = next(exponent for name, exponent in relation.quantities if name == target)
    flip = power == 1
    factor = 1 / relation.factor if flip else relation.factor
    above: list[str] = []
    below: list[str] = []
    for name, exponent in relation.quantities:
        if name != target:
            (below if (exponent == 1) == flip else above).append(name)
    return _fraction(relation, factor, above, below, written, gaps)


def _fraction(relation: Relation, factor: Fraction, above: list[str], below: list[str], written: Written,
              gaps: bool) -> tuple[MathsItem, ...]:  # fmt: skip
    top = _times([_number(name, written, gaps) for name in above])
    bottom = _times([_number(name, written, gaps) for name in below])
    if relation.kind == "percentage" and factor == 100:
        return (Over(tuple(top), tuple(bottom)), Sign(TIMES), Text("100"))
    if relation.kind == "scale" and len(above) == 2:
        return (top[0], Sign(TIMES), Over((top[2],), tuple(bottom)))
    if factor.numerator != 1:
        top += [Sign(TIMES), Text(str(factor.numerator))] if top else [Text(str(factor.numerator))]
    if factor.denominator != 1:
        bottom += [Sign(TIMES), Text(str(factor.denominator))] if bottom else [Text(str(factor.denominator))]
    if not top:
        top = [Text("1")]
    return (Over(tuple(top), tuple(bottom)),) if bottom else tuple(top)


def _summed(relation: Relation, target: str, written: Written, gaps: bool) -> tuple[MathsItem, ...]:
    own = next(share for name, share in relation.quantities if name == target)
    terms = [(name, -share / own) for name, share in relation.quantities if name != target]
    terms.sort(key=lambda term: term[1] < 0)  # what is added first, what is taken away after it
    items: list[MathsItem] = []
    for name, share in terms:
        if items or share < 0:
            items.append(Sign(MINUS if share < 0 else "+"))
        if abs(share) != 1:
            items += [Text(str(abs(share))), Sign(TIMES)]
        items.append(_number(name, written, gaps))
    return tuple(items)


def _number(name: str, written: Written, gaps: bool) -> MathsItem:
    if gaps:
        return Gap(20.0)
    quantity = written(name)
    if quantity.scientific:
        return Amount(Quantity(quantity.number, "", True))
    return Text(quantity.number_text)


def _times(items: list[MathsItem]) -> list[MathsItem]:
    found: list[MathsItem] = []
    for item in items:
        if found:
            found.append(Sign(TIMES))
        found.append(item)
    return found


# ------------------------------------------------------------------ two equations in two amounts

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
    return Amount(Quantity(to_figures(number, _FIGURES), "", True)) if small else _plain(number, printed)


def _mole(number: Fraction) -> Amount:
    return Amount(Quantity(to_figures(number, _FIGURES), "mol", abs(number) < Fraction(1, 10)), bold=True)
