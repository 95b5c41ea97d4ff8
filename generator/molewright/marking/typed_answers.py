"""An answer as a pupil wrote it comes in; a number with its rounding and its unit goes out, or why it cannot be read.

Nothing is evaluated and nothing is guessed: what has two readings, as 1,234 has, is told and left to the teacher. Of several
numbers one is the answer only if the others say the same: "1.995 = 2", "0.09497 -> 0.0950", "95.0 mmol = 0.0950 mol".
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from molewright.answer.accepted import AnswerType
from molewright.answer.written import EXACT_FIGURES, LEAST_FIGURES, Reading, Unread, Written
from molewright.chem.quantity import simplest_ratio
from molewright.chem.units import Unit
from molewright.marking.typed_dress import undressed, without_notes
from molewright.marking.typed_numbers import read_number

MOST_LETTERS = 200

_BLANK = frozenset({"", "-", "–", "—", "/", "blank", "no answer"})
_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f\u205f\\s]+")
_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-", "﹣": "-", "－": "-", "＋": "+", "⁄": "/", "∶": ":", "μ": "µ",
                        **{low: str(figure) for figure, low in enumerate("₀₁₂₃₄₅₆₇₈₉")}, "\u200b": "", "\ufeff": ""})  # fmt: skip
_RATIO = re.compile(r"([0-9]{1,12}(?:\.[0-9]{1,9})?)\s?(?::|to)\s?([0-9]{1,12}(?:\.[0-9]{1,9})?)")
_RATIO_DASHED = re.compile(r"([0-9]{1,2})\s?-\s?([0-9]{1,2})")
_RATIO_OVER = re.compile(r"([0-9]{1,2})\s?/\s?([0-9]{1,2})")
_AS_A_TIME = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::00)?(?:\s?[AP]M)?", re.IGNORECASE
)  # what a spreadsheet makes of 5:2
_SPLIT_POINT = re.compile(r"(?<![0-9.,])0(?: ?\. | \. ?|·)(?=[0-9])")
_FIGURE_WORDS = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
_IN_A_HYDRATE = re.compile(r"(?:(?:[A-Z][A-Za-z0-9()]{1,15})\s?[.·⋅*∙• ]\s?)?(?P<count>[0-9]{0,2})\s?H2O")
_CHARGE = re.compile(r"(?P<size>[0-9]{1,2})(?P<sign>[-+])")
_SEVERAL = re.compile(r"[0-9]\S*\s?(?:\bto\b|\bor\b|\band\b|-|/|,\s)\s?[-+]?\.?[0-9]", re.IGNORECASE)
_TWO_RANGE = "two numbers: a range or a choice, of which one is to be meant"
_TWO_APART = "two numbers that do not say the same"


@dataclass(frozen=True, slots=True)
class Asked:
    """What an answer is read for: the unit that is printed for it and its type; None where it is not known."""

    unit: Unit | None = None
    type: AnswerType | None = None


ANYTHING = Asked()


@lru_cache(maxsize=4096)
def read_answer(text: str, asked: Asked = ANYTHING) -> Reading:
    """The number and unit of an answer as written; a ratio, as 5 : 2 or 2.5 to 1, is read as its value where one is asked for.

    A whole number or ratio beside the value that it was rounded from has that in `before`.
    """
    if len(text) > MOST_LETTERS:
        return Unread(f"longer than {MOST_LETTERS} letters")
    plain = _SPACES.sub(" ", text.translate(_SIGNS)).strip()
    if plain.casefold() in _BLANK:
        return None
    plain = _SPLIT_POINT.sub("0.", plain)
    first = _one(plain, asked)
    if isinstance(first, Written):
        return first
    short = without_notes(plain)
    if short != plain:
        found = _one(short, asked)
        if isinstance(found, Written):
            return found
    several = undressed(short)
    if several is not None and (several.beside or several.values != (plain,)):
        found = _together(several.values, several.names, several.beside, asked)
        if isinstance(found, Written) or len(several.values) > 1 or several.beside:
            return found
    return Unread(_TWO_RANGE) if _SEVERAL.search(short) and re.match("between|[-+0-9.]", short) else first


def _one(plain: str, asked: Asked) -> Written | Unread:
    """A text that holds one value."""
    ratio = _ratio(plain, asked)
    if ratio is not None:
        return ratio
    if asked.type == "whole number":
        counted = _counted(plain)
        if counted is not None:
            return Written(number=Fraction(counted), half=Fraction(0), figures=EXACT_FIGURES, unit=Unit.NONE)
    found = read_number(plain, asked.unit or Unit.NONE)
    return found if found is not None else Unread("not a number")


def _ratio(plain: str, asked: Asked) -> Written | Unread | None:
    plain = plain.rstrip(".")
    if asked.type == "ratio":
        time = _AS_A_TIME.fullmatch(plain)
        if time is not None:
            return _over(Fraction(time[1]), Fraction(time[2]))
    found = _RATIO.fullmatch(plain)
    if found is None and asked.type == "ratio":
        found = _RATIO_DASHED.fullmatch(plain) or _RATIO_OVER.fullmatch(plain)
    if found is None:
        over = asked.type == "whole number" and _RATIO_OVER.fullmatch(plain)
        return Unread("a fraction, or two numbers") if over else None
    if asked.type not in (None, "ratio"):
        return Unread("a ratio where a number is asked for" if ":" in plain else _TWO_RANGE)
    return _over(Fraction(found[1]), Fraction(found[2]))


def _over(first: Fraction, second: Fraction) -> Written | Unread:
    return (
        Written(number=first / second, half=Fraction(0), figures=EXACT_FIGURES, unit=Unit.NONE)
        if second
        else Unread("a ratio to zero")
    )


def _counted(plain: str) -> int | None:
    """A whole number in words, in a formula with water, or as a charge: two, BaCl2.2H2O, 2+."""
    if plain.casefold() in _FIGURE_WORDS:
        return _FIGURE_WORDS.index(plain.casefold())
    charge = _CHARGE.fullmatch(plain)
    if charge is not None:
        return int(charge["sign"] + charge["size"])
    water = _IN_A_HYDRATE.fullmatch(plain)
    if water is None or plain == "H2O":
        return None
    return int(water["count"] or 1)


# ------------------------------------------------------------------ several numbers in one answer


def _together(values: Sequence[str], names: Sequence[str], beside: str, asked: Asked) -> Written | Unread:
    """The one number that several values say, the last one the answer."""
    if len(names) > 1:
        return Unread(f"it tells of {' and of '.join(names)}")
    readings = [_one(value, asked) for value in (*values, *((beside,) if beside else ()))]
    wrong = next((one for one in readings if isinstance(one, Unread)), None)
    if wrong is not None:
        return wrong
    found = [one for one in readings if isinstance(one, Written)]
    if len(found) == 1:
        return found[0]
    alike = _in_one_unit(found, asked.unit)
    if alike is None:
        return Unread("two numbers in units of different kinds")
    last = alike[-2] if beside else alike[-1]
    if asked.type == "whole number":
        return _whole(alike)
    if asked.type == "ratio":
        return _simple(alike)
    if beside and alike[-1].half > last.half and alike[-1].figures >= LEAST_FIGURES:
        last = alike[-1]  # 0.09497 (0.0950)
    if any(abs(one.number - last.number) > last.half for one in alike):
        return Unread(_TWO_APART)
    return max((one for one in alike if one.number == last.number), key=lambda one: one.figures)


def _in_one_unit(found: Sequence[Written], asked: Unit | None) -> list[Written] | None:
    """All values in the unit asked for, or in that of the first that has one; a fraction beside its percentage is taken as that."""
    unit = asked or next((one.unit for one in found if one.unit), Unit.NONE)
    made = []
    shares = unit is Unit.PERCENT and any(one.unit is Unit.PERCENT for one in found)
    for one in found:
        if shares and not one.unit and one.number <= 1:
            one = replace(one, number=one.number * 100, half=one.half * 100)
        here = one.in_unit(unit)
        if here is None:
            return None
        made.append(here)
    return made


def _whole(found: Sequence[Written]) -> Written | Unread:
    """The whole number among some values; the others must be rounded to it."""
    whole = {one.number for one in found if one.number.denominator == 1 and one.half in (0, Fraction(1, 2))}
    if not whole:
        whole = {found[-1].number} if found[-1].number.denominator == 1 else set()
    if len(whole) != 1:
        return Unread(_TWO_APART)
    number = whole.pop()
    return _rounded_from(
        number, [one for one in found if one.number != number], lambda one: abs(one.number - number) <= Fraction(1, 2)
    )


def _simple(found: Sequence[Written]) -> Written | Unread:
    """The simple ratio among some values; the others must come to it."""
    simple = {one.number for one in found if one.number > 0 and simplest_ratio(one.number) == one.number}
    if len(simple) != 1:
        return Unread(_TWO_APART)
    number = simple.pop()
    return _rounded_from(
        number,
        [one for one in found if one.number != number],
        lambda one: one.number > 0 and simplest_ratio(one.number) == number,
    )


def _rounded_from(number: Fraction, others: Sequence[Written], comes_to: Callable[[Written], bool]) -> Written | Unread:
    if not all(comes_to(one) for one in others):
        return Unread(_TWO_APART)
    before = max(others, key=lambda one: one.figures, default=None)
    return Written(number=number, half=Fraction(0), figures=EXACT_FIGURES, unit=Unit.NONE, before=before)
