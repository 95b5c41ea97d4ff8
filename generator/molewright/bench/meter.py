"""What is in a vessel or a bottle comes in; the pH that a meter shows in it, or the product of its ions, goes out.

A pH follows from the balance of all charges. Nothing is taken as small here: what is taught neglects what a weak acid gives up, and
its answers are held against this.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.chem.equilibrium import PKW_25C, dissolved, ph
from molewright.chem.powers import minus_log
from molewright.experiment import acidity
from molewright.experiment.metering import ReadPH
from molewright.experiment.quantities import Name
from molewright.experiment.saturating import TellProduct


def read_meter(
    act: ReadPH, amounts: Mapping[str, Fraction], volume_cm3: float, values: Mapping[Name, Fraction]
) -> float:
    """The pH of these amounts (mol) in a volume, by the constants that are told among the values, else by those of the banks."""
    family = (_pka(act, values),) if act.family else ()
    pkw = minus_log(float(values[acidity.ION_PRODUCT])) if acidity.ION_PRODUCT in values else PKW_25C
    parts = ((act.acid, family, 1), (act.base, family, 0), (act.strong, (), act.protons))
    there = [
        dissolved(pkas, protons, float(amounts.get(species, 0)), volume_cm3)
        for species, pkas, protons in parts
        if species
    ]
    return ph(there, pkw=pkw)


def _pka(act: ReadPH, values: Mapping[Name, Fraction]) -> float:
    constant = values.get(acidity.acid_constant(act.family))
    if constant is not None:
        return minus_log(float(constant))
    pka = values.get(acidity.pka(act.family))
    return act.pka if pka is None else float(pka)


def product_of_ions(act: TellProduct, strength: Fraction, beside: Fraction) -> Fraction:
    """The product of the concentrations of a salt's ions, each as often as a formula unit has it, from those of both solutes."""
    found = Fraction(1)
    for ion, count in ((act.cation, act.cations), (act.anion, act.anions)):
        held = strength * count + (beside * act.common if ion == act.shared else 0)
        found *= held**count
    return found
