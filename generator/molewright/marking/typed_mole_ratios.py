"""A reacting ratio as a pupil typed it comes in; it goes out as an equation with one species on each side, or why it cannot be read.

"1 : 2", "1 to 2", "2 mol HCl to 1 mol Na2CO3", "one to two": without formulae the order is that of the page.
"""

from __future__ import annotations

import re
from fractions import Fraction

from molewright.answer.equation_sides import Kind, kind_of
from molewright.answer.equations import AskedEquation
from molewright.answer.written import Unread
from molewright.chem.formula import parse_formula
from molewright.chem.reaction import MOST_COEFFICIENT, Reaction
from molewright.errors import Mistake

_WORDS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "ten": "10",
          "half": "1/2"}  # fmt: skip
_NUMBER = r"(?:[0-9]{1,3}(?:/[0-9]{1,3}|\.[0-9]{1,3})?)"
_ONE = rf"({_NUMBER}) ?(?:mol(?:e|es|s)?\b)? ?(?:of )?([A-Z(\[][^ :]*)?"
_RATIO = re.compile(rf"{_ONE} ?(?::|∶|/|-|to|for|reacts? with|with|and) ?{_ONE}(?: ?:00)?\.?")


def read_ratio(plain: str, asked: AskedEquation) -> Reaction | Unread:
    """A ratio of two amounts of the species that are asked about."""
    text = " ".join(plain.split())
    text = re.sub(r"[a-z]+", lambda word: _WORDS.get(word[0].casefold(), word[0]), text, flags=re.IGNORECASE)
    found = _RATIO.fullmatch(text)
    if found is None:
        return Unread("not a ratio of two amounts")
    numbers = [_fraction(found[1]), _fraction(found[3])]
    named = [_kind(one) for one in (found[2], found[4]) if one]
    wanted = [kind_of(side[0].formula) for side in (asked.reaction.left, asked.reaction.right)]
    if named and named != wanted:
        if named != wanted[::-1]:
            return Unread("it names other substances than those that are asked about")
        numbers.reverse()
    if not all(numbers):
        return Unread("a ratio to zero")
    ratio = numbers[0] / numbers[1]
    if max(ratio.numerator, ratio.denominator) > MOST_COEFFICIENT:
        return Unread("no ratio of small numbers")
    return asked.as_ratio(ratio)


def _fraction(text: str) -> Fraction:
    top, _, bottom = text.partition("/")
    return Fraction(int(top), int(bottom) or 1) if bottom else Fraction(text)


def _kind(text: str) -> Kind | None:
    try:
        return kind_of(parse_formula(text, frozenset()))
    except Mistake:
        return None
