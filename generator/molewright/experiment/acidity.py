"""A vessel, an acid or a salt comes in; the names of its pH, its constants and the concentrations of its ions go out."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name

HYDROGEN, HYDROXIDE, WATER = "H+", "OH-", "H2O"
ION_PRODUCT = Name("ion product", WATER)
"""The ionic product of water, in mol² dm⁻⁶."""
USUAL_ION_PRODUCT = Quantity(Decimal("1.00E-14"), Unit.MOL2_PER_DM6, scientific=True)
"""Of water at 25 °C, as textbooks have it, where a description tells none."""


@lru_cache(512)
def ph_in(vessel: str) -> Name:
    """The pH of what is in a vessel."""
    return Name("pH", "", vessel)


@lru_cache(512)
def ions_in(ion: str, vessel: str) -> Name:
    """The concentration of an ion of water's, or of a salt's, in a vessel, in mol dm⁻³."""
    return Name("ion concentration", ion, vessel)


@lru_cache(512)
def acid_constant(acid: str) -> Name:
    """The acid dissociation constant of a weak acid, in mol dm⁻³."""
    return Name("acid constant", acid)


@lru_cache(512)
def pka(acid: str) -> Name:
    """Its logarithm with the sign turned."""
    return Name("pKa", acid)


@lru_cache(512)
def base_constant(base: str) -> Name:
    """The base dissociation constant of a weak base, in mol dm⁻³."""
    return Name("base constant", base)


@lru_cache(512)
def strength_in(species: str, vessel: str) -> Name:
    """The concentration of a species in what a vessel holds, in mol dm⁻³."""
    return Name("concentration", species, vessel)


@lru_cache(512)
def ions_of(ion: str, solution: str) -> Name:
    """The concentration of an ion in a bottle, in mol dm⁻³, whatever solute it comes from."""
    return Name("ion concentration", ion, "", source=solution)


@lru_cache(512)
def solubility_product(salt: str, ions: int) -> Name:
    """The solubility product of a salt that gives two ions or three."""
    return Name("solubility product of two ions" if ions == 2 else "solubility product of three ions", salt)
