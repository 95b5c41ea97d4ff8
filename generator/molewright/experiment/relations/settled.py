"""A reaction that comes to equilibrium comes in; the amounts at equilibrium and its constant go into what was found so far."""

from __future__ import annotations

from fractions import Fraction

from molewright.errors import Mistake
from molewright.experiment.equilibrium import CONSTANT, Settle
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found, Source
from molewright.experiment.relations.variables import product, total


def settle(found: Found, act: Settle) -> None:
    """The amounts of all four species once equilibrium is reached, from what was there and what has reacted by then."""
    contents = found.vessel(act.vessel).contents
    start = {species: contents[species]() for species in (*act.left, *act.right) if species in contents}
    if any(species not in start for species in act.left):
        raise Mistake(
            f"in '{act.vessel}' the equilibrium {act.reaction} has nothing to begin with",
            expected="both species of its left side, measured or weighed",
            do=found.vessel(act.vessel).told,
        )
    reached = {
        species: found.new(act.reached(species), species, "at equilibrium", act.vessel)
        for species in (*act.left, *act.right)
    }
    turned = reached[act.followed]  # where none of it was there at the start, all that is there has formed
    if act.followed in start:
        turned = found.new(act.turned, act.followed, act.turned.stage, act.vessel)
    for species, name in reached.items():
        if name != turned:
            _reach(found, act, species, (start.get(species), name, turned))
    if act.followed in act.left:
        share = found.new(act.share, act.followed)
        found.relations.append(product("conversion", 100, share, (turned,), (start[act.followed],)))
    constant = found.new(CONSTANT)
    over, under = (tuple(reached[species] for species in side) for side in (act.right, act.left))
    found.relations.append(product("constant", 1, constant, over, under, reaction=act.reaction))
    for species, name in reached.items():
        contents[species] = _just(name)
        found.vessel(act.vessel).parts.pop(species, None)


def _reach(found: Found, act: Settle, species: str, amounts: tuple[Name | None, Name, Name]) -> None:
    """The amount at the start, at equilibrium and of what has reacted by then: less on the left, more on the right."""
    start, reached, turned = amounts
    one = Fraction(1)
    if start is None:
        found.relations.append(product("ratio", 1, reached, (turned,), reaction=act.reaction))
    elif species == act.followed:
        sign = one if species in act.left else -one
        found.relations.append(total("settled", turned, ((start, sign), (reached, -sign))))
    else:
        found.relations.append(
            total("settled", reached, ((start, one), (turned, -one if species in act.left else one)))
        )


def _just(name: Name) -> Source:
    return lambda: name
