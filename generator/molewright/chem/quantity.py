"""Quantities: a decimal with the figures as written, and its unit. Text in, text out, half-up rounding.

Comes in: text or exact fractions. Goes out: frozen values and the text that a pupil reads.
Never a float: 25.0 has three figures because it was written with three.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from molewright.chem.units import NO_BREAK, Unit, parse_unit
from molewright.errors import Mistake, shortened

MOST_IN_RATIO = 6  # of a reacting ratio at this level: manganate(VII) takes up five electrons, dichromate(VI) six
MINUS = "\N{MINUS SIGN}"
TIMES = "\N{MULTIPLICATION SIGN}"
MOST_POWER = 30  # of ten, in either direction: nothing that is weighed or measured lies outside

_NUMBER = re.compile(
    r"""(?P<digits>[-+−]?[0-9]{1,30}(?:\.[0-9]{1,30})?)      # 25.0
        (?:\s*(?:×|x|\*)\s*10\s*(?:\^\s*)?(?P<power>[-+−⁻⁺]?[0-9⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3}) # × 10⁻³
          |[eE](?P<exponent>[-+−]?[0-9]{1,3}))?           # or e-3
    """,
    re.VERBOSE,
)
_RAISED = str.maketrans("0123456789-+", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺")
_LOWERED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺−", "0123456789-+-")


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A number with the figures it was written with, and its unit.

    `number` keeps trailing zeros (Decimal("25.0")); `scientific` says it is written a × 10ⁿ. Two are equal only where they are
    written alike: 25.0 cm³ is not 25.00 cm³, so that nothing that remembers one prints it for the other. Values compare by `exact`.
    """

    number: Decimal
    unit: Unit = Unit.NONE
    scientific: bool = False

    def __post_init__(self) -> None:
        if not self.number.is_finite():
            raise Mistake(f"the number {self.number} is not finite", expected="an ordinary decimal")

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        same = self.unit is other.unit and self.scientific == other.scientific
        return same and written_alike(self.number, other.number)

    def __hash__(self) -> int:
        return hash((self.number, self.unit, self.scientific))

    @property
    def exact(self) -> Fraction:
        """The number as an exact fraction, in the unit as written."""
        return Fraction(
            *self.number.as_integer_ratio()
        )  # half the time that Fraction takes to tell a decimal from the rest

    @property
    def in_base(self) -> Fraction:
        """The number as an exact fraction in the base unit (g, cm³, mol, mol dm⁻³, g dm⁻³)."""
        up, down = self.number.as_integer_ratio()
        power = self.unit.power
        return Fraction(up * TENS[power], down) if power >= 0 else Fraction(up, down * TENS[-power])

    @property
    def places(self) -> int:
        """Decimal places as written (0.0985 has 4; 2.604 × 10⁻³ has 6)."""
        return max(0, -last_place(self.number))

    @property
    def figures(self) -> int:
        """Significant figures as written; trailing zeros count, leading zeros do not."""
        return len(self.number.as_tuple().digits) if self.number else self.places + 1

    def __str__(self) -> str:
        return f"{self.number_text}{NO_BREAK}{self.unit.unbroken}" if self.unit else self.number_text

    def to(self, unit: Unit) -> Quantity:
        """The same in another unit of its kind, with the figures as written: 120 mg is 0.120 g. Raises Mistake for another kind."""
        if unit.base is not self.unit.base:
            raise Mistake(f"{self} in {unit or 'no unit'}", expected=f"one of: {', '.join(map(str, self.unit.like))}")
        return Quantity(self.number.scaleb(self.unit.power - unit.power), unit, self.scientific)

    @property
    def number_text(self) -> str:
        """The number alone as a pupil reads it: true minus sign, × 10ⁿ with raised figures."""
        if not self.scientific:
            return format(self.number, "f").replace("-", MINUS)
        digits, power = mantissa(self.number)
        raised = str(power).translate(_RAISED)
        return f"{digits}{NO_BREAK}{TIMES}{NO_BREAK}10{raised}".replace("-", MINUS)


def written_alike(one: Decimal, other: Decimal) -> bool:
    """Whether two numbers are the same and have the same figures; Decimal's own == finds 2 and 2.0 equal."""
    return one.compare_total(other) == 0


def mantissa(number: Decimal) -> tuple[str, int]:
    """The number as a in [1, 10) with all its figures, and the power of ten: 0.002604 -> ("2.604", -3)."""
    sign, digits, _ = number.as_tuple()
    power = number.adjusted() if number else 0
    body = str(digits[0]) + ("." + "".join(map(str, digits[1:])) if len(digits) > 1 else "")
    return ("-" if sign else "") + body, power


def last_place(number: Decimal) -> int:
    """The power of ten of the last figure as written: -4 for 0.0985, 1 for 2.4E+2. The number is finite."""
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    return exponent


