"""Known values come in; spellings of them as pupils might type them go out, each with what it means. Knows nothing of the reader.

A spelling is put together from a way to write the number, the unit, what stands before and what stands behind. Some are of two numbers
that do not say the same, or of a number with two readings: these mean nothing, and whoever reads a number in them misreads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from random import Random

from molewright.answer.accepted import AnswerType
from molewright.chem.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Spelling:
    """A text, the unit and type of what is asked for, and the number that it means in that unit; None where it means no one number."""

    text: str
    unit: Unit
    type: AnswerType
    means: Fraction | None


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of answer: its unit, the powers of ten of its values, what a pupil calls it, and units by their power of ten."""

    unit: Unit
    low: int
    high: int
    names: str
    spelt: Mapping[int, str]

    @property
    def units(self) -> tuple[tuple[str, int], ...]:
        return tuple((one, power) for power, several in self.spelt.items() for one in several.split("|"))

    def name(self, random: Random) -> str:
        """One of the things that a pupil calls it."""
        return random.choice(self.names.split("|"))


def _each(amounts: str, below: str) -> str:
    return "|".join(amount + per for amount in amounts.split("|") for per in below.split("|"))


_PER_DM3 = " dm-3| dm^-3| dm⁻³|/dm3|/dm^3|/dm³| / dm3| per dm3| l-1|/L|/litre| per litre|dm-3"
_MOLES, _MILLIMOLES = "mol|mols|moles|Mol|MOL", "mmol|millimol|millimoles|mmols"
_CONCENTRATIONS = {
    0: _each(_MOLES, _PER_DM3) + "|M| M| mmol cm-3",
    -3: _each(_MILLIMOLES, _PER_DM3) + "|mM| µmol/ml",
    3: " mol/cm3",
}
_MASSES_PER_DM3 = {
    0: _each("g", _PER_DM3) + "|mg/cm³|kg/m3",
    -3: _each("mg", _PER_DM3) + "|ppm",
    3: _each("kg", _PER_DM3) + "|g/cm3|g cm-3|g per ml",
}
_AMOUNTS = {0: _MOLES + "|mol NaOH|mol of NaOH|moles HCl", -3: _MILLIMOLES, -6: "umol|µmol|μmol|micromoles"}
_MASSES = {0: "g|gram|grams|gm|G|g CaCO3|g of salt", -3: "mg", 3: "kg", -6: "µg"}
_IN_EACH = {0: "mg|mg each|mg per tablet", 3: "g|g/tablet"}
_PERCENTS = {0: "%|percent|per cent|% by mass|% w/w|% (w/w)|% CaCO3"}
_KINDS = (
    _Kind(
        Unit.MOL_PER_DM3,
        -3,
        0,
        "c|C|c(HCl)|[HCl]|[NaOH]|conc|concentration|concentration of acid|conc. of NaOH|c = n/V",
        _CONCENTRATIONS,
    ),
    _Kind(Unit.G_PER_DM3, -1, 2, "mass concentration|conc|c", _MASSES_PER_DM3),
    _Kind(Unit.MOL, -5, -1, "n|n(NaOH)|n HCl|moles|moles of NaOH|amount|amount of acid|no. of moles", _AMOUNTS),
    _Kind(Unit.G, -2, 1, "m|mass|mass of CaCO3|mass of salt", _MASSES),
    _Kind(Unit.MG, 0, 2, "m|mass|mass of iron in each tablet", _IN_EACH),
    _Kind(Unit.CM3, 0, 1, "V|volume|titre|mean titre|vol", {0: "cm3|cm^3|cm³|ml|mL|cc|cm 3", 3: "dm3|L|litres"}),
    _Kind(Unit.PERCENT, 0, 1, "%|percentage|purity|% purity|percentage of CaCO3", _PERCENTS),
    _Kind(
        Unit.G_PER_MOL,
        1,
        2,
        "M|Mr|molar mass|M(MgCO3)",
        {0: "g/mol|g mol-1|gmol-1|g mol⁻¹|g per mol|g/mole", 3: "kg/mol"},
    ),
)
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_EQUAL = (" = ", "=", ": ", " is ", " ≈ ", " = about ", "= ", " =")
_BEFORE = ("", "", "", "= ", "=", "≈", "~ ", "about ", "approx. ", "so ", "∴ ", "Ans: ", "answer = ", "therefore ")
_BEHIND = (
    "",
    "",
    "",
    ".",
    " (3 s.f.)",
    " (3sf)",
    " to 3 s.f.",
    ", 3 sf",
    " ✓",
    "?",
    " approx",
    " ",
    "!",
    " (to 3 significant figures)",
)
_TO_ROUNDED = (" = ", "=", " -> ", " → ", " ≈ ", " so ", ", so ", "; ", " => ", " rounds to ", " therefore ")
_APART = (
    " = ",
    " -> ",
    " or ",
    " to ",
    "-",
    " - ",
    " and ",
    " / ",
    "; ",
    ", ",
    " so ",
    " (",
    " + ",
    " x ",
    " ",
    " ± ",
    " then ",
    " not ",
)


