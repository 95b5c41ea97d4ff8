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


def would_precipitate(
    ksp: float, exponents: Sequence[int], concentrations: Sequence[float], *, margin: float = 0.0
) -> bool:
    """Whether the ionic product is above Ksp; a margin, in powers of ten, calls it sooner."""
    if not 0 < ksp < math.inf:
        raise Mistake(f"a Ksp of {ksp}", expected="more than nothing")
    return ionic_product(exponents, concentrations) > ksp * math.pow(10, -margin)


def saturated_concentration(solid: SparingSolid) -> float:
    """How much of the solid dissolves in pure water, mol dm⁻³, where its ions do nothing but dissolve."""
    logarithm = -solid.pksp - solid.cations * math.log10(solid.cations) - solid.anions * math.log10(solid.anions)
    return math.pow(10, logarithm / (solid.cations + solid.anions))


def most_dissolved_g(solubility_g_per_100_g: float, water_g: float, *, anhydrous_part: float = 1.0) -> float:
    """The most that a mass of water dissolves, for a solubility in g of the anhydrous substance per 100 g of water.

    For a hydrate give the part of its mass that is anhydrous: its own water helps to dissolve it, and one that can
    dissolve in that alone has no limit (infinite).
    """
    if not solubility_g_per_100_g > 0 or water_g < 0 or not 0 < anhydrous_part <= 1:
        raise Mistake(
            f"a solubility of {solubility_g_per_100_g} g in 100 g of water, {water_g} g of water and an anhydrous part"
            f" of {anhydrous_part}",
            expected="a solubility above 0, water of 0 g or more and a part from 0 to 1",
        )
    per_gram = solubility_g_per_100_g / 100
    needed = anhydrous_part - per_gram * (1 - anhydrous_part)
    return per_gram * water_g / needed if needed > 0 else math.inf


def dissolves(
    mass_g: float, solubility_g_per_100_g: float, water_cm3: float, *, anhydrous_part: float = 1.0, share: float = 1.0
) -> bool:
    """Whether a mass dissolves in a volume of water (1 g a cm³); with a share of 0.5 at most half of what could."""
    return mass_g <= share * most_dissolved_g(solubility_g_per_100_g, water_cm3, anhydrous_part=anhydrous_part)


def highest_concentration(solubility_g_per_100_g: float, molar_mass: float, *, density: float = 1.0) -> float:
    """The concentration of the saturated solution, mol dm⁻³, from its density in g cm⁻³ (1 serves below about 5 g)."""
    if not solubility_g_per_100_g > 0 or not molar_mass > 0 or not density > 0:
        raise Mistake(
            f"a solubility of {solubility_g_per_100_g} g, {molar_mass} g mol⁻¹ and {density} g cm⁻³",
            expected="all above 0",
        )
    solution_dm3 = (100 + solubility_g_per_100_g) / density / 1000
    return solubility_g_per_100_g / molar_mass / solution_dm3
