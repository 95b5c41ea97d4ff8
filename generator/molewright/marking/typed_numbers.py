"""One number as somebody wrote it, with nothing before it, comes in; its value, rounding and unit go out. Evaluates nothing."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from molewright.answer.written import EXACT_FIGURES, Reading, Unread, Written, written_digits
from molewright.chem.units import Unit
from molewright.marking.typed_units import RAISED, unit_after

_TIMES = r"(?:[×xX*·⋅∙]|times\b)"
_RAISED_TO = r"""(?:\^|\*\*)\s*(?:(?P<caret>[-+]?\s?[0-9]{1,3})|[({]\s?(?P<braced>[-+]?[0-9]{1,3})\s?[)}])
                |(?P<raised>[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})"""
_POWER = rf"""(?:\s*{_TIMES}\s*10\s*(?:{_RAISED_TO}
                                      |\(\s?(?P<held>[-+]?[0-9]{{1,3}})\s?\)
                                      |(?P<bare>[-+][0-9]{{1,3}})
                                      |to\sthe\s(?:power\s(?:of\s)?)?(?P<told>(?:[-+]|minus\s|negative\s)?[0-9]{{1,3}}))
              |(?:\.|\s)10\s?(?:{_RAISED_TO.replace("P<", "P<lone_")})
              |[eE](?P<short>[-+]?[0-9]{{1,3}})
              |\s?(?:E|e|EE)\s?(?P<spaced>[-+][0-9]{{1,3}})
              |\s?EE\s?(?P<key>[0-9]{{1,3}}))?"""
_NUMBER = re.compile(
    rf"""(?P<sign>[-+±]?)
         (?:(?P<up>[0-9]{{1,12}})\s?/\s?(?P<down>[0-9]{{1,12}})(?![0-9.,])
           |(?:(?P<body>[0-9]{{1,12}}[.,][0-9]{{1,20}}(?=\.10\s?(?:\^|\*\*|[⁻⁺]))
                       |[1-9][0-9]{{0,2}}(?:\ [0-9]{{3}})+(?:[.,][0-9]+)?(?![0-9])
                       |[0-9.,]{{1,40}})(?P<dot>\u0307?){_POWER})
         )(?P<rest>.*)$""",
    re.VERBOSE,
)
_LONE_POWER = re.compile(
    r"(?P<sign>[-+]?)10(?:\^\s*(?P<caret>[-+]?[0-9]{1,2})|(?P<raised>[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,2}))(?P<rest>.*)$"
)
_POWERS = ("caret", "braced", "raised", "held", "bare", "told", "lone_caret", "lone_braced", "lone_raised",
           "short", "spaced", "key")  # fmt: skip
_MOST_POWER = 30
_SURELY_ROUNDED = 5  # figures from which a dot above the last one changes nothing that is looked at


def read_number(plain: str, asked: Unit) -> Reading:
    """One number with its unit; `asked` is the unit that is asked for, or NONE. Spaces are single and signs plain."""
    lone = _LONE_POWER.match(plain)
    if lone is not None:
        return _finished("1", _power(lone["caret"] or lone["raised"]), lone["sign"], lone["rest"], asked)
    match = _NUMBER.match(plain)
    if match is None:
        return Unread("not a number")
    if match["down"] is not None:
        return _fraction(match, asked)
    power = next((match[name] for name in _POWERS if match[name]), None)
    digits = _decimal(match["body"].replace(" ", ""), " " in match["body"], power is not None)
    if isinstance(digits, Unread):
        return digits
    found = _finished(digits, _power(power), match["sign"], match["rest"], asked)
    if match["dot"] and isinstance(found, Written):
        return _repeating(digits, found)
    return found


def _power(text: str | None) -> int:
    if not text:
        return 0
    return int(re.sub(r"minus |negative ", "-", text.translate(RAISED)).replace(" ", ""))


def _repeating(digits: str, found: Written) -> Reading:
    """A number whose last figure has a dot above it, as 1.6̇ for 5/3; behind a few figures the dot is let be."""
    if "." not in digits:
        return Unread("a dot above a figure before the point")
    if found.figures >= _SURELY_ROUNDED:
        return found
    unit = found.half * 2
    further = unit * int(digits[-1]) / 9
    number = found.number - further if found.number < 0 else found.number + further
    return Written(number=number, half=Fraction(0), figures=EXACT_FIGURES, unit=found.unit)


def _fraction(match: re.Match[str], asked: Unit) -> Reading:
    if len(match["up"]) > 1:
        return Unread("a sum, or two numbers")  # 97/98 may be a choice
    unit = unit_after(match["rest"], asked)
    if unit is None:
        return Unread("its unit is not known")
    if int(match["down"]) == 0:
        return Unread("a fraction over zero")
    number = Fraction(int(match["up"]), int(match["down"])) * Fraction(10) ** unit[1]
    return Written(
        number=-number if match["sign"] == "-" else number, half=Fraction(0), figures=EXACT_FIGURES, unit=unit[0]
    )


def _decimal(body: str, spaced: bool, scaled: bool) -> str | Unread:
    """The digits with a point, whichever mark the pupil used; a mark that may be either is refused.

    In standard form one figure stands before the mark, so 2,374 × 10⁻³ has no thousands in it.
    """
    if body.endswith(".") and re.search("[.,]", body[:-1]):
        body = body[:-1]  # the end of a sentence
    dots, commas = body.count("."), body.count(",")
    if not any(letter.isdigit() for letter in body) or (dots + commas and body[-1] == ","):
        return Unread("not a number")
    if not commas and dots <= 1:
        return body
    if commas == 1 and not dots:
        before, after = body.split(",")
        standard = scaled and len(before) == 1
        if len(after) == 3 and 1 <= len(before) <= 3 and not (spaced or standard or before.startswith("0")):
            return Unread("the comma may mark thousands or decimals")
        return f"{before}.{after}"
    for thousands, mark in ((",", "."), (".", ",")):
        group = re.escape(thousands)
        if re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{group}[0-9]{{3}})+(?:{re.escape(mark)}[0-9]*)?", body):
            return body.replace(thousands, "").replace(mark, ".")
    return Unread("its points and commas cannot be told apart")


def _finished(digits: str, power: int, sign: str, rest: str, asked: Unit) -> Reading:
    if abs(power) > _MOST_POWER:
        return Unread("a power of ten that no answer has")
    if re.match(r"\s?[×xX*·⋅∙/^÷]", rest) and not re.match(r"\s?/ ?(?:tablet|pill|piece)", rest):
        return Unread(
            "the power of ten is not clear" if re.match(r"\s?[×xX*·⋅∙]\s?10", rest) else "a sum, not an answer"
        )
    if re.match(r"\s?[-+±0-9.,]", rest) and rest.strip() != ".":
        return Unread("more than one number")
    unit = unit_after(rest, asked)
    if unit is None:
        return Unread("its unit is not known")
    figures, place = written_digits(digits)
    scale = Fraction(10) ** (power + unit[1])
    number = Fraction(Decimal(digits)) * scale
    half = Fraction(10) ** place * scale / 2
    return Written(number=-number if sign == "-" else number, half=half, figures=figures, unit=unit[0])
