"""A titration comes in; what its titre tells of what is in the flask goes into what was found so far."""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.reaction import Reaction
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import Titrate
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found
from molewright.experiment.relations.measured import solution_strength
from molewright.experiment.relations.reacted import form_products
from molewright.experiment.relations.variables import product, total


def titrate(found: Found, act: Titrate) -> None:
    """What a titration adds: the amount delivered, and what it reacts with."""
    volume = found.new(act.titre, act.titrant.solute, act.name, act.vessel)
    strength = solution_strength(found, act.titrant)
    delivered = found.new(act.delivered, act.titrant.species, "titre", act.vessel)
    share = Fraction(act.titrant.count, 1000)
    found.relations.append(product("concentration", share, delivered, (strength, volume)))
    if act.sought:
        _find_ratio(found, act, delivered)
    else:
        _by_equations(found, act, delivered)


def _by_equations(found: Found, act: Titrate, delivered: Name) -> None:
    """What is titrated, from its equation; several equations take up one titre together."""
    contents = found.vessel(act.vessel).contents
    spent = [(_partner(found, act, reaction), reaction) for reaction in act.reactions]
    needed = [(contents[one](), reaction.ratio(act.titrant.species, one)) for one, reaction in spent]
    if len(needed) == 1:
        held, ratio = needed[0]
        found.relations.append(product("ratio", 1 / ratio, held, (delivered,), reaction=act.reactions[0]))
    else:
        found.relations.append(total("total", delivered, tuple(needed), act.reactions[0]))
    for one, reaction in spent:
        form_products(found, act.vessel, one, reaction)
    for one, reaction in spent:
        for gone in (one, *reaction.helpers):  # of what only helped nobody knows how much is left
            contents.pop(gone, None)


def _partner(found: Found, act: Titrate, reaction: Reaction) -> str:
    """The species of the flask that the titrant reacts with in one of the equations."""
    there, species = found.vessel(act.vessel), act.titrant.species
    present = reaction.meeting(species, there.contents)
    if len(present) == 1 and reaction.has(species):
        return present[0]
    titration = f"the titration with {act.titrant.name} by {reaction}"
    if not reaction.has(species):
        why = f"{titration} does not use up {species}"
    elif present:
        why = f"{titration} finds {' and '.join(present)} in '{act.vessel}', and could be of either"
    else:
        why = f"{titration} finds nothing to react with in '{act.vessel}'"
    raise Mistake(
        why,
        expected=f"{species} and one species of the vessel on the left of the equation",
        do=there.told,
    )


def _find_ratio(found: Found, act: Titrate, delivered: Name) -> None:
    """A titration whose reacting ratio is a quantity, perhaps by way of the electrons."""
    there = found.vessel(act.vessel)
    if act.sought not in there.contents:
        raise Mistake(
            f"the titration with {act.titrant.name} seeks {act.sought}, which is not in '{act.vessel}'",
            expected="a species of the vessel",
            do=there.told,
        )
    held = there.contents.pop(act.sought)()
    name = act.found_ratio
    if act.basicity:
        found.new(name, act.sought, species=act.titrant.species)
        found.relations.append(product("found ratio", 1, delivered, (name, held)))
    elif act.electrons:
        found.new(name, act.sought)
        taken = found.new(act.electrons_taken, "e-", "electrons", act.vessel, species=act.titrant.species)
        found.relations.append(product("electrons", act.electrons, taken, (delivered,)))
        found.relations.append(product("found ratio", 1, taken, (name, held)))
        if act.element:
            before, after = (quantities.oxidation_state(act.element, late) for late in (False, True))
            for one, stage in ((before, "before"), (after, "after")):
                found.new(one, act.element, stage, species=act.sought)
            found.relations.append(total("oxidation", after, ((before, Fraction(1)), (name, Fraction(1)))))
    else:
        found.new(name, act.sought, species=act.titrant.species)
        found.relations.append(product("found ratio", 1, held, (name, delivered)))
