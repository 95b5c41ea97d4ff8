"""How a number may be written in an entry: "25.0 cm3", a list of such, "fit 0.90 to 1.60 g by 0.001", "hidden ...". Text to Choice."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from molewright.bank.definitions import Choice, Material
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake, shortened
from molewright.reading.fields import text_of, texts_of
from molewright.reading.yaml_text import Branch, Listing

_RANGE = re.compile(
    r"(?P<fit>fit\s+)?(?P<low>[0-9.]+)\s+to\s+(?P<high>[0-9.]+)(?P<unit>\s+(?!by\s)[^0-9].*?|\s*%)?(?:\s+by\s+(?P<step>[0-9.]+))?"
)

# The figures a teacher writes a concentration with: 0.0985, 0.105, 1.20 (common practice, no source).
_CONCENTRATION_FIGURES = 3


def read_choice(branch: Branch, unit: Unit, material: Material | None = None) -> Choice:
    """The choice that a key holds; `unit` is the base unit that its quantity is measured in."""
    if isinstance(branch, Listing):
        options = tuple(parse_quantity(text, unit_needed=bool(unit)) for text in texts_of(branch))
        if not options:
            raise Mistake("an empty list of numbers", expected="at least one quantity", where=branch.where)
        for option in options:
            _require_unit(option.unit, unit, str(option))
            _require_above_zero(option)
        return Choice(options=options)
    return choice_of(text_of(branch), unit, material)


def choice_of(text: str, unit: Unit, material: Material | None = None) -> Choice:
    """The choice that a text tells, as "hidden 3.40 to 4.40 by 0.05"."""
    if text.startswith("hidden "):
        return replace(_one_choice(text.removeprefix("hidden "), unit, material), hidden=True)
    return _one_choice(text, unit, material)


def _one_choice(text: str, unit: Unit, material: Material | None) -> Choice:
    if text == "of the material":
        if material is None:
            raise Mistake("'of the material' where no material is named", expected="a range, as 80 to 95 %")
        return Choice(low=material.low, high=material.high, step=Decimal("0.1"), unit=Unit.PERCENT)
    match = _RANGE.fullmatch(text)
    if match is None and (text.startswith("fit") or _RANGELIKE.search(text)):
        raise Mistake(f"the numbers {shortened(text)}", expected=_range_expected(unit, text.startswith("fit")))
    if match is None:
        quantity = parse_quantity(text, unit_needed=bool(unit))
        _require_unit(quantity.unit, unit, text)
        _require_above_zero(quantity)
        return Choice(options=(quantity,))
    found_unit = parse_unit(match["unit"] or "")
    _require_unit(found_unit, unit, text)
    try:
        low, high = Decimal(match["low"]), Decimal(match["high"])
        step = Decimal(match["step"]) if match["step"] else Decimal(1).scaleb(min(0, -_places(match["low"])))
    except ArithmeticError:
        raise Mistake(f"{shortened(text)} cannot be read", expected="'low to high unit by step'") from None
    figures = _CONCENTRATION_FIGURES if found_unit.base in (Unit.MOL_PER_DM3, Unit.G_PER_DM3) else None
    return Choice(low=low, high=high, step=step, unit=found_unit, figures=figures, fit=bool(match["fit"]))


_RANGELIKE = re.compile(
    r"[0-9]\s*(?:\s-\s|–|…|\.\.+|\bto\b|\bby\b)\s*[0-9.]|\.[0-9]+-[0-9]"
)  # two numbers that are meant for a range


def _range_expected(unit: Unit, fit: bool) -> str:
    numbers = (
        f"0.0600 to 0.140 {unit} by 0.0005"
        if unit is Unit.MOL_PER_DM3
        else f"1.20 to 2.40 {unit} by 0.01".replace("  ", " ")
    )
    word = "fit " if fit else ""
    return f"'{word}LOW to HIGH UNIT by STEP', as '{word}{numbers}'"


def _places(text: str) -> int:
    return len(text.partition(".")[2])


def _require_above_zero(quantity: Quantity) -> None:
    if quantity.number <= 0:
        raise Mistake(f"{quantity} is not above zero", expected="a number above zero")


def _require_unit(found: Unit, wanted: Unit, text: str) -> None:
    if found.base is not wanted:
        said = f"'{found}'" if found else "no unit"
        raise Mistake(
            f"{shortened(text)} has {said}",
            expected=f"a unit of the kind '{wanted}'" if wanted else "no unit",
            do=f"Write it in {', '.join(map(str, wanted.like))}." if wanted else "Leave the unit out.",
        )
