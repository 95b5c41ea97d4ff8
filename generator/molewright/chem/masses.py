"""Relative masses: a formula and a data sheet's convention come in; decimals and the sum as a pupil writes it go out.

Never arithmetic on floats: every atomic mass starts from the decimal text of the published table.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from molewright.chem.conventions import CONVENTIONS, Convention
from molewright.chem.formula import ELEMENTS, parse_formula
from molewright.chem.formula_tree import Atom, Formula, Piece, Section
from molewright.chem.quantity import TIMES, half_up
from molewright.errors import Mistake, nearest, shortened

_PLACES: dict[Convention, int] = {"one place": 1, "two places": 2, "whole": 0}
_BRITISH = {"aluminum": "aluminium", "cesium": "caesium"}  # the names that periodictable spells otherwise
# School data sheets of whole numbers keep the half for these two: 35 or 36 would be wrong by more than 1 %.
_HALVES = {"Cl": Decimal("35.5"), "Cu": Decimal("63.5")}


@lru_cache(maxsize=1)
def _published() -> dict[str, Decimal]:
    """Symbol -> standard atomic weight as printed, abridged: T. Prohaska et al., Pure Appl. Chem. 94 (2022) 573.

    The text is periodictable's copy of that table, which leaves out elements without such a weight (Tc, Po, ...).
    """
    from periodictable.mass import element_mass  # 25-60 ms, so only when first needed

    rows = re.findall(r"^\d+\s+([A-Z][a-z]?)\s+\S+\s+(\d+\.\d+)\(", element_mass, re.MULTILINE)
    return {symbol: Decimal(number) for symbol, number in rows}


def has_mass(symbol: str) -> bool:
    """Whether an element has a standard atomic mass."""
    return symbol in _published()


@lru_cache(maxsize=512)
def atomic_mass(symbol: str, convention: Convention) -> Decimal:
    """The relative atomic mass by the convention, half up: Fe is 55.8, 55.85, 56 or 55.845."""
    if convention not in CONVENTIONS:
        raise Mistake(
            f"the convention {shortened(str(convention))} of atomic masses is not known",
            expected=", ".join(CONVENTIONS),
            near=nearest(str(convention), CONVENTIONS),
        )
    published = _published()
    if symbol not in published:
        raise Mistake(
            f"{shortened(symbol)} has no standard atomic mass",
            expected="the symbol of an element found in nature",
            near=() if symbol in ELEMENTS else nearest(symbol, published),
        )
    if convention == "unrounded":
        return published[symbol]
    if convention == "whole" and symbol in _HALVES:
        return _HALVES[symbol]
    return half_up(Fraction(published[symbol]), _PLACES[convention])


@lru_cache(maxsize=128)
def element_name(symbol: str) -> str:
    """The name of an element in British spelling: "caesium". Raises Mistake for what is no symbol."""
    if symbol not in ELEMENTS:
        raise Mistake(
            f"{shortened(symbol)} is no element", expected="the symbol of an element", near=nearest(symbol, ELEMENTS)
        )
    import periodictable  # 25-60 ms, so only when first needed

    name = str(periodictable.elements.symbol(symbol).name)
    return _BRITISH.get(name, name)


@lru_cache(maxsize=2048)
def relative_mass(formula: str | Formula, convention: Convention) -> Decimal:
    """The relative formula mass, as the sum of the rounded atomic masses; the charge of an ion is ignored."""
    weighed = _weighable(formula)
    total = sum((atomic_mass(symbol, convention) * count for symbol, count in weighed.atoms), Decimal(0))
    return _trimmed(total, convention)


@lru_cache(maxsize=2048)
def mass_sum(formula: str | Formula, convention: Convention) -> str:
    """The working of the relative formula mass: "24.3 + 2 × (16.0 + 1.0) = 58.3"."""
    weighed = _weighable(formula)
    terms: list[str] = []
    for index, section in enumerate(weighed.groups):
        terms += _section_terms(section, hydrate=index > 0, convention=convention)
    total = relative_mass(weighed, convention)
    if len(terms) == 1:  # brackets keep terms apart: one term needs none
        working = terms[0][1:-1] if terms[0].startswith("(") else terms[0]
        return working if working == f"{total:f}" else f"{working} = {total:f}"
    return f"{' + '.join(terms)} = {total:f}"


def _section_terms(section: Section, *, hydrate: bool, convention: Convention) -> list[str]:
    count = section.count or 1
    if hydrate and section.is_water:  # water is weighed as one: 10 × 18.0
        water = f"{relative_mass('H2O', convention):f}"
        return [water if count == 1 else f"({count} {TIMES} {water})"]
    return _times(count, _terms(section.pieces, convention))


def _terms(pieces: tuple[Piece, ...], convention: Convention) -> list[str]:
    terms: list[str] = []
    for piece in _gathered(pieces):
        if not isinstance(piece, Atom):
            terms += _times(piece.count, _terms(piece.pieces, convention))
            continue
        mass = f"{atomic_mass(piece.symbol, convention):f}"
        terms.append(mass if piece.count == 1 else f"({piece.count} {TIMES} {mass})")
    return terms


def _gathered(pieces: tuple[Piece, ...]) -> list[Piece]:
    """Neighbours of one kind taken together: the two oxygens of COOH are 2 × 16.0."""
    found: list[Piece] = []
    for piece in pieces:
        last = found[-1] if found else None
        if isinstance(piece, Atom) and isinstance(last, Atom) and last.symbol == piece.symbol:
            found[-1] = Atom(piece.symbol, last.count + piece.count)
        else:
            found.append(piece)
    return found


def _times(count: int, terms: list[str]) -> list[str]:
    if count == 1:
        return terms
    return [f"{count} {TIMES} ({' + '.join(terms)})"]


def _trimmed(total: Decimal, convention: Convention) -> Decimal:
    """By whole numbers, two chlorines are 71 and not 71.0."""
    whole = total.to_integral_value()
    return whole.quantize(Decimal(1)) if convention == "whole" and whole == total else total


def _weighable(formula: str | Formula) -> Formula:
    parsed = parse_formula(formula) if isinstance(formula, str) else formula
    if parsed.placeholders:
        raise Mistake(
            f"{parsed.text} has no relative formula mass",
            expected="a formula of known elements",
            do=f"{', '.join(sorted(parsed.placeholders))} stands for an unknown element or group.",
        )
    if parsed.unknown_water:
        raise Mistake(
            f"{parsed.text} has no relative formula mass",
            expected="a known number of water molecules",
            do="Take the mass of the salt without its water, and of H2O.",
        )
    if parsed.is_electron:
        raise Mistake("the electron has no relative formula mass", expected="a formula with atoms in it")
    return parsed
