"""A checked calculation and a kind of equation come in; the parts that ask for it go out, to stand before the calculation.

What a pupil needs to work it out is told: the names of what reacts and is formed, and the formulae that nobody knows by heart. The
equation itself stands nowhere else on the question paper.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal, assert_never

from molewright.answer.equations import AskedEquation, Demand
from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.half_equations import Halves
from molewright.chem.reaction import Reaction, Species
from molewright.further_parts.equations.right_equation import ionic_equation, right_equation
from molewright.further_parts.equations.which import Asked, ratios_from
from molewright.further_parts.equations.wrong_equations import uses_of, wrong_equations
from molewright.further_parts.pieces import (
    Calculation,
    Chemical,
    EquationPart,
    FurtherPart,
    FurtherPoint,
    Piece,
    Reacting,
    Said,
    Shown,
    Space,
    said,
)

_LINE_MM = 8.0  # ruled lines of an answer
_SHORT, _LONG = 1, 2  # lines; a redox equation needs two
_LONG_FROM = 5  # species


def ask_equation(calculation: Calculation, asked: Asked) -> tuple[FurtherPart, ...]:
    """The parts of one kind for the reactions of one step, each with its own marks."""
    parts: list[FurtherPart] = []
    for reaction in asked.reactions:
        hides = asked.hides
        match asked.kind:
            case "complete equation":
                parts.append(_complete(calculation, reaction, hides))
            case "equation":
                parts.append(_write(calculation, reaction, hides, states=False))
            case "equation with states":
                parts.append(_write(calculation, reaction, hides, states=True))
            case "ionic equation":
                parts.append(_ionic(calculation, reaction, hides))
            case "half-equations":
                parts += _halves(calculation, reaction, hides)
            case "combined half-equations":
                parts.append(_combined(calculation, reaction, hides, given=True))
            case "reacting ratio":
                parts.append(_ratio(calculation, reaction, hides))
            case _:
                assert_never(asked.kind)
    return tuple(replace(part, called=asked.kind) for part in parts)


# ------------------------------------------------------------------ the parts


def _complete(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...]) -> FurtherPart:
    right = right_equation(calculation.bank, reaction, "numbers", 1)
    return _part(
        calculation,
        reaction,
        hides,
        right,
        demand=said("complete equation"),
        points=(FurtherPoint((Reacting(reaction),), reaction, (said("guide equation numbers"),)),),
        shown=(Reacting(reaction, blanks=True),),
        lines=0,
    )


def _write(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...], states: bool) -> FurtherPart:
    right = right_equation(calculation.bank, reaction, "full", 3 if states else 2, states)
    told = _reacting(calculation.bank, reaction)
    key = "write equation states" if states else "write equation"
    return _part(
        calculation,
        reaction,
        hides,
        right,
        demand=said(key, told=told),
        points=(*_species_and_balance(reaction, states), *((_states_point(),) if states else ())),
        lines=_lines(reaction),
    )


def _ionic(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...]) -> FurtherPart:
    bank = calculation.bank
    net = ionic_equation(bank, reaction)
    demand: Demand = "ionic" if net is not None else "full"
    right = right_equation(bank, reaction, demand, 2)
    given = _unusual(bank, net, reaction) if net is not None else ()
    sentence = (
        said("write ionic equation from ions", told=_reacting(bank, reaction))
        if net is None
        else said("write ionic equation given", told=_reacting(bank, reaction), formulae=given)
        if given
        else said("write ionic equation", told=_reacting(bank, reaction))
    )
    return _part(
        calculation,
        reaction,
        hides,
        right,
        demand=sentence,
        points=_species_and_balance(right.reaction, states=False, ionic=net is not None),
        lines=_lines(right.reaction),
    )


def _halves(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...]) -> list[FurtherPart]:
    halves = _halves_of(calculation.bank, reaction)
    found = []
    for half, key in ((halves.reduction, "write reduction"), (halves.oxidation, "write oxidation")):
        right = right_equation(calculation.bank, half, "half", 1)
        found.append(
            _part(
                calculation,
                reaction,
                hides,
                right,
                demand=said(f"{key}{_conditions(calculation.bank, half)}", told=_becomes(calculation.bank, half)),
                points=(FurtherPoint((Reacting(half),), half, (said("guide half-equation"),)),),
                lines=_SHORT,
            )
        )
    return [*found, _combined(calculation, reaction, hides, given=False)]


def _combined(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...], given: bool) -> FurtherPart:
    halves = _halves_of(calculation.bank, reaction)
    right = right_equation(calculation.bank, reaction, "full", 2)
    shown = (Reacting(halves.reduction, states=False), Reacting(halves.oxidation, states=False)) if given else ()
    return _part(
        calculation,
        reaction,
        hides,
        right,
        demand=said("combine given half-equations" if given else "combine half-equations"),
        points=_species_and_balance(reaction, states=False, combined="given" if given else "own"),
        shown=shown,
        lines=_lines(reaction),
    )


def _ratio(calculation: Calculation, reaction: Reaction, hides: tuple[Reaction, ...]) -> FurtherPart:
    relation = ratios_from(calculation.system, reaction)[0]
    by_text = {one.formula.text: one for one in reaction.left}
    first, second = sorted(
        (by_text[calculation.system.variables[name].subject] for name in relation.names), key=reaction.left.index
    )
    held = Reaction((replace(first, state=""),), (replace(second, state=""),))
    right = AskedEquation(reaction=held, demand="ratio", marks=1)
    slots = {"first": Chemical(first.formula.text), "second": Chemical(second.formula.text)}
    return _part(
        calculation,
        reaction,
        hides,
        right,
        demand=said("state ratio", told=_reacting(calculation.bank, reaction), **slots),
        points=(
            FurtherPoint(
                (said("the reacting ratio asked", ratio=right.told, **slots), Reacting(reaction)),
                right.told,
                (said("guide ratio asked", **slots),),
            ),
        ),
        lines=_SHORT,
        label=said("label ratio", **slots),
    )


def _part(
    calculation: Calculation,
    reaction: Reaction,
    hides: tuple[Reaction, ...],
    right: AskedEquation,
    *,
    demand: Said,
    points: tuple[FurtherPoint, ...],
    lines: int,
    shown: tuple[Shown, ...] = (),
    label: Piece = "",
) -> FurtherPart:
    halves = calculation.bank.halves_of(reaction)
    uses = tuple(uses_of(calculation, reaction)) if right.demand in ("full", "numbers", "ratio") else ()
    space = (Space(height_mm=_LINE_MM * lines, ruled=True),) if lines else ()
    if label:
        space = (Space(height_mm=0.0, rule_mm=45.0, label=label),)
    return FurtherPart(
        kind="equation",
        demand=demand,
        points=points,
        space=space,
        shown=shown,
        first=True,
        equation=EquationPart(
            asked=right,
            hides=hides,
            uses=tuple((use.first, use.second, use.of, use.per) for use in uses),
            wrong=wrong_equations(calculation, reaction, right, halves),
        ),
    )


def _lines(reaction: Reaction) -> int:
    return _LONG if len(reaction.terms) > _LONG_FROM else _SHORT


# ------------------------------------------------------------------ marks


def _species_and_balance(
    reaction: Reaction, states: bool, ionic: bool = False, combined: Literal["", "given", "own"] = ""
) -> tuple[FurtherPoint, ...]:
    """The mark for the species, with the equation, and the one for its balance; `combined` from given or from own half-equations."""
    allow = "guide equation ionic" if ionic else "guide equation combined" if combined else "guide equation allow"
    own = (said("guide equation own halves"),) if combined == "own" else ()
    return (
        FurtherPoint((Reacting(reaction, states=states),), reaction, (said("equation species"), said(allow), *own)),
        FurtherPoint(
            (said("equation cancelled" if combined else "equation balance"),),
            reaction,
            (said("guide equation multiple"),),
            worked=False,
        ),
    )


def _states_point() -> FurtherPoint:
    return FurtherPoint((said("equation states"),), "state symbols", (said("guide equation states"),), worked=False)


# ------------------------------------------------------------------ what is told


def _reacting(bank: Bank, reaction: Reaction) -> Said:
    return said("reacts", left=_listed(bank, reaction.left), right=_listed(bank, reaction.right))


def _becomes(bank: Bank, half: Reaction) -> Said:
    """What is oxidised or reduced and what it becomes, without what balances it."""
    helpers = bank.equations.balancing

    def main(side: tuple[Species, ...]) -> tuple[Species, ...]:
        kept = tuple(one for one in side if one.formula.text not in helpers and not one.formula.is_electron)
        return kept or tuple(one for one in side if not one.formula.is_electron)

    return said("becomes", left=_listed(bank, main(half.left)), right=_listed(bank, main(half.right)))


def _conditions(bank: Bank, half: Reaction) -> str:
    """Of a key of wording: whether it is balanced with hydrogen ions, which nobody would guess."""
    helped = [one for one in half.terms if one.formula.text in bank.equations.balancing]
    return " in acid" if any(one.formula.charge > 0 for one in helped) else ""


def _unusual(bank: Bank, net: Reaction, whole: Reaction) -> tuple[Piece, ...]:
    """The formulae of an ionic equation that nobody knows by heart and that the sentence does not tell."""
    told = {one.formula.text for one in whole.terms}
    every = [one for one in net.terms if one.formula.text not in bank.equations.known | told]
    return _joined([Chemical(one.formula.text) for one in every])


def _listed(bank: Bank, species: Iterable[Species]) -> tuple[Piece, ...]:
    return _joined([_named(bank, one) for one in species])


def _joined(pieces: list[Piece]) -> tuple[Piece, ...]:
    found: list[Piece] = []
    for at, piece in enumerate(pieces):
        if at:
            found.append(" and " if at == len(pieces) - 1 else ", ")
        found.append(piece)
    return tuple(found)


def _named(bank: Bank, species: Species) -> Piece:
    """A species by its name, with its formula where that is not known by heart; by its formula alone where it has no name."""
    formula = species.formula.text
    substance = bank.substances.get(formula)
    name = bank.equations.names.get(formula, "")
    if substance is not None:
        poured = substance.solution if species.state == "aq" and "solution" not in substance.solution else ""
        name = poured or substance.name
    if not name:
        return Chemical(formula)
    plain = str(species.formula)
    if formula in bank.equations.known or plain in name or formula in name:
        return with_scripts(name)
    return (name, " (", Chemical(formula), ")")


def _halves_of(bank: Bank, reaction: Reaction) -> Halves:
    halves = bank.halves_of(reaction)
    assert halves is not None  # asked of such reactions only
    return halves
