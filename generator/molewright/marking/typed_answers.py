"""An answer as a pupil wrote it comes in; a number with its rounding and its unit goes out, or why it cannot be read.

Nothing is evaluated and nothing is guessed: what has two readings, as 1,234 has, is told and left to the teacher.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from molewright.answer.written import EXACT_FIGURES, Reading, Unread, Written, written_digits
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake

MOST_LETTERS = 200

_BLANK = frozenset({"", "-", "–", "—", "/", "blank", "no answer"})
_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f\u205f\\s]+")
_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-", "﹣": "-", "－": "-", "＋": "+", "⁄": "/"})
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_POWER = r"""(?:\s*[×xX*·⋅]\s*10\s*(?:(?:\^|\*\*)\s*(?:(?P<caret>[-+]?[0-9]{1,3})|\((?P<held>[-+]?[0-9]{1,3})\))
                                |(?P<bare>[-+][0-9]{1,3})
                                |(?P<raised>[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3}))
              |[eE](?P<short>[-+]?[0-9]{1,3}))?"""
_NUMBER = re.compile(
    rf"""(?:x\s*=\s*)?                                            # an answer line may begin with what it finds
         (?P<sign>[-+]?)\s?
         (?:(?P<up>[0-9]{{1,12}})\s?/\s?(?P<down>[0-9]{{1,12}})(?![0-9.,])
           |(?:(?P<body>[1-9][0-9]{{0,2}}(?:\ [0-9]{{3}})+(?:[.,][0-9]+)?(?![0-9])|[0-9.,]{{1,40}}){_POWER})
         )(?P<rest>.*)$""",
    re.VERBOSE,
)
_LONE_POWER = re.compile(
    r"(?P<sign>[-+]?)10(?:\^\s*(?P<caret>[-+]?[0-9]{1,2})|(?P<raised>[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,2}))(?P<rest>.*)$"
)
_RATIO = re.compile(r"([0-9]{1,12}(?:\.[0-9]{1,9})?)\s?(?::|to)\s?([0-9]{1,12}(?:\.[0-9]{1,9})?)")
_MOST_POWER = 30
_JOINED = re.compile(r"^(m?mol|m?g|µg|kg)[ /]?(?:(dm|cm|m)\s*-?3|([Ll])(?:-1)?|(mol)-1)$")


def read_answer(text: str) -> Reading:
    """The number and unit of an answer as written; a ratio, as 5 : 2 or 2.5 to 1, is read as its value."""
    if len(text) > MOST_LETTERS:
        return Unread(f"longer than {MOST_LETTERS} letters")
    plain = _SPACES.sub(" ", text).strip().translate(_SIGNS)
    if plain.casefold() in _BLANK:
        return None
    ratio = _RATIO.fullmatch(plain)
    if ratio is not None:
        first, second = Fraction(ratio[1]), Fraction(ratio[2])
        return Written(first / second, Fraction(0), EXACT_FIGURES, Unit.NONE) if second else Unread("a ratio to zero")
    match = _NUMBER.match(plain)
    lone = _LONE_POWER.match(plain)
    if lone is not None:
        return _finished("1", _power(lone["caret"] or lone["raised"]), lone["sign"], lone["rest"])
    if match is None:
        return Unread("not a number")
    if match["down"] is not None:
        return _fraction(match)
    digits = _decimal(match["body"].replace(" ", ""), " " in match["body"])
    if isinstance(digits, Unread):
        return digits
    power = match["caret"] or match["held"] or match["bare"] or match["raised"] or match["short"]
    return _finished(digits, _power(power), match["sign"], match["rest"])


def _power(text: str | None) -> int:
    return int(text.translate(_RAISED)) if text else 0


def _fraction(match: re.Match[str]) -> Reading:
    unit = _unit(match["rest"])
    if isinstance(unit, Unread):
        return unit
    if int(match["down"]) == 0:
        return Unread("a fraction over zero")
    number = Fraction(int(match["up"]), int(match["down"]))
    return Written(-number if match["sign"] == "-" else number, Fraction(0), EXACT_FIGURES, unit)


def _decimal(body: str, spaced: bool) -> str | Unread:
    """The digits with a point, whichever mark the pupil used; a mark that may be either is refused."""
    dots, commas = body.count("."), body.count(",")
    if not any(letter.isdigit() for letter in body) or (dots + commas and body[-1] == ","):
        return Unread("not a number")
    if not commas and dots <= 1:
        return body
    if commas == 1 and not dots:
        before, after = body.split(",")
        if not spaced and len(after) == 3 and 1 <= len(before) <= 3 and not before.startswith("0"):
            return Unread("the comma may mark thousands or decimals")
        return f"{before}.{after}"
    for thousands, mark in ((",", "."), (".", ",")):
        group = re.escape(thousands)
        if re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{group}[0-9]{{3}})+(?:{re.escape(mark)}[0-9]*)?", body):
            return body.replace(thousands, "").replace(mark, ".")
    return Unread("its points and commas cannot be told apart")


def _finished(digits: str, power: int, sign: str, rest: str) -> Reading:
    if abs(power) > _MOST_POWER:
        return Unread("a power of ten that no answer has")
    if re.match(r"\s?[×xX*·⋅/^]", rest):
        return Unread(
            "the power of ten is not clear" if re.match(r"\s?[×xX*·⋅]\s?10", rest) else "a sum, not an answer"
        )
    if re.match(r"\s?[-+0-9.,]", rest):
        return Unread("more than one number")
    unit = _unit(rest)
    if isinstance(unit, Unread):
        return unit
    figures, place = written_digits(digits)
    number = Fraction(Decimal(digits)) * Fraction(10) ** power
    half = Fraction(10) ** (place + power) / 2
    return Written(-number if sign == "-" else number, half, figures, unit)


def _unit(rest: str) -> Unit | Unread:
    """The unit as it is printed, from what stands after the number."""
    text = rest.strip().rstrip(".")
    if not text:
        return Unit.NONE
    plain = " ".join(re.sub(r"[·⋅*^]|\*\*", " ", text.translate(_RAISED)).split())
    plain = re.sub(r"(?<=[a-zA-Z]) (?=-?[0-9])", "", plain)
    folded = plain.casefold() if re.match(r"(?i)m?mol|[cd]m|per", plain) else plain
    joined = _JOINED.match(folded)
    spellings = [plain, folded]
    if joined is not None:
        amount, length, litre, mole = joined.groups()
        spellings.append(f"{amount} {length}-3" if length else f"{amount}/L" if litre else f"{amount} {mole}-1")
    for spelling in spellings:
        try:
            return parse_unit(spelling)
        except Mistake:
            continue
    return Unread("its unit is not known")
