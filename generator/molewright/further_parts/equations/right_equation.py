"""A reaction and what is demanded of it come in; the equation that is right there goes out, with all that may be written for it."""

from __future__ import annotations

from functools import lru_cache
from math import gcd
from typing import cast

from molewright.answer.equation_sides import Kind, Splits, cancelled, kind_of, kind_written, side_of, sides_of
from molewright.answer.equations import AskedEquation, Demand, Table
from molewright.bank.definitions import Bank
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import Reaction, Species
from molewright.machine.same import Same


def right_equation(bank: Bank, reaction: Reaction, demand: Demand, marks: int, states: bool = False) -> AskedEquation:
    """The equation that is asked for. For an ionic demand the printed one is the ionic equation of the reaction."""
    ions = ions_of(bank, reaction) if demand in ("full", "ionic") else ()
    printed = ionic_equation(bank, reaction) if demand == "ionic" else reaction
    return AskedEquation(
        reaction=printed if printed is not None else reaction,
        demand=demand,
        marks=marks,
        states=states,
        ions=ions,
        same=bank.equations.same if demand != "numbers" else (),
        beside=bank.equations.beside if demand == "full" and written_in_ions(reaction) else (),
    )


def written_in_ions(reaction: Reaction) -> bool:
    """Whether an equation is printed in ions, without those beside them."""
    return any(one.formula.charge for one in reaction.terms)


def ions_of(bank: Bank, reaction: Reaction) -> Table:
    """What salts, strong acids and hydroxides of the same ions give: those of the reaction, and what may be written of them."""
    return _ions_of(Same(bank), reaction)


def ionic_equation(bank: Bank, reaction: Reaction) -> Reaction | None:
    """The equation without spectator ions, salts and strong acids as ions; None where it is the same, or nothing is left."""
    return _ionic_equation(Same(bank), reaction)


@lru_cache(maxsize=512)  # of the few hundred reactions of a bank, each asked about for every question
def _ions_of(of: Same, reaction: Reaction) -> Table:
    bank = cast(Bank, of.held)
    stays = {one.formula.text for one in reaction.terms if one.state in ("s", "l", "g")}
    table = tuple(
        (solute.formula, bank.equations.ions_of(solute))
        for solute in bank.solutes.values()
        if solute.formula not in stays and _parted(bank.equations.ions_of(solute), solute.formula)
    )
    splits = Splits.of(table)
    left, right = sides_of(reaction)
    there = {*splits.split(left), *splits.split(right)}
    return tuple((whole, given) for whole, given in table if all(kind_written(part) in there for _, part in given))


def _parted(given: tuple[tuple[int, str], ...], formula: str) -> bool:
    return given != ((1, formula),)


@lru_cache(maxsize=512)
def _ionic_equation(of: Same, reaction: Reaction) -> Reaction | None:
    table = _ions_of(of, reaction)
    given = dict(table)
    written = {kind_written(part): parse_formula(part, PLACEHOLDERS) for parts in given.values() for _, part in parts}
    states: dict[Kind, str] = {}
    order: list[tuple[Kind, ...]] = []
    for side in (reaction.left, reaction.right):
        kinds: list[Kind] = []
        for one in side:
            parts = given.get(one.formula.text)
            for kind in [kind_written(part) for _, part in parts] if parts else [kind_of(one.formula)]:
                states[kind] = "aq" if parts else one.state
                written.setdefault(kind, one.formula)
                kinds.append(kind)
        order.append(tuple(dict.fromkeys(kinds)))
    splits = Splits.of(table)
    left, right = cancelled(splits.split(side_of(reaction.left)), splits.split(side_of(reaction.right)))
    if not left or not right or (left, right) == sides_of(reaction):
        return None
    made = [
        tuple(Species(side[kind], written[kind], states[kind]) for kind in kinds if kind in side)
        for side, kinds in ((left, order[0]), (right, order[1]))
    ]
    return _smallest(Reaction(made[0], made[1]))


def _smallest(reaction: Reaction) -> Reaction:
    """The same with coefficients that share no factor."""
    shared = gcd(*(one.coefficient for one in reaction.terms))
    left, right = (
        tuple(Species(one.coefficient // shared, one.formula, one.state) for one in side)
        for side in (reaction.left, reaction.right)
    )
    return Reaction(left, right)