def parse_quantity(text: str, *, unit_needed: bool = True) -> Quantity:
    """Read "25.0 cm3" or "2.604 × 10⁻³ mol" with the figures as written.

    Raises Mistake where there is no number, no unit (if one is needed), or an unknown unit.
    """
    stripped = text.strip()
    match = _NUMBER.match(stripped)
    if match is None:
        raise Mistake(f"{shortened(text)} does not start with a number", expected="a number and its unit, as 25.0 cm3")
    power = match["power"] or match["exponent"]
    try:
        number = Decimal(match["digits"].replace(MINUS, "-"))
        if power is not None:
            number = number.scaleb(int(power.translate(_LOWERED)))
    except (InvalidOperation, ValueError) as broken:
        raise Mistake(
            f"the number in {shortened(text)} cannot be read", expected="a number as 2.604 x 10^-3"
        ) from broken
    if abs(number.adjusted()) > MOST_POWER:
        raise Mistake(f"the number in {shortened(text)} is out of all bounds", expected="a quantity of a laboratory")
    rest = stripped[match.end() :].strip()
    if rest and rest[0] in ".,0123456789":
        raise Mistake(f"the number in {shortened(text)} cannot be read", expected="one decimal point and no other mark")
    if not rest and unit_needed:
        raise Mistake(
            f"the number {shortened(text)} has no unit",
            expected="a unit after it, as 25.0 cm3",
            do="Write the unit after the number, and a decimal point: a comma ends the number.",
        )
    return Quantity(number, parse_unit(rest), power is not None)


class _Tens(dict[int, int]):
    """10ⁿ by n, which is not below zero: those that are asked for are at hand."""

    def __missing__(self, power: int) -> int:
        return int(10**power)


TENS = _Tens((power, 10**power) for power in range(64))


def half_up(exact: Fraction, places: int) -> Decimal:
    """Round to decimal places, halves away from zero; negative places round to tens and hundreds."""
    return Decimal(whole_half_up(exact.numerator, exact.denominator, places)).scaleb(-places)


def whole_half_up(up: int, down: int, places: int) -> int:
    """How many units of a decimal place a ratio of whole numbers is, `down` above zero: halves away from zero."""
    if places >= 0:
        above = 2 * abs(up) * TENS[places]
    else:
        above, down = 2 * abs(up), down * TENS[-places]
    whole = (above + down) // (2 * down)
    return -whole if up < 0 else whole


def leading_place(exact: Fraction) -> int:
    """The power of ten of the first significant figure: 0.0026 -> -3. The fraction is not zero."""
    return leading_power(abs(exact.numerator), exact.denominator)


def leading_power(up: int, down: int) -> int:
    """The same of two whole numbers above zero.

    Their lengths in binary leave two powers of ten; the larger is compared. 30103/100000 is log 2, a trace too large.
    """
    power = (up.bit_length() - down.bit_length() + 1) * 30103 // 100000
    if power >= 0:
        return power if up >= down * TENS[power] else power - 1
    return power if up * TENS[-power] >= down else power - 1


def simplest_ratio(value: Fraction) -> Fraction:
    """The ratio of small whole numbers that is nearest to a value above zero: 5/2 for 2.48. A larger number stands beside 1 only."""
    if value < 1:
        return 1 / simplest_ratio(1 / value)
    small = {Fraction(first, second) for first in range(1, MOST_IN_RATIO + 1) for second in range(1, first + 1)}
    return min({*small, Fraction(half_up(value, 0))}, key=lambda ratio: abs(ratio - value))


def ratio_text(value: Fraction) -> str:
    """The simplest ratio as it is written: "5 : 2"."""
    ratio = simplest_ratio(value)
    return f"{ratio.numerator}{NO_BREAK}:{NO_BREAK}{ratio.denominator}"


def to_figures(exact: Fraction, figures: int) -> Decimal:
    """Round half up to significant figures, zeros kept: 1/2 to 3 figures is 0.500."""
    if exact == 0:
        return Decimal(0).scaleb(1 - figures)
    up, down = exact.numerator, exact.denominator
    places = figures - 1 - leading_power(abs(up), down)
    whole = whole_half_up(up, down, places)
    if abs(whole) == TENS[figures]:  # 9.996 -> 10.00: one place fewer
        whole, places = whole // 10, places - 1
    return Decimal(whole).scaleb(-places)


def figures_to_show(exact: Fraction, figures: int, fewer: int) -> int:
    """With how many figures, so many or more, a value stands before it is rounded to fewer: a reader who rounds what is printed
    half up comes upon the same number. 96.7463 is 96.7 to three figures, and 96.746 shows it where 96.75 does not.
    """
    rounded = to_figures(exact, fewer)
    while to_figures(Fraction(*to_figures(exact, figures).as_integer_ratio()), fewer) != rounded:
        figures += 1
    return figures


def places_to_show(exact: Fraction, places: int, fewer: int) -> int:
    """The same of decimal places, as a logarithm has them: 4.5347 is 4.53 to two, and 4.5347 shows it where 4.535 does not."""
    rounded = half_up(exact, fewer)
    while half_up(Fraction(half_up(exact, places)), fewer) != rounded:
        places += 1
    return places


def finite_places(exact: Fraction) -> int | None:
    """Decimal places that write the fraction exactly, or None where it does not end (1/3)."""
    denominator, twos, fives = exact.denominator, 0, 0
    while not denominator % 2:
        denominator //= 2
        twos += 1
    while not denominator % 5:
        denominator //= 5
        fives += 1
    return max(twos, fives) if denominator == 1 else None


_LEAST_AS_DECIMAL = {
    Unit.MOL: Fraction(1, 10),
    Unit.MOL_PER_DM3: Fraction(1, 1000),
    Unit.MOL2_PER_DM6: Fraction(1),
    Unit.MOL3_PER_DM9: Fraction(1),
}


def in_standard_form(number: Fraction, unit: Unit) -> bool:
    """Whether a value is written a × 10ⁿ: small amounts and very small concentrations; masses are decimals (common practice)."""
    least = _LEAST_AS_DECIMAL.get(unit)
    return least is not None and abs(number.numerator) * least.denominator < least.numerator * number.denominator
