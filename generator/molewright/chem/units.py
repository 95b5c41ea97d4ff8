"""A unit as a person types it comes in; one of a closed set of units goes out: how it is printed and read aloud, and its base.

Text comes in at `parse_unit` only; everything else asks a Unit. Every factor is a power of ten, so that figures survive a change
of unit. SI brochure, 9th ed., ch. 5.
"""

from __future__ import annotations

import re
from enum import Enum
from fractions import Fraction

from molewright.chem.conventions import UnitStyle
from molewright.errors import Mistake, nearest, shortened

NO_BREAK = "\N{NO-BREAK SPACE}"
_MINUS = "\N{MINUS SIGN}"


class Unit(Enum):
    """Printed text, words read aloud, spellings that may be typed beside the text, the base and how many powers of ten above it."""

    G = ("g", "grams", ("gram", "grams"))
    MG = ("mg", "milligrams", ("milligram", "milligrams"), "g", -3)
    UG = ("µg", "micrograms", ("ug", "microgram", "micrograms"), "g", -6)
    KG = ("kg", "kilograms", (), "g", 3)
    CM3 = ("cm³", "cubic centimetres", ("cm3", "cm^3", "cc"))
    DM3 = ("dm³", "cubic decimetres", ("dm3", "dm^3"), "cm³", 3)
    ML = ("mL", "millilitres", ("ml", "millilitre", "millilitres"), "cm³", 0)
    L = ("L", "litres", ("l", "litre", "litres"), "cm³", 3)
    M3 = ("m³", "cubic metres", ("m3", "m^3"), "cm³", 6)
    MOL = ("mol", "moles", ("mole", "moles"))
    MMOL = ("mmol", "millimoles", (), "mol", -3)
    MOL_PER_DM3 = (
        "mol dm⁻³",
        "moles per cubic decimetre",
        ("mol dm-3", "mol dm^-3", "mol/dm3", "mol/dm^3", "mol/dm³"),
    )
    MOL_PER_L = ("mol/L", "moles per litre", ("mol/l", "mol L-1", "mol l-1", "mol L⁻¹"), "mol dm⁻³", 0)
    MMOL_PER_L = ("mmol/L", "millimoles per litre", ("mmol/l", "mmol L-1"), "mol dm⁻³", -3)
    MMOL_PER_DM3 = ("mmol dm⁻³", "millimoles per cubic decimetre", ("mmol dm-3", "mmol/dm3"), "mol dm⁻³", -3)
    G_PER_DM3 = ("g dm⁻³", "grams per cubic decimetre", ("g dm-3", "g dm^-3", "g/dm3", "g/dm^3", "g/dm³"))
    G_PER_L = ("g/L", "grams per litre", ("g/l", "g L-1", "g L⁻¹"), "g dm⁻³", 0)
    MG_PER_L = ("mg/L", "milligrams per litre", ("mg/l", "mg L-1"), "g dm⁻³", -3)
    MG_PER_DM3 = ("mg dm⁻³", "milligrams per cubic decimetre", ("mg dm-3", "mg/dm3", "mg/dm³"), "g dm⁻³", -3)
    PPM = ("ppm", "parts per million", ("parts per million",), "g dm⁻³", -3)  # in water, where 1 dm³ is 1 kg
    MG_PER_ML = ("mg/mL", "milligrams per millilitre", ("mg/ml", "mg mL-1", "mg/cm3", "mg cm-3"), "g dm⁻³", 0)
    G_PER_100_ML = (
        "g/100 mL",
        "grams per 100 millilitres",
        (
            "g/100 ml",
            "g/100mL",
            "g/100ml",
            "g/100 cm3",
            "g/100cm3",
            "g per 100 cm3",
            "g per 100 mL",
            "% w/v",
            "% (w/v)",
            "%w/v",
        ),
        "g dm⁻³",
        1,
    )
    MG_PER_100_ML = (
        "mg/100 mL",
        "milligrams per 100 millilitres",
        ("mg/100 ml", "mg/100mL", "mg/100ml", "mg/100 cm3", "mg/100cm3", "mg per 100 cm3", "mg per 100 mL"),
        "g dm⁻³",
        -2,
    )
    MIN = ("min", "minutes", ("mins", "minute", "minutes"))
    PER_MIN = ("min⁻¹", "per minute", ("min-1", "min^-1", "/min", "1/min"))
    MOL_PER_DM3_MIN = (
        "mol dm⁻³ min⁻¹",
        "moles per cubic decimetre per minute",
        ("mol dm-3 min-1", "mol dm^-3 min^-1", "mol/dm3/min", "mol/dm^3/min", "mol/dm³/min", "mol/(dm3 min)"),
    )
    MOL_PER_L_MIN = (
        "mol L⁻¹ min⁻¹",
        "moles per litre per minute",
        ("mol/L/min", "mol L-1 min-1", "mol L^-1 min^-1", "mol/l/min", "mol/(L min)"),
        "mol dm⁻³ min⁻¹",
        0,
    )
    NORMAL = ("N", "normal", ())  # a concentration times the protons or electrons that one formula unit stands for
    G_PER_CM3 = ("g cm⁻³", "grams per cubic centimetre", ("g cm-3", "g cm^-3", "g/cm3", "g/cm^3", "g/cm³"))
    G_PER_ML = ("g/mL", "grams per millilitre", ("g/ml", "g mL-1"), "g cm⁻³", 0)
    G_PER_MOL = ("g mol⁻¹", "grams per mole", ("g mol-1", "g mol^-1", "g/mol"))
    MG_PER_G = ("mg g⁻¹", "milligrams per gram", ("mg g-1", "mg/g"))
    DM3_PER_MOL = ("dm³ mol⁻¹", "cubic decimetres per mole", ("dm3 mol-1", "dm^3 mol^-1", "dm3/mol"))
    L_PER_MOL = ("L/mol", "litres per mole", ("L mol-1", "L mol⁻¹"), "dm³ mol⁻¹", 0)
    PERCENT = ("%", "per cent", ("percent", "per cent"))
    MOL2_PER_DM6 = (
        "mol² dm⁻⁶",
        "moles squared per cubic decimetre squared",
        ("mol2 dm-6", "mol^2 dm^-6", "mol2/dm6", "mol²/dm⁶"),
    )
    MOL2_PER_L2 = ("mol²/L²", "moles squared per litre squared", ("mol2/L2", "mol2 L-2", "mol² L⁻²"), "mol² dm⁻⁶", 0)
    MOL3_PER_DM9 = (
        "mol³ dm⁻⁹",
        "moles cubed per cubic decimetre cubed",
        ("mol3 dm-9", "mol^3 dm^-9", "mol3/dm9", "mol³/dm⁹"),
    )
    MOL3_PER_L3 = ("mol³/L³", "moles cubed per litre cubed", ("mol3/L3", "mol3 L-3", "mol³ L⁻³"), "mol³ dm⁻⁹", 0)
    MG_PER_KG = ("mg kg⁻¹", "milligrams per kilogram", ("mg/kg", "mg kg-1"), "%", -4)
    MS_PER_CM = ("mS cm⁻¹", "millisiemens per centimetre", ("mS cm-1", "mS/cm"))
    CELSIUS = ("°C", "degrees Celsius", ("C", "deg C"))
    NONE = ("", "")

    def __init__(self, text: str, spoken: str, spellings: tuple[str, ...] = (), base: str = "", power: int = 0) -> None:
        self.text = text
        self.spoken = spoken
        self.spellings = spellings
        self.power = power  # of ten: how many of the base one of it is
        self.factor = Fraction(10) ** power  # how many of its base one of it is, exactly
        self._base = base

    def __str__(self) -> str:
        return self.text

    def __bool__(self) -> bool:
        return bool(self.text)

    @property
    def base(self) -> Unit:
        """The unit of its kind that everything is reckoned in: g, cm³, mol, mol dm⁻³, g dm⁻³; or itself."""
        return _BY_TEXT[self._base] if self._base else self

    @property
    def like(self) -> tuple[Unit, ...]:
        """The units of its kind, the base first: cm³, dm³, mL, L, m³."""
        base = self.base
        return (base, *(unit for unit in Unit if unit is not base and unit.base is base))

    @property
    def unbroken(self) -> str:
        """Its text, kept on one line."""
        return self.text.replace(" ", NO_BREAK)

    @property
    def typed(self) -> str:
        """Its text as it is typed: cm3, mol dm-3."""
        return next((one for one in (self.text, *self.spellings) if one.isascii()), self.text)

    def in_style(self, style: UnitStyle) -> Unit:
        """The unit that a paper of this style prints for it."""
        return _LITRE.get(self, self) if style == "litre" else self


