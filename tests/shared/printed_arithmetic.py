"""Lines of working as plain text come in; those that are not true of their own numbers go out. Reads only what is printed.

A number that was given, a molar mass or a whole number is exact; any other printed number may be out by half a unit of its last
figure. A line is true where its sides overlap when reckoned so. Lines in x and y are reckoned as straight lines in both.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

_MINUS, _TIMES = "\N{MINUS SIGN}", "\N{MULTIPLICATION SIGN}"
_LOWERED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_NUMBER = re.compile(rf"[0-9]+(?:\.[0-9]+)?(?: {_TIMES} 10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?")
_TOKEN = re.compile(rf"\s*(?:(?P<number>{_NUMBER.pattern})|(?P<letter>[xy])|(?P<sign>[()/+{_MINUS}{_TIMES}]))")
_COUNTS = 12  # whole numbers up to here are counts of equations and formulae


class Span(tuple[Fraction, Fraction]):
    """The least and the most that a number may be."""

    def plus(self, other: Span) -> Span:
        return Span((self[0] + other[0], self[1] + other[1]))

    def times(self, other: Span) -> Span:
        ends = [one * two for one in self for two in other]
        return Span((min(ends), max(ends)))

    def under(self) -> Span:
        return Span((1 / self[1], 1 / self[0]))

    def meets(self, other: Span) -> bool:
        return self[0] <= other[1] and other[0] <= self[1]


def exactly(number: Fraction | int) -> Span:
    return Span((Fraction(number), Fraction(number)))


NOTHING, ONE, LESS = exactly(0), exactly(1), exactly(-1)
Line = tuple[Span, Span, Span]  # so many x, so many y, and a number


class Unread(Exception):
    """Something that is no arithmetic."""


def value(text: str) -> Fraction:
    """The value of a number as printed."""
    digits, _, power = text.partition(f" {_TIMES} 10")
    return Fraction(digits) * Fraction(10) ** int(power.translate(_LOWERED) or 0)


def _span(text: str, exact: set[Fraction]) -> Span:
    number = value(text)
    if number in exact or text.isdecimal():
        return exactly(number)
    digits, _, power = text.partition(f" {_TIMES} 10")
    places = -int(Decimal(digits).as_tuple().exponent) - int(power.translate(_LOWERED) or 0)
    half = Fraction(1, 2) / Fraction(10) ** places
    return Span((number - half, number + half))


@dataclass
class _Reader:
    tokens: list[tuple[str, str]]
    exact: set[Fraction]
    at: int = 0

    def sign(self) -> str:
        return self.tokens[self.at][1] if self.at < len(self.tokens) and self.tokens[self.at][0] == "sign" else ""

    def sum(self) -> Line:
        first = NOTHING
        line: Line = (NOTHING, NOTHING, first)
        factor = ONE
        if self.sign() == _MINUS:
            self.at, factor = self.at + 1, LESS
        while True:
            part = self.product()
            line = tuple(one.plus(two.times(factor)) for one, two in zip(line, part, strict=True))  # type: ignore[assignment]
            if self.sign() not in ("+", _MINUS):
                return line
            factor = ONE if self.sign() == "+" else LESS
            self.at += 1

    def product(self) -> Line:
        line = self.factor()
        while True:
            if self.sign() in (_TIMES, "/"):
                over = self.sign() == "/"
                self.at += 1
                other = self.factor()
                if over:
                    if other[:2] != (NOTHING, NOTHING):
                        raise Unread("divided by x")
                    other = (NOTHING, NOTHING, other[2].under())
                line = _multiplied(line, other)
            elif self.at < len(self.tokens) and self.tokens[self.at][0] == "letter":
                line = _multiplied(line, self.factor())  # 40.0x
            else:
                return line

    def factor(self) -> Line:
        if self.at >= len(self.tokens):
            raise Unread("it ends too early")
        kind, text = self.tokens[self.at]
        self.at += 1
        if kind == "number":
            return NOTHING, NOTHING, _span(text, self.exact)
        if kind == "letter":
            return (ONE, NOTHING, NOTHING) if text == "x" else (NOTHING, ONE, NOTHING)
        if text == "(":
            line = self.sum()
            if self.sign() != ")":
                raise Unread("a bracket is open")
            self.at += 1
            return line
        raise Unread(text)


def _multiplied(one: Line, other: Line) -> Line:
    if one[:2] != (NOTHING, NOTHING):
        one, other = other, one
    if one[:2] != (NOTHING, NOTHING):
        raise Unread("x times x")
    return tuple(part.times(one[2]) for part in other)  # type: ignore[return-value]


def reckoned(text: str, exact: set[Fraction]) -> Line:
    """An expression as a straight line in x and y."""
    tokens, at = [], 0
    while at < len(text.rstrip()):
        match = _TOKEN.match(text, at)
        if match is None:
            raise Unread(text)
        kind = str(match.lastgroup)
        tokens.append((kind, match[kind]))
        at = match.end()
    reader = _Reader(tokens, exact)
    line = reader.sum()
    if reader.at != len(tokens):
        raise Unread(text)
    return line


# ------------------------------------------------------------------ a page of working


_WITH_UNIT = re.compile(rf"(?P<number>[{_MINUS}]?{_NUMBER.pattern})(?: (?P<unit>[^0-9xy()/+{_MINUS}{_TIMES}].*))?")


@dataclass
class Page:
    """What was read of one page so far: what is exact, what may be used, the equations, the faults."""

    exact: set[Fraction]
    shown: set[Fraction] = field(default_factory=set)
    equations: dict[str, tuple[Line, Line]] = field(default_factory=dict)
    told: tuple[Line, Line] | None = None
    left: tuple[Span, Span] | None = (
        None  # how many times each equation is taken, before the line that says what is left
    )
    values: dict[str, Span] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    lines: int = 0

    def known(self, number: Fraction) -> bool:
        whole = number.denominator == 1 and (number <= _COUNTS or str(number).strip("0") == "1")
        if whole or number in self.exact or number in self.shown:
            return True
        return any(abs(number - one) * 2000 <= one for one in self.shown)  # the same with more figures


def untrue(paragraphs: Iterable[str], exact: set[Fraction]) -> tuple[list[str], int]:
    """The faults of a page of working, and how many of its lines were reckoned."""
    page = Page(exact)
    for paragraph in paragraphs:
        text = " ".join(paragraph.replace("\N{NO-BREAK SPACE}", " ").split())
        try:
            _read(page, text)
        except Unread as unread:
            page.faults.append(f"{text}: cannot be reckoned ({unread})")
    return page.faults, page.lines


def _read(page: Page, text: str) -> None:
    if text.startswith("Two ways lead to"):
        one, other = text.removesuffix(", so").rpartition(": ")[2].split(" = ")
        page.told = _line(page, one), _line(page, other)
        _all_known(page, text, [*_numbers(one), *_numbers(other)])
    elif re.match(r"\([12]\) .* = ", text):
        _equation(page, text[1], text[4:])
    elif text.endswith(":") and "(2)" in text:
        _taken(page, text)
    elif text.startswith("Let x ="):
        return
    elif page.left is not None:
        _difference(page, text)
    else:
        _chain(page, text)


def _numbers(text: str) -> list[str]:
    return _NUMBER.findall(text)


def _all_known(page: Page, text: str, numbers: Iterable[str]) -> None:
    page.faults += [f"{text}: nothing says where {one} comes from" for one in numbers if not page.known(value(one))]


def _line(page: Page, text: str) -> Line:
    return reckoned(text, page.exact)


def _equation(page: Page, number: str, text: str) -> None:
    left, right = text.split(" = ")
    page.equations[number] = here = _line(page, left), _line(page, right)
    page.lines += 1
    if page.told is None:
        _all_known(page, text, [*_numbers(left), *_numbers(right)])
    else:  # both ways of finding it make the same straight line, but for a factor
        (a, b, c), (p, q, r) = (
            tuple(x.plus(y.times(LESS)) for x, y in zip(*pair, strict=True)) for pair in (here, page.told)
        )
        for one, two, three, four in ((a, b, p, q), (b, c, q, r), (a, c, p, r)):
            if not one.times(four).meets(two.times(three)):
                page.faults.append(f"({number}) {text}: does not follow from the two ways")
    page.told = None
    page.shown |= {value(one) for one in [*_numbers(left), *_numbers(right)]}


def _taken(page: Page, text: str) -> None:
    """One equation from so many times the other: y falls out, and the next line says what is left."""
    times = {"1": ONE, "2": ONE}
    for factor, number in re.findall(rf"(?:({_NUMBER.pattern}) {_TIMES} )?\(([12])\)", text):
        times[number] = _span(factor, page.exact) if factor else ONE
        page.shown |= {value(factor)} if factor else set()
    (_, one, _), _ = page.equations["1"]
    (_, two, _), _ = page.equations["2"]
    page.lines += 1
    if not one.times(times["1"]).meets(two.times(times["2"])):
        page.faults.append(f"{text} y does not fall out")
    page.left = times["1"], times["2"]


def _difference(page: Page, text: str) -> None:
    """ "16.1x = 0.17145 − 0.1500 = 0.021450": what is left of both equations."""
    assert page.left is not None
    many, difference, reached = text.split(" = ")
    spans = [_line(page, part)[2] for part in (difference, reached)]
    terms = [_line(page, part)[2] for part in difference.split(f" {_MINUS} ")]
    sides = [page.equations[at][1][2].times(times) for at, times in zip("12", page.left, strict=True)]
    front = [page.equations[at][0][0].times(times) for at, times in zip("12", page.left, strict=True)]
    taken = [one.plus(two.times(LESS)) for one, two in (front, front[::-1])]
    first, second = terms
    same = any(first.meets(one) and second.meets(two) for one, two in (sides, sides[::-1]))
    if not (spans[0].meets(spans[1]) and same and any(_line(page, many)[0].meets(one) for one in taken)):
        page.faults.append(f"{text}: is not what is left of the equations")
    page.shown |= {value(one) for one in _numbers(text)}
    page.lines += 1
    page.left = None


def _chain(page: Page, text: str) -> None:
    if " = " not in f" {text}" or text.startswith(
        ("Answer", "Accepted", "Note", "Nearest", "Figures", "Reaction", "Uncertainty")
    ):
        return
    sides = f" {text}".split(" = ")
    name = sides[0].strip()
    parts = sides[1:] if not _is_arithmetic(name) else [name, *sides[1:]]
    lines = []
    for place, part in enumerate(parts):
        last = _WITH_UNIT.fullmatch(part)
        if last is not None and (place or len(parts) == 1 or last["unit"]):
            lines.append((last["number"], last["unit"] or ""))
        else:
            lines.append((part, ""))
    spans = [_line(page, part) for part, _ in lines]
    if len(lines) > 1 and lines[-1][0].isdecimal():  # a whole number at the end is a rounded one
        end, half = Fraction(lines[-1][0]), Fraction(1, 2)
        spans[-1] = NOTHING, NOTHING, Span((end - half, end + half))
    page.lines += 1
    units = [unit for _, unit in lines]
    for place in range(1, len(lines)):
        factor = _factor(units[place - 1], units[place])
        if not all(
            one.times(exactly(factor)).meets(two) for one, two in zip(spans[place - 1], spans[place], strict=True)
        ):
            page.faults.append(f"{text}: {lines[place - 1][0]} is not {lines[place][0]} {units[place]}")
        _no_finer(page, text, lines[place - 1][0], lines[place][0])
    _all_known(page, text, [one for part, unit in lines[:-1] if not unit for one in _numbers(part)])
    page.shown |= {value(one) for part, _ in lines for one in _numbers(part)}


def _no_finer(page: Page, text: str, worked: str, found: str) -> None:
    """A product has no more figures than the numbers that it is made of: with more it would not be what they give."""
    if text.startswith(("x = ", "y = ")):  # by what is left of two equations, whose numbers are exact
        return
    rounded = [one for one in _numbers(worked) if not one.isdecimal() and value(one) not in page.exact]
    if rounded and worked != found and not re.search(rf"[+{_MINUS}xy]", worked) and _NUMBER.fullmatch(found):
        least = min(map(_figures, rounded))
        if _figures(found) > least:
            page.faults.append(f"{text}: {found} has more than {least} figures")


def _figures(number: str) -> int:
    return len(number.partition(" ")[0].replace(".", "").lstrip("0"))


def _is_arithmetic(text: str) -> bool:
    return bool(text) and (_NUMBER.match(text) is not None or text[0] in f"({_MINUS}")


def _factor(one: str, other: str) -> Fraction:
    """How many of the second unit one of the first is, where both are written."""
    from molewright.chem.units import parse_unit

    if not one or not other:
        return Fraction(1)
    return parse_unit(one).factor / parse_unit(other).factor
