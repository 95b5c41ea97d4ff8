"""Precipitates: solubility products or solubilities, and concentrations, come in; whether a solid forms goes out.

Never makes a number that is printed. Tables of solubility products disagree, some by a power of ten and more: every
verdict has a margin to ask for, in powers of ten or in pH. Complexes and amphoteric hydroxides that dissolve again in
alkali are not seen here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from molewright.chem.equilibrium import PKW_25C
from molewright.errors import Mistake


@dataclass(frozen=True, slots=True)
class SparingSolid:
    """A sparingly soluble solid: how many cations and anions one formula unit gives, and its pKsp."""

    solid: str
    cations: int
    anions: int
    pksp: float

    def __post_init__(self) -> None:
        if self.cations < 1 or self.anions < 1:
            raise Mistake(f"{self.cations} cations and {self.anions} anions in {self.solid}", expected="one or more")
        if not -5 <= self.pksp <= 100:
            raise Mistake(
                f"a pKsp of {self.pksp} for {self.solid}", expected="a number such as 11.05, which is -log10 of the Ksp"
            )


def onset_ph(hydroxide: SparingSolid, concentration: float, *, pkw: float = PKW_25C) -> float:
    """The pH from which the hydroxide precipitates out of a metal ion at a concentration in mol dm⁻³."""
    if not concentration > 0:
        raise Mistake(f"a metal ion at {concentration} mol dm⁻³", expected="more than nothing")
    return pkw - (hydroxide.pksp + hydroxide.cations * math.log10(concentration)) / hydroxide.anions


def precipitates_before(
    hydroxide: SparingSolid, concentration: float, at_ph: float, *, margin: float = 0.0, pkw: float = PKW_25C
) -> bool:
    """Whether the hydroxide comes down at or before a pH; a margin, in pH, calls it sooner."""
    return concentration > 0 and onset_ph(hydroxide, concentration, pkw=pkw) - margin <= at_ph


def ionic_product(exponents: Sequence[int], concentrations: Sequence[float]) -> float:
    """The product of the ions' concentrations, each to the power of its count in the formula."""
    if len(exponents) != len(concentrations) or not exponents:
        raise Mistake(
            f"{len(exponents)} counts for {len(concentrations)} ions", expected="a count and a concentration for each"
        )
    if any(exponent < 1 for exponent in exponents) or any(not 0 <= one < math.inf for one in concentrations):
        raise Mistake(
            f"counts {tuple(exponents)} at {tuple(concentrations)} mol dm⁻³",
            expected="counts of 1 or more and concentrations of 0 or more",
        )
    return math.prod(one**exponent for one, exponent in zip(concentrations, exponents, strict=True))


def highest_concentration(solubility_g_per_100_g: float, molar_mass: float, *, density: float = 1.0) -> float:
    """The concentration of the saturated solution, mol dm⁻³, from its density in g cm⁻³ (1 serves below about 5 g)."""
    if not solubility_g_per_100_g > 0 or not molar_mass > 0 or not density > 0:
        raise Mistake(
            f"a solubility of {solubility_g_per_100_g} g, {molar_mass} g mol⁻¹ and {density} g cm⁻³",
            expected="all above 0",
        )
    solution_dm3 = (100 + solubility_g_per_100_g) / density / 1000
    return solubility_g_per_100_g / molar_mass / solution_dm3