_BY_TEXT = {unit.text: unit for unit in Unit}
_SPELT = {spelling: unit for unit in Unit for spelling in (unit.text, *unit.spellings)}
_LITRE = {
    Unit.CM3: Unit.ML,
    Unit.DM3: Unit.L,
    Unit.MOL_PER_DM3: Unit.MOL_PER_L,
    Unit.MMOL_PER_DM3: Unit.MMOL_PER_L,
    Unit.MOL_PER_DM3_MIN: Unit.MOL_PER_L_MIN,
    Unit.G_PER_DM3: Unit.G_PER_L,
    Unit.G_PER_CM3: Unit.G_PER_ML,
    Unit.MG_PER_DM3: Unit.MG_PER_L,
    Unit.DM3_PER_MOL: Unit.L_PER_MOL,
    Unit.MOL2_PER_DM6: Unit.MOL2_PER_L2,
    Unit.MOL3_PER_DM9: Unit.MOL3_PER_L3,
}


def words_in_litres(text: str) -> str:
    """Plain words with mL, L, mol/L and g/L for cm³, dm³, mol dm⁻³ and g dm⁻³."""
    for unit in sorted(_LITRE, key=lambda unit: len(unit.text), reverse=True):
        text = text.replace(unit.text, _LITRE[unit].text)
    return text


