"""Solutions that are measured, made, and taken from come in; their volumes, strengths and amounts go into what was found so far."""

from __future__ import annotations

from fractions import Fraction

from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.procedure import Aliquot, Measure, Part
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found, Source
from molewright.experiment.relations.variables import product, total
from molewright.experiment.solution import Solution


def measure(found: Found, act: Measure) -> None:
    """What a measured solution adds."""
    if act.like:
        _pour_again(found, act)
        return
    volume = found.new(act.volume, act.solution.solute, "added", act.vessel)
    for solution in (act.solution, *act.others):
        _pour(found, act, solution, volume)
    found.vessel(act.vessel).volumes.append(volume)


def _pour_again(found: Found, act: Measure) -> None:
    """The same volume of the same bottle in another vessel: the same amounts, by the same names."""
    for solution in (act.solution, *act.others):
        added = found.procedure.added(solution, act.like)
        if added not in found.variables:
            raise Mistake(
                f"{act.solution.name} is measured into '{act.vessel}' like into '{act.like}', where none was measured",
                expected="a vessel of an operation before",
            )
        found.put(act.vessel, solution.species, _just(added))
    found.vessel(act.vessel).volumes.append(act.volume)


def _just(name: Name) -> Source:
    return lambda: name


def _pour(found: Found, act: Measure, solution: Solution, volume: Name) -> None:
    strength = solution_strength(found, solution)
    species, vessel = solution.species, act.vessel
    bottle = solution.name if (species, vessel) in found.procedure.shared else ""
    name = found.procedure.added(solution, vessel)
    if name in found.variables:
        raise Mistake(
            f"{solution.name} is measured into '{vessel}' twice",
            expected="one line for each bottle and vessel",
            do=f"Add the two volumes, or name the second bottle: 'bottle: second {solution.name}'.",
        )
    added = found.new(name, species, "added", vessel, bottle=bottle)
    found.relations.append(product("concentration", Fraction(solution.count, 1000), added, (strength, volume)))
    found.put(vessel, species, _just(added))


def solution_strength(found: Found, solution: Solution) -> Name:
    """The concentration of a solution, tied to its vessel if it was made in one."""
    name = quantities.concentration(solution.name)
    if name in found.variables:
        return name
    found.new(name, solution.solute, "", solution.made_in, species=solution.species)
    strength = found.new(quantities.mass_concentration(solution.name), solution.solute)
    weighed = _weighed_alone(found, solution)
    if weighed is not None:  # a mass over a volume: nobody goes by way of amounts
        within, flask = weighed
        found.relations.append(product("dissolved", 1000, strength, (within,), (flask,)))
    else:
        found.relations.append(product("mass concentration", 1, strength, (name, found.molar(solution.solute))))
    if solution.told_in_cm3:
        within = found.new(quantities.mass_in(solution.told_in_cm3, solution.name), solution.solute)
        share = Fraction(solution.told_in_cm3, 1000)
        found.relations.append(product("mass in volume", share, within, (strength,)))
    if solution.equivalents:
        normal = found.new(quantities.normality(solution.name), solution.solute)
        found.relations.append(product("normality", solution.equivalents, normal, (name,)))
    if solution.by_mass:
        density = found.new(quantities.density(solution.name), solution.solute)
        dissolved = found.new(quantities.percentage_by_mass(solution.name), solution.solute)
        found.relations.append(product("by mass", 10, strength, (density, dissolved)))
    if solution.breakdown is not None:
        _gas(found, solution, name)
    if solution.made_in:
        source, volume = found.vessel(solution.made_in), found.volume(solution.made_in)
        if volume is None or solution.species not in source.contents:
            raise Mistake(
                f"the solution {solution.name} is used before it is made in '{solution.made_in}'",
                expected="the species weighed or measured there, then made up to the mark",
            )
        held = source.contents[solution.species]()
        found.relations.append(product("concentration", Fraction(solution.count, 1000), held, (name, volume)))
    return name


def _weighed_alone(found: Found, solution: Solution) -> tuple[Name, Name] | None:
    """The mass and the volume of a solution whose solute was weighed into its flask as it is, and nothing else; else None."""
    if not solution.made_in:
        return None
    volume = found.volume(solution.made_in)
    put_in = [act for act in found.procedure.weighings if act.vessel == solution.made_in]
    if volume is None or len(put_in) != 1 or [one.substance for one in put_in[0].contents] != [solution.solute]:
        return None
    act = put_in[0]
    within = quantities.mass(act.sample) if act.pure else quantities.mass_within(solution.solute, act.sample)
    return (within, volume) if within in found.variables else None


def _gas(found: Found, solution: Solution, strength: Name) -> None:
    """The volumes of gas that one volume of a solution gives."""
    assert solution.breakdown is not None
    amount = found.new(solution.gas_amount, solution.gas, "from 1 dm³")
    volumes = found.new(quantities.volume_strength(solution.name), solution.solute)
    molar = found.new(quantities.MOLAR_VOLUME, solution.gas)
    ratio = solution.breakdown.ratio(solution.gas, solution.species)
    found.relations.append(product("ratio", ratio, amount, (strength,), reaction=solution.breakdown))
    found.relations.append(product("volume strength", 1, volumes, (amount, molar)))


def gas_volume(found: Found, act: GasVolume) -> None:
    """What the volume of a gas adds: its amount, by the molar volume; what is given off leaves its vessel."""
    contents = found.vessel(act.vessel).contents
    if not act.led_in and act.species not in contents:
        raise Mistake(
            f"no {act.species} in '{act.vessel}' to be collected",
            expected="a gas that a reaction gives off there",
            do=found.vessel(act.vessel).told,
        )
    volume = found.new(act.volume, act.species, act.volume.stage, act.vessel)
    molar = found.new(quantities.MOLAR_VOLUME, act.species)
    if act.led_in:
        amount = found.new(quantities.amount(act.species, act.vessel, "led in"), act.species, "led in", act.vessel)
        found.put(act.vessel, act.species, _just(amount))
    else:
        amount = contents.pop(act.species)()
    found.relations.append(product("gas volume", 1000, volume, (amount, molar)))


def part_of(found: Found, act: Part) -> None:
    """The strengths of a whole and of its two parts."""
    share, whole, rest = (solution_strength(found, one) for one in (act.part, act.whole, act.rest))
    found.relations.append(total("part", share, ((whole, Fraction(1)), (rest, Fraction(-1)))))


def make_up(found: Found, vessel: str) -> None:
    """The volume of a vessel's solution once it is made up to the mark."""
    found.vessel(vessel).volumes = [found.new(quantities.volume_made_up(vessel), "", "made up", vessel)]


def aliquot(found: Found, act: Aliquot) -> None:
    """What a portion of a vessel's solution holds."""
    source, whole = found.vessel(act.vessel), found.volume(act.vessel)
    if whole is None:
        raise Mistake(
            f"an aliquot is taken from '{act.vessel}', whose volume is not known",
            expected="a volume measured or made up before it",
        )
    taken = found.new(quantities.volume_taken(act.into), "", "aliquot", act.into)
    found.vessel(act.into).volumes = [taken]
    for species, held in source.contents.items():

        def portion(species: str = species, held: Source = held) -> Name:
            name = found.new(quantities.amount(species, act.into, "portion"), species, "portion", act.into)
            found.relations.append(product("scale", 1, held(), (name, whole), (taken,)))
            return name

        found.put(act.into, species, portion)
