"""Words for solutes and titrations that tests of equilibrium share: a strong acid, the steepest part, the charge left over."""

from __future__ import annotations

import math
from collections.abc import Iterable

from molewright.chem.curve import Steep, Titration
from molewright.chem.equilibrium import PKW_25C, Solute, gathered, protons_held, water_constant

# What boiled and cooled water holds of carbon dioxide, mol dm⁻³: the air's 0.0004 atm times Henry's
# 0.034 mol dm⁻³ atm⁻¹ (R. Sander, Atmos. Chem. Phys. 15 (2015) 4399).
BOILED_OFF = 1.4e-5


def strong_acid(concentration: float, protons: int = 1) -> Solute:
    """An acid that gives up its protons wholly, as HCl."""
    return Solute((), protons, concentration)


def strong_base(concentration: float, hydroxides: int = 1) -> Solute:
    """An alkali that gives its hydroxide ions wholly, as NaOH or (with 2) Ba(OH)2."""
    return Solute((), -hydroxides, concentration)


def net_charge(solutes: Iterable[Solute], at_ph: float) -> float:
    """Charge left over at a pH that need not be the mixture's own, in mol dm⁻³: falls as the pH rises, 0 at its own."""
    fixed, held = gathered(solutes)
    hydrogen = math.pow(10, -at_ph)
    total = hydrogen - water_constant(PKW_25C) / hydrogen + fixed
    for concentration, constants, _ in held:
        total += concentration * protons_held(constants, hydrogen)
    return total


def steepest(titration: Titration) -> Steep:
    """The steep part with the highest jump."""
    return max(titration.steep_parts(), key=lambda part: part.height)
