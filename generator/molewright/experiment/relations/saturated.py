"""A saturated solution comes in; how its ions and the solubility product hang together goes into what was found."""

from __future__ import annotations

from fractions import Fraction

from molewright.experiment import acidity, quantities
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found
from molewright.experiment.relations.measured import solution_strength
from molewright.experiment.relations.variables import product, raised, total
from molewright.experiment.saturating import TellProduct


def tell_product(found: Found, act: TellProduct) -> None:
    """What a solubility product is made of: the strength of the salt, its ions, and what another solute brings of one of them."""
    strength = solution_strength(found, act.solution)
    cation = _ion(found, act, act.cation, act.cations, strength)
    anion = _ion(found, act, act.anion, act.anions, strength)
    salt = act.solution.solute
    ksp = found.new(acidity.solubility_product(salt, act.cations + act.anions), salt)
    found.relations.append(raised("solubility product", 1, (ksp, 1), ((cation, act.cations), (anion, act.anions))))


def _ion(found: Found, act: TellProduct, ion: str, count: int, strength: Name) -> Name:
    name = found.new(acidity.ions_of(ion, act.solution.name), ion)
    if ion != act.shared or act.beside is None:
        found.relations.append(product("ions", count, name, (strength,)))
        return name
    other = quantities.concentration(act.beside.name)
    found.relations.append(total("ions together", name, ((strength, Fraction(count)), (other, Fraction(act.common)))))
    return name
