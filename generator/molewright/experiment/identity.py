"""A relative atomic mass or a molar mass comes in; what lies nearest of what it may be goes out. Works no mass out itself."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.chem.conventions import Convention
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.masses import element_name, relative_mass
from molewright.errors import Mistake

_BEGINS_UNKNOWN = re.compile(r"(?P<letter>[MX])(?P<count>[0-9]?)(?P<rest>[(A-Z].*|)")
_ELEMENTS = frozenset("MX")  # letters that stand for one element each; A and R stand for a group of any atoms


_BEGINS_UNKNOWN = re.compile(r"(?P<letter>[MX])(?P<count>[0-9]?)(?P<rest>[(A-Z].*|)")


@dataclass(frozen=True, slots=True)
class Candidate:
    """What an unknown may be: its symbol or formula, its name, its relative mass as the paper prints it, other right spellings."""

    formula: str
    name: str
    mass: Decimal
    also: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        """Name and formula: "sodium (Na)"."""
        return f"{self.name} ({self.formula})"


def parted(substance: str) -> tuple[str, int, str]:
    """The letter in a formula that stands for an unknown element, how many there are, and the rest: M2CO3 is M, 2, CO3.

    Raises Mistake for a formula that does not begin with such a letter.
    """
    found = _BEGINS_UNKNOWN.fullmatch(substance)
    if found is None:
        raise Mistake(f"the formula {substance} does not begin with one unknown element", expected="as M2CO3 or MCO3")
    return found["letter"], int(found["count"] or 1), found["rest"]


def substances(unknown: str, may_be: Sequence[tuple[str, str]], masses: Convention) -> tuple[Candidate, ...]:
    """What an unknown substance may be, from formulae with their names, by molar mass: an order that gives nothing away."""
    shared = Counter(word for _, name in may_be for word in set(name.split()))
    found = []
    for formula, name in may_be:
        own = [word for word in name.split() if shared[word] == 1]
        bare = [
            max(re.findall("[a-z]+", word), key=len, default="") for word in own
        ]  # 2-hydroxypropanoic without its 2
        letter = stands_for(unknown, formula)
        element = (letter, element_name(letter)) if letter else ()
        also = dict.fromkeys((*(word for word in (*own, *bare) if re.search("[a-z]{4}", word)), *element))
        found.append(Candidate(formula, name, relative_mass(formula, masses), tuple(also)))
    return tuple(sorted(found, key=lambda one: one.mass))


def stands_for(unknown: str, formula: str) -> str:
    """The element that the letter of an unknown stands for: K for the M of M2CO3 in K2CO3. "" where it is no single element."""
    left = _left_over(unknown, formula)
    return next(iter(left), "") if len(left) == 1 and unknown_letter(unknown) in _ELEMENTS else ""


def unknown_letter(unknown: str) -> str:
    """The letter that stands for what is not known in a formula: the M of M2CO3. "" where it has none, or several."""
    letters = parse_formula(unknown, PLACEHOLDERS).placeholders
    return next(iter(letters)) if len(letters) == 1 else ""


def fits(unknown: str, formula: str) -> bool:
    """Whether an unknown may be this: K2CO3 may stand behind M2CO3, CaCO3 may not."""
    left, letter = _left_over(unknown, formula), unknown_letter(unknown)
    if not letter or not left or any(count < 0 for count in left.values()):
        return False
    return letter not in _ELEMENTS or list(left.values()) == [parse_formula(unknown, PLACEHOLDERS).count(letter)]


def _left_over(unknown: str, formula: str) -> dict[str, int]:
    """The atoms of a formula without those that the unknown's formula names; below zero where one of these is missing."""
    left = Counter(dict(parse_formula(formula).atoms))
    pattern = parse_formula(unknown, PLACEHOLDERS)
    left.subtract({symbol: count for symbol, count in pattern.atoms if symbol not in pattern.placeholders})
    return {symbol: count for symbol, count in left.items() if count}


def nearest_candidate(exact: Fraction, among: Sequence[Candidate]) -> Candidate:
    """The candidate whose relative mass is nearest."""
    return min(among, key=lambda one: abs(Fraction(one.mass) - exact))
