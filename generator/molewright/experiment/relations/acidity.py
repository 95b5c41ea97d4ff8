"""A reading of a pH meter comes in; how that pH hangs together with what is in the vessel goes into what was found so far.

What is taught is stated: a weak acid or base gives up few of its protons, and a buffer keeps the amounts that were put together. How
far that holds is judged by whoever performs the experiment.
"""

from __future__ import annotations

from fractions import Fraction

from molewright.errors import Mistake
from molewright.experiment import acidity, quantities
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import Measure, React, Titrate
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found
from molewright.experiment.relations.measured import solution_strength
from molewright.experiment.relations.variables import logarithm, product, raised, total
from molewright.experiment.solution import Solution


def read_ph(found: Found, act: ReadPH) -> None:
    """What a pH tells: [H⁺], and by what it rests on the constants and amounts behind it."""
    hydrogen = found.new(acidity.ions_in(acidity.HYDROGEN, act.vessel), acidity.HYDROGEN, vessel=act.vessel)
    ph = found.new(acidity.ph_in(act.vessel), vessel=act.vessel)
    if act.strong:
        _strong(found, act, hydrogen)
    else:
        constant = found.new(acidity.acid_constant(act.family), act.family)
        found.relations.append(logarithm("pKa", found.new(acidity.pka(act.family), act.family), constant))
        if act.half:
            found.relations.append(product("half-neutralised", 1, hydrogen, (constant,)))
        elif act.acid and act.base:
            acid, base = (_amount(found, act, one) for one in (act.acid, act.base))
            # what was formed goes first, so that a chain ends with what is left, which needs a subtraction
            found.relations.append(raised("buffer", 1, (hydrogen, 1), ((base, -1), (constant, 1), (acid, 1))))
        elif act.acid:
            strength = _strength(found, act, act.acid)
            found.relations.append(raised("weak acid", 1, (hydrogen, 2), ((constant, 1), (strength, 1))))
        else:
            _weak_base(found, act, hydrogen, constant)
    found.relations.append(logarithm("pH", ph, hydrogen))


def _weak_base(found: Found, act: ReadPH, hydrogen: Name, constant: Name) -> None:
    of_base = found.new(acidity.base_constant(act.ion), act.ion)
    product_of_water = found.new(acidity.ION_PRODUCT, acidity.WATER)
    strength = _strength(found, act, act.base)
    hydroxide = found.new(acidity.ions_in(acidity.HYDROXIDE, act.vessel), acidity.HYDROXIDE, vessel=act.vessel)
    found.relations += [
        product("base constant", 1, of_base, (product_of_water,), (constant,)),
        raised("weak base", 1, (hydroxide, 2), ((of_base, 1), (strength, 1))),
        product("ion product", 1, hydrogen, (product_of_water,), (hydroxide,)),
    ]


def _strong(found: Found, act: ReadPH, hydrogen: Name) -> None:
    strength = _strength(found, act, act.strong)
    if act.protons > 0:
        found.relations.append(product("ions", act.protons, hydrogen, (strength,)))
        return
    hydroxide = found.new(acidity.ions_in(acidity.HYDROXIDE, act.vessel), acidity.HYDROXIDE, vessel=act.vessel)
    product_of_water = found.new(acidity.ION_PRODUCT, acidity.WATER)
    found.relations += [
        product("ions", -act.protons, hydroxide, (strength,)),
        product("ion product", 1, hydrogen, (product_of_water,), (hydroxide,)),
    ]


def _amount(found: Found, act: ReadPH, species: str) -> Name:
    """The amount of a species in the vessel."""
    there = found.vessel(act.vessel)
    if species not in there.contents:
        raise Mistake(
            f"the pH in '{act.vessel}' rests on {species}, which is not there",
            expected="a species of the vessel",
            do=there.told,
        )
    return there.contents[species]()


def _strength(found: Found, act: ReadPH, species: str) -> Name:
    """The concentration of a species in the vessel: that of its bottle where nothing else came in, else amount by volume."""
    bottle = _only_bottle(found, act)
    if bottle is not None and bottle.species == species and bottle.count == 1:
        return solution_strength(found, bottle)
    amount = _amount(found, act, species)
    volume = _volume(found, act)
    strength = found.new(acidity.strength_in(species, act.vessel), species, "mixed", act.vessel)
    found.relations.append(product("concentration", Fraction(1, 1000), amount, (strength, volume)))
    return strength


def _done_before(found: Found, act: ReadPH) -> tuple[object, ...]:
    """What was done before the pH was read."""
    operations = found.procedure.operations
    return operations[: operations.index(act)]


def _only_bottle(found: Found, act: ReadPH) -> Solution | None:
    """The solution that was measured into the vessel, where nothing else was and nothing has reacted."""
    before = [one for one in _done_before(found, act) if getattr(one, "vessel", "") == act.vessel]
    measured = [one for one in before if isinstance(one, Measure)]
    if len(measured) != 1 or any(isinstance(one, React | Titrate) for one in before):
        return None
    return measured[0].solution


def _volume(found: Found, act: ReadPH) -> Name:
    """The volume of all that is in the vessel, what came out of the burette with it."""
    titres = [one.titre for one in _done_before(found, act) if isinstance(one, Titrate) and one.vessel == act.vessel]
    poured = found.vessel(act.vessel).volumes
    parts = [*poured, *titres]
    if not parts:
        raise Mistake(f"the volume of what is in '{act.vessel}' is not told", expected="what was measured into it")
    if len(parts) == 1:
        return parts[0]
    whole = found.new(found.unused(quantities.volume_held(act.vessel)), "", "total", act.vessel)
    found.relations.append(total("volumes", whole, tuple((one, Fraction(1)) for one in parts)))
    return whole
