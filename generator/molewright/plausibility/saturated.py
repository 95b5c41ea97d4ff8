"""A solution that was shaken with a solid until no more dissolved comes in; whether it holds about as much as it would goes out.

What a solubility at 20 °C leads to is compared with what a draw has: as a product of concentrations, so that a solute beside it that
brings one of the ions is judged by the same number. Never makes a number that is printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.saturating import TellProduct

# Between 10 and 30 °C the product for calcium hydroxide is 1.21 and 0.80 times that at 20 °C (0.176, 0.165 and 0.153 g in 100 g of
# water: tables of solubilities in textbooks); some of it is lost to carbon dioxide besides (common practice, no source).
LEAST, MOST = 2 / 3, 5 / 4


def product(act: TellProduct, strength: float, other: float = 0.0) -> float:
    """The product of its ions' concentrations, the salt and the solute beside it at so many mol dm⁻³."""
    found = 1.0
    for ion, count in ((act.cation, act.cations), (act.anion, act.anions)):
        found *= (count * strength + (act.common * other if ion == act.shared else 0.0)) ** count
    return found


def unsaturated(act: TellProduct, truth: Mapping[Name, Fraction], limit: float) -> str | None:
    """Why a solution cannot be one that is saturated, where `limit` mol dm⁻³ are so in water at 20 °C; None for one that can."""
    strength = truth.get(quantities.concentration(act.solution.name))
    beside = act.beside and truth.get(quantities.concentration(act.beside.name))
    if strength is None or (act.beside is not None and beside is None):
        return None
    found, right = product(act, float(strength), float(beside or 0)), product(act, limit)
    if LEAST <= found / right <= MOST:
        return None
    salt = act.solution.solute
    return f"a saturated solution of {salt} has a product of about {right:.2g}, and this one would have {found:.2g}"
