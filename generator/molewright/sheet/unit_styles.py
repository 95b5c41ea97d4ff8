"""A unit or plain words come in; they go out in the unit style of the paper: dm³ and cm³, or litres and millilitres."""

from __future__ import annotations

from molewright.chem.conventions import UnitStyle

_LITRE: dict[str, str] = {
    "cm³": "mL",
    "dm³": "L",
    "mol dm⁻³": "mol/L",
    "g dm⁻³": "g/L",
    "mg dm⁻³": "mg/L",
    "dm³ mol⁻¹": "L/mol",
}


def in_litres(text: str) -> str:
    """Plain words with mL, L, mol/L and g/L for cm³, dm³, mol dm⁻³ and g dm⁻³."""
    for unit in sorted(_LITRE, key=len, reverse=True):
        text = text.replace(unit, _LITRE[unit])
    return text


def in_style(unit: str, style: UnitStyle) -> str:
    """One unit in a style."""
    return _LITRE.get(unit, unit) if style == "litre" else unit
