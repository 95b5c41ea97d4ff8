"""The word of an operation comes in; the keys that it cannot do without, and a line as somebody writes it, go out."""

from __future__ import annotations

from collections.abc import Mapping

NEEDED: Mapping[str, tuple[str, ...]] = {
    "weigh": ("sample", "contains"),
    "measure": ("solution",),
    "add excess": ("solution",),
    "add": ("what",),
    "come to equilibrium": ("followed",),
    "filter off": ("species",),
    "drive over": ("species", "into"),
    "collect gas": ("species",),
    "lead in": ("species",),
    "dilute": ("solution",),
    "titrate": ("with",),
    "tell strength": ("solution", "made in"),
    "tell part": ("solution", "of", "without"),
    "tell solubility product": ("of",),
}
"""Of each operation the keys without which nobody knows what was done."""

EXAMPLES: Mapping[str, str] = {
    "weigh": "{sample: stone, contains: CaCO3, mass: 1.264 g}",
    "dissolve": "dilute sulfuric acid",
    "measure": "{solution: vinegar, contains: CH3COOH, volume: 25.0 cm3}",
    "add excess": "{solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}",
    "add": "an excess of potassium iodide",
    "warm": "about 70 °C",
    "react": "CaCO3 + 2HCl -> CaCl2 + CO2 + H2O",
    "come to equilibrium": "{reaction: CH3COOH + C2H5OH <=> CH3COOC2H5 + H2O, followed: CH3COOH}",
    "boil off": "{species: NH3}",
    "filter off": "{species: AgCl}",
    "drive over": "{species: NH3, into: receiver}",
    "collect gas": "{species: CO2, volume: 240 cm3, molar volume: 24.0 dm3 mol-1}",
    "lead in": "{species: SO2, volume: 120 cm3, molar volume: 24.0 dm3 mol-1}",
    "make up": "250 cm3",
    "take aliquot": "25.0 cm3",
    "dilute": "{solution: vinegar, contains: CH3COOH, volume: 25.0 cm3, to: 250 cm3}",
    "titrate": "{with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}",
    "tell strength": "{solution: Na2CO3, made in: flask}",
    "tell part": "{solution: temporary, of: water, without: permanent}",
    "read pH": "flask",
    "tell solubility product": "{of: Ca(OH)2}",
}
"""What stands after the word, one for each operation."""