def _plain(number: Decimal) -> str:
    return format(number, "f")


def _scientific(number: Decimal, random: Random) -> str:
    """The number in standard form, or with another power of ten in front of which there may be up to three figures."""
    power = number.adjusted()
    shift = random.choice((power, power, power - power % 3, power - 1))
    front = _plain(number.scaleb(-shift))
    raised = str(shift).translate(_RAISED)
    times = random.choice(("x", "X", "×", "*", " x ", " × ", "·", " X", "x "))
    if shift < 0:
        form = random.choice(("10^{}", "10{}", "10^({})", "10({})", "10**{}", "10^ {}", "10 {}", "10^{{{}}}", "10 ^{}"))
        tail = random.choice(
            (times + form.format(shift), f"e{shift}", f"E{shift}", f" E {shift}", f" EE {shift}", times + "10" + raised)
        )
    else:
        tail = random.choice(
            (f"{times}10^{shift}", f"e{shift}", f"E+{shift}", f"{times}10{raised}", f"{times}10**{shift}")
        )
    return front + tail


def _number(number: Decimal, random: Random) -> str:
    text = _plain(number) if random.random() < 0.5 else _scientific(number, random)
    change = random.random()
    if change < 0.12:
        return text.replace(".", ",", 1)
    if change < 0.17 and text.startswith("0."):
        return text[1:]
    if change < 0.20:
        return text.replace("0.", "0. ", 1) if text.startswith("0.") else text
    if change < 0.23 and text.startswith("0."):
        return text.replace(".", "·", 1)
    return text


def _spaced(unit: str, random: Random) -> str:
    return unit if unit.startswith(" ") else random.choice(("", " ", " ")) + unit


def _value(kind: _Kind, random: Random, figures: int) -> Decimal:
    first = random.randint(10 ** (figures - 1), 10**figures - 1)
    return Decimal(first).scaleb(random.randint(kind.low, kind.high) - figures + 1)


def _with_unit(kind: _Kind, number: Decimal, random: Random) -> str:
    """A number that is in the unit asked for, written in some unit or in none."""
    if random.random() < 0.3:
        return _number(number, random)
    unit, power = random.choice(kind.units)
    return _number(number.scaleb(-power), random) + _spaced(unit, random)


def _of_one(random: Random) -> Spelling:
    kind = random.choice(_KINDS)
    number = _value(kind, random, random.choice((2, 3, 3, 3, 4, 5)))
    before = random.choice(_BEFORE)
    if random.random() < 0.35:
        before = kind.name(random) + random.choice(_EQUAL)
    text = before + _with_unit(kind, number, random) + random.choice(_BEHIND)
    return Spelling(text=text, unit=kind.unit, type="number", means=Fraction(number))


def _of_a_rounding(random: Random) -> Spelling:
    """The value before rounding and the rounded one, whichever way they are joined."""
    kind = random.choice(_KINDS)
    exact = _value(kind, random, 5)
    rounded = Decimal(f"{exact:.2e}")
    fuller, shorter = _with_unit(kind, exact, random), _with_unit(kind, rounded, random)
    text = fuller + random.choice(_TO_ROUNDED) + shorter if random.random() < 0.7 else f"{shorter} ({fuller})"
    if random.random() < 0.3:
        text = f"{kind.name(random)} = {text}"
    return Spelling(text=text + random.choice(_BEHIND[:6]), unit=kind.unit, type="number", means=Fraction(rounded))