_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(re.escape(unit.text) for unit in Unit if unit.text)})(?!\w))")


def units_kept(text: str) -> str:
    """Plain words in which no line ends between a number and its unit."""
    return _BEFORE_UNIT.sub(NO_BREAK, text)


_TYPED = sorted((spelling for spelling in _SPELT if re.search(r"\d", spelling)), key=len, reverse=True)
_TYPED_UNIT = re.compile(rf"(?<![A-Za-z0-9])(?:{'|'.join(map(re.escape, _TYPED))})(?![A-Za-z0-9^])")


def units_set(text: str) -> str:
    """Plain words with the units that were typed with figures as they are printed: "25.0 cm3 of 0.1 mol dm-3" with cm³ and mol dm⁻³."""
    return _TYPED_UNIT.sub(lambda found: _SPELT[found[0]].text, text)


def parse_unit(text: str) -> Unit:
    """The unit that any of its spellings means. Raises Mistake for an unknown one."""
    folded = " ".join(text.replace(NO_BREAK, " ").replace(_MINUS, "-").split())
    if folded in _SPELT:
        return _SPELT[folded]
    raise unknown_unit(folded)


def unknown_unit(text: str) -> Mistake:
    """The mistake for a unit that is not known; M gets its own word because it is the commonest."""
    if text == "M":
        return Mistake("the unit 'M'", expected="mol dm-3 (M is the symbol of a molar mass)", do="Write mol dm-3.")
    return Mistake(
        f"the unit {shortened(text)} is not known",
        expected="g, mg, cm3, dm3, mol, mol dm-3, g dm-3 or %",
        near=nearest(text, [spelling for spelling in _SPELT if spelling]),
    )
