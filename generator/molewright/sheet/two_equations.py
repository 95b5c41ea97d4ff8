"""Two equations in two amounts come in; their lines go out: both, what is left when one is taken from the other, the value.

Every number of an equation stands on the page before it: what is given, a molar mass, a small count, or a line of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import MINUS, TIMES, Quantity, finite_places, half_up, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.derivation.simultaneous import EquationXY, Straight, TwoUnknowns
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.nodes.inline import Amount, Line, Maths, MathsItem, Over, Sign, Text
from molewright.sheet.right_side import right_side

_FIGURES = 4  # of a number on the way, and more where a difference would show fewer
_MOST_FIGURES = 12
_MOST_PLACES = 4  # of a number that is written in full
_MOST_COUNT = 12  # a number of this size in front of x is a count of the equation that everybody sees
X, Y = Text("x", italic=True), Text("y", italic=True)

Symbols = Callable[[Name], tuple[MathsItem, ...]]
Written = Callable[[Name], Quantity]


def two_equations(
    found: TwoUnknowns, symbols: Symbols, written: Written, printed: Mapping[Fraction, str], figures: int = _FIGURES
) -> tuple[Line, ...]:
    """The lines of the algebra; `symbols` names quantities, `written` tells how they stand on the page, `printed` how numbers do."""
    enough = _figures(found, printed, figures)
    return _Algebra(
        found=found, symbols=symbols, written=written, printed=printed, figures=enough, at_the_end=figures
    ).lines()


def from_the_value(
    found: TwoUnknowns, symbols: Symbols, written: Written, printed: Mapping[Fraction, str], figures: int = _FIGURES
) -> tuple[Line, ...]:
    """The lines from the value of x to what is asked, the asked one as the last; none where x itself is asked."""
    return _Algebra(
        found=found, symbols=symbols, written=written, printed=printed, figures=figures, at_the_end=figures
    ).on_to_the_answer()


def _figures(found: TwoUnknowns, printed: Mapping[Fraction, str], least: int) -> int:
    """With how many figures the numbers on the way are written: as many as lead to the printed value of x when they are used."""
    wanted = to_figures(found.value, least)
    for figures in range(least, _MOST_FIGURES):
        many, _ = found.left
        first, second = (
            _as_written(number, printed, figures) for number in (found.first.c, found.multiple * found.second.c)
        )
        if to_figures((first - second) / _as_written(many, printed, figures), least) == wanted:
            return figures
    return _MOST_FIGURES


@dataclass(frozen=True, slots=True, kw_only=True)
class _Algebra:
    found: TwoUnknowns
    symbols: Symbols
    written: Written
    printed: Mapping[Fraction, str]
    figures: int  # of a number on the way
    at_the_end: int  # of the value of x

    def lines(self) -> tuple[Line, ...]:
        found = self.found
        many, number = found.left
        kind = found.first.says
        times: list[MathsItem] = [self._plain(found.multiple), Sign(TIMES)] if found.multiple != 1 else []
        taken = self._known(found.multiple * found.second.c, kind)  # its value: what is multiplied is rounded in print
        words: list[list[MathsItem]] = [[Text("(1)")], [*times, Text("(2)")]]
        sides = [self._known(found.first.c, kind), taken]
        if many < 0:  # the other way round, so that nothing is below zero
            many, number = -many, -number
            words.reverse()
            sides.reverse()
        reached = self._known(number, kind)
        let = (
            Text("Let "),
            Maths((X, Sign("="), *self.symbols(found.x))),
            Text(" and "),
            Maths((Y, Sign("="), *self.symbols(found.y))),
            Text("."),
        )
        return (
            let,
            *self._explained(),
            *self._stated(1, found.first),
            *self._stated(2, found.second),
            (Maths((*words[0], Sign(MINUS), *words[1])), Text(":")),
            (Maths((*self._term(many, X, True), Sign("="), sides[0], Sign(MINUS), sides[1], Sign("="), reached)),),
            (Maths((X, Sign("="), Over((reached,), (self._plain(many),)), Sign("="), self._mole(found.value))),),
        )

    # ------------------------------------------------------------ where the numbers of the equations come from

    def _explained(self) -> tuple[Line, ...]:
        """A line for every quantity that the equations are made of and that is more than a printed number of x or of y."""
        relations = (one.relation for one in (self.found.first, self.found.second) if self._needs_telling(one))
        names = [name for relation in relations if relation is not None for name in relation.names]
        return tuple(
            (Maths((*self.symbols(name), Sign("="), *self._side(name))),)
            for name in self.found.behind(names)
            if not self._plainly(self.found.lines[name]) or self.found.lines[name].constant
        )

    def _stated(self, number: int, one: EquationXY) -> tuple[Line, ...]:
        equation = (Text(f"({number}) "), Maths(self._equation(one)))
        if not self._needs_telling(one) or one.relation is None:
            return (equation,)
        target = one.relation.names[0]
        ways = (*self._value(target), Sign("="), *right_side(one.relation, target, self._in_line))
        told = (Text("Two ways lead to "), Maths(self.symbols(target)), Text(": "), Maths(ways), Text(", so"))
        return (told, equation)

    def _needs_telling(self, one: EquationXY) -> bool:
        return not self._plainly(Straight(one.a, one.b, Fraction(0)))

    def _plainly(self, line: Straight) -> bool:
        """Whether the numbers in front of x and y are counts, or stand on the page."""
        return not line.c and all(
            number in self.printed or (number.denominator == 1 and abs(number) <= _MOST_COUNT)
            for number in (line.a, line.b)
        )

    def _side(self, name: Name) -> tuple[MathsItem, ...]:
        """The right side of the line that finds a quantity, and what it comes to where that is written otherwise."""
        value = self._value(name)
        side = right_side(self.found.by[name], name, self._in_line)
        return value if value in (side, side[1:-1]) else (*side, Sign("="), *value)

    def _in_line(self, name: Name) -> Quantity | tuple[MathsItem, ...]:
        line = self.found.lines.get(name)
        if line is not None and not line.constant:
            items = self._value(name)
            return (Sign("("), *items, Sign(")")) if bool(line.a) + bool(line.b) + bool(line.c) > 1 else items
        return self._constant(name)

    def _constant(self, name: Name) -> Quantity:
        if name not in self.found.by:
            return self.written(name)
        return self._quantity(name, self.found.lines[name].c)

    def _quantity(self, name: Name, number: Fraction) -> Quantity:
        unit = UNITS[name.kind]
        return Quantity(to_figures(number, self.figures), unit, in_standard_form(number, unit))

    def _value(self, name: Name) -> tuple[MathsItem, ...]:
        line = self.found.lines[name]
        if line.constant:
            return (Amount(self._constant(name)),)
        items = [*self._term(line.a, X, True), *self._term(line.b, Y, not line.a)]
        if line.c:
            items += [Sign("+" if line.c > 0 else MINUS), self._plain(abs(line.c))]
        return tuple(items)

    # ------------------------------------------------------------ from x to what is asked

    def on_to_the_answer(self) -> tuple[Line, ...]:
        found = self.found
        if found.target is None or found.target == found.x:
            return ()
        names = found.behind([found.target])
        values = {found.x: found.value}
        lines: list[Line] = []
        if any(found.lines[name].b or found.y in found.by[name].names for name in names):
            first = found.first
            values[found.y] = (first.c - first.a * found.value) / first.b
            lines.append((Maths((Y, Sign("="), Amount(self._quantity(found.y, values[found.y])))),))

        def number(name: Name) -> Quantity:
            if name in values:
                return self._quantity(name, values[name])
            return self._constant(name)

        for name in names:
            values[name] = found.by[name].solved(name, {**{n: line.c for n, line in found.lines.items()}, **values})
            shown = Amount(number(name))
            lines.append(
                (Maths((*self.symbols(name), Sign("="), *right_side(found.by[name], name, number), Sign("="), shown)),)
            )
        return tuple(lines)

    # ------------------------------------------------------------ how a number is written

    def _equation(self, one: EquationXY) -> tuple[MathsItem, ...]:
        known = self._known(one.c, one.says)
        return (*self._term(one.a, X, True), *self._term(one.b, Y, not one.a), Sign("="), known)

    def _term(self, many: Fraction, letter: Text, first: bool) -> tuple[MathsItem, ...]:
        if not many:
            return ()
        sign: tuple[MathsItem, ...] = (Sign(MINUS),) if many < 0 else () if first else (Sign("+"),)
        return (*sign, *((self._plain(abs(many)),) if abs(many) != 1 else ()), letter)

    def _plain(self, number: Fraction) -> Text:
        return Text(_plain_text(number, self.printed, self.figures))

    def _known(self, number: Fraction, says: str) -> MathsItem:
        """A known side as it is written: an amount in standard form, anything else in full."""
        small = says == "amount" and number and abs(number) < Fraction(1, 10)
        if not small:
            return self._plain(number)
        return Amount(Quantity(to_figures(number, self.figures), Unit.NONE, True))

    def _mole(self, number: Fraction) -> Amount:
        return Amount(Quantity(to_figures(number, self.at_the_end), Unit.MOL, abs(number) < Fraction(1, 10)), bold=True)


def _plain_text(number: Fraction, printed: Mapping[Fraction, str], figures: int) -> str:
    return printed[number] if number in printed else f"{_rounded(number, figures):f}".replace("-", MINUS)


def _as_written(number: Fraction, printed: Mapping[Fraction, str], figures: int) -> Fraction:
    """The value of a number as it is written."""
    return number if number in printed else Fraction(_rounded(number, figures))


def _rounded(number: Fraction, figures: int) -> Decimal:
    """A number in full where it is short, else to so many figures."""
    places = finite_places(number)
    if places is not None and places <= _MOST_PLACES:
        return half_up(number, places)
    return to_figures(number, figures)