def _of_two(random: Random) -> Spelling:
    """Two numbers that are not each other's rounding."""
    kind = random.choice(_KINDS)
    one = _value(kind, random, 3)
    other = Decimal(f"{one * Decimal(random.choice(('1.02', '1.1', '2', '0.5', '1.005', '0.98', '1000', '5'))):.2e}")
    unit = Decimal(1).scaleb(max(one.adjusted(), other.adjusted()) - 2)
    if abs(other - one) < unit:  # 99.5 is 100 once it is rounded
        other = one + unit * 2
    joint = random.choice(_APART)
    written = [_with_unit(kind, number, random) if random.random() < 0.4 else _plain(number) for number in (one, other)]
    random.shuffle(written)
    if joint == " " and "." not in written[0]:  # 885 442.5 is one number with its thousands apart
        joint = " or "
    before = f"{kind.name(random)} = " if random.random() < 0.3 else ""
    text = before + joint.join(written) + (")" if "(" in joint else "")
    return Spelling(text=text, unit=kind.unit, type="number", means=None)


def _of_a_whole_number(random: Random) -> Spelling:
    whole = random.randint(1, 12)
    before = Decimal(whole) + Decimal(random.randint(-49, 49)).scaleb(-2 if random.random() < 0.6 else -3)
    after = f"{random.choice(('', '', 'x = ', 'X = ', 'x='))}{whole}"
    ways = (
        after,
        f"{after} ({before})",
        f"{before} ({whole})",
        f"{before}{random.choice(_TO_ROUNDED)}{after}",
        f"x = {before}, x = {whole}",
        f"{after}.0",
        f"x={before} ≈ {whole}",
        f"{after} (from {before})",
        f"{after} (nearest whole number)",
        f"{whole}H2O",
        f"BaCl2.{whole}H2O",
        f"CuSO4 · {whole}H₂O",
        f"x = {before} = {whole}",
        f"{before}, x = {whole}",
    )
    wrong = whole + random.choice((1, -1, 2))
    nothing = (
        f"{before} = {wrong}",
        f"{whole} or {wrong}",
        f"{whole}-{wrong}",
        f"{before} ({wrong})",
        f"{whole}:{wrong + 3}",
        f"{whole} to {wrong}",
        f"x/{whole + 1} = 1",
        f"{whole + 1}x = {whole}",
        f"x + 1 = {whole}",
        f"{whole} {wrong}",
    )
    if before == int(before) or random.random() < 0.7:
        text = random.choice(ways) if before != int(before) else after
        return Spelling(text=text, unit=Unit.NONE, type="whole number", means=Fraction(whole))
    return Spelling(text=random.choice(nothing), unit=Unit.NONE, type="whole number", means=None)


def _of_a_ratio(random: Random) -> Spelling:
    first, second = random.choice(
        ((5, 2), (5, 1), (2, 1), (3, 2), (1, 2), (2, 5), (4, 3), (1, 1), (1, 3), (6, 1), (3, 4))
    )
    value = Fraction(first, second)
    ways = (
        f"{first}:{second}",
        f"{first} : {second}",
        f"{first} to {second}",
        f"{first}/{second}",
        f"{first}-{second}",
        f"0{first}:0{second}:00",
        f"{first}:0{second}",
        f"{first}:{second}.",
        f"= {first}:{second}",
        f"ratio = {first}:{second}",
        f"{float(value) * 1.001:.4f} = {first}:{second}",
        f"{first}:{second} ({float(value) * 0.998:.4f})",
    )
    nothing = (
        f"{first}:{second} or {second}:{first + 1}",
        f"{first}:{second}:1",
        f"Fe:MnO4 = {first}:{second}",
        f"{first}:0",
        f"{first}, {second + 1}",
    )
    if random.random() < 0.8:
        return Spelling(text=random.choice(ways), unit=Unit.NONE, type="ratio", means=value)
    return Spelling(text=random.choice(nothing), unit=Unit.NONE, type="ratio", means=None)


_MAKERS: tuple[tuple[Callable[[Random], Spelling], int], ...] = (
    (_of_one, 12),
    (_of_a_rounding, 4),
    (_of_two, 4),
    (_of_a_whole_number, 2),
    (_of_a_ratio, 1),
)


def made_spellings(count: int, seed: int) -> Iterator[Spelling]:
    """So many spellings; the same seed gives the same ones."""
    random = Random(seed)
    makers, weights = zip(*_MAKERS, strict=True)
    for make in random.choices(makers, weights, k=count):
        yield make(random)
