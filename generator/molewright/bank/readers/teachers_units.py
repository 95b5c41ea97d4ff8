"""A number as a teacher writes it comes in; the same with a unit of the closed set goes out: M, mM, ppm, mol·dm-3.

A normality is asked back: without the number of equivalents it says nothing.
"""

from __future__ import annotations

import re
from fractions import Fraction

from molewright.chem.quantity import half_up, leading_place, parse_quantity
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake

_SPLIT = re.compile(
    r"\s*(?P<number>[-+−]?[0-9.]+(?:\s*(?:[x×*]\s*10\s*\^?\s*\S+|[eE][-+−]?[0-9]+))?)\s*(?P<unit>[^0-9.].*)?"
)
_MOLAR = {
    "M": Unit.MOL_PER_L,
    "molar": Unit.MOL_PER_L,
    "Molar": Unit.MOL_PER_L,
    "mM": Unit.MMOL_PER_L,
    "mmolar": Unit.MMOL_PER_L,
}
_PARTS = {
    Unit.PERCENT: Unit.MG_PER_KG,
    Unit.G_PER_DM3: Unit.PPM,
}  # what a millionth is of a solid, and of a dilute solution
_NORMAL = re.compile(r"N|n|normal")
_EXAMPLE_EQUIVALENTS = 2


def teachers_unit(text: str, base: Unit) -> Unit:
    """The unit that a text means where one of this kind is wanted. Raises Mistake for an unknown one."""
    unit = _plain(text)
    if unit in _MOLAR:
        return _MOLAR[unit]
    if unit == "ppm":
        if base not in _PARTS:
            raise Mistake("'ppm' here", expected=f"a unit of the kind '{base}'" if base else "no unit")
        return _PARTS[base]
    return parse_unit(unit)


def is_a_unit(text: str) -> bool:
    """Whether a text names a unit of some kind."""
    try:
        teachers_unit(text, Unit.G_PER_DM3)  # of which "ppm" may be said; any other says its kind itself
    except Mistake:
        return False
    return True


def in_a_known_unit(text: str, base: Unit, solute: str = "") -> str:
    """The text with its unit as `parse_quantity` reads it, as it stands where that knows it. Raises Mistake for a normality."""
    match = _SPLIT.fullmatch(text)
    if match is None or not match["unit"]:
        return text
    if _NORMAL.fullmatch(match["unit"].strip()) and base is Unit.MOL_PER_DM3:
        raise _normality(match["number"], solute)
    try:
        return f"{match['number']} {teachers_unit(match['unit'], base)}"
    except Mistake:
        return text  # told by whoever reads it next


def _normality(number: str, solute: str) -> Mistake:
    quantity = parse_quantity(number, unit_needed=False)
    exact = Fraction(quantity.number) / _EXAMPLE_EQUIVALENTS
    as_moles = half_up(exact, max(quantity.places, quantity.figures - 1 - leading_place(exact)))
    of = f" of {solute}" if solute else ""
    return Mistake(
        f"{quantity.number_text} N{of} is a normality: how many protons or electrons does one formula unit stand for?",
        expected="a concentration: the normality divided by that number",
        do=f"Write 'normality: {quantity.number_text} N, equivalents: {_EXAMPLE_EQUIVALENTS}' in its place, or what is right; "
        f"or write it in mol dm-3: for {_EXAMPLE_EQUIVALENTS} it is {as_moles} mol dm-3.",
    )


def _plain(text: str) -> str:
    """A unit with plain spaces and powers: mol·dm^-3 is mol dm-3."""
    unit = re.sub(r"[·⋅*]|(?<=[a-zA-Z])\.(?=[a-zA-Z])", " ", text.strip())
    return " ".join(re.sub(r"\^\s*[{(]?\s*([-−]?[0-9]+)\s*[})]?", r"\1", unit).split())
