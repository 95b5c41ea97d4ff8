"""A right equation and the mistakes in its ratio come in; common wrong equations go out, with what the calculation then comes to.

The ratios are those of the slips that the calculation has already: what a wrong equation does is what a wrong ratio does, but that
the marks of the calculation are kept (error carried forward).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from molewright.answer.equations import AskedEquation, judge_equation, ratio_in
from molewright.chem.half_equations import Halves
from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.reaction import Reaction, Species
from molewright.derivation.worked import base_factor
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.further_parts.equations.which import ratios_from
from molewright.further_parts.pieces import Calculation, WrongEquation
from molewright.slips.written_down import would_be_written

_MOST = 3  # of one part, likeliest first


def wrong_equations(
    calculation: Calculation, reaction: Reaction, asked: AskedEquation, halves: Halves | None
) -> tuple[WrongEquation, ...]:
    """The common wrong equations for a part, each once."""
    found: dict[Reaction, WrongEquation] = {}
    for wrong, leads_to in _all(calculation, reaction, asked, halves):
        wrong = wrong if asked.demand == "ratio" else _dressed(wrong, asked)
        judged = judge_equation(asked, wrong)
        if not judged.right and wrong not in found:
            found[wrong] = WrongEquation(reaction=wrong, fault=judged.told, marks=judged.marks, leads_to=leads_to)
    return tuple(found.values())[:_MOST]


def _all(
    calculation: Calculation, reaction: Reaction, asked: AskedEquation, halves: Halves | None
) -> Iterator[tuple[Reaction, Quantity | None]]:
    if asked.demand == "ratio":
        first, second = asked.reaction.left[0], asked.reaction.right[0]
        for ratio, leads_to in _by_slips(calculation, reaction, first.formula.text, second.formula.text):
            yield asked.as_ratio(ratio), leads_to
        return
    if asked.demand in ("full", "numbers"):
        for relation in ratios_from(calculation.system, reaction)[:1]:
            one, other = (calculation.system.variables[name].subject for name in relation.names)
            for ratio, leads_to in _by_slips(calculation, reaction, one, other):
                wrong = _with_ratio(reaction, one, other, ratio, halves)
                if ratio_in(wrong, one, other) == ratio:
                    yield wrong, leads_to
    if halves is not None and asked.demand == "full":
        yield _added(halves, electrons=True), None
    if asked.demand == "half":
        yield _without_electrons(asked.reaction), None
    if asked.demand in ("full", "ionic") and any(one.coefficient > 1 for one in asked.reaction.terms):
        yield _all_ones(asked.reaction), None


def _by_slips(
    calculation: Calculation, reaction: Reaction, one: str, other: str
) -> Iterator[tuple[Fraction, Quantity | None]]:
    """The ratio that each slip takes instead, and the answer that it comes to, where anybody would write that down.

    None where the ratio is used more than once: a slip is made in one place, and a wrong equation is used in all.
    """
    table = calculation.mistakes.table
    used = list(uses_of(calculation, reaction))
    if not used:
        return
    its_relation, its_first = used[0].relation, used[0].of
    for applied in table.applied:
        at = applied.finds[0].index if len(applied.finds) == 1 else -1
        if applied.slip.kind != "ratio" or applied.slip.often == "low" or at < 0:
            continue
        relation = calculation.system.relations[table.plan.steps[at].relation]
        if relation is not its_relation:
            continue
        try:
            course = table.course(applied, calculation.mistakes.right)
        except (ZeroDivisionError, OverflowError):  # it leads to no answer at all
            continue
        first, second = relation.names
        ratio = course[first] / course[second]
        if (
            ratio == calculation.mistakes.right[first] / calculation.mistakes.right[second]
        ):  # of another step: nothing is wrong here
            continue
        if ratio > 0 and ratio.denominator <= 20 and ratio.numerator <= 20:
            leads_to = _written(calculation, course[table.plan.asked]) if len(used) == 1 else None
            yield ratio if its_first == one else 1 / ratio, leads_to


def _written(calculation: Calculation, exact: Fraction) -> Quantity | None:
    """An answer to the figures that are asked for; None where it is below nothing or seen to be wrong at a glance."""
    answer, asked = calculation.worked.answer, calculation.worked.steps[-1].variable
    wrong = Quantity(to_figures(exact * base_factor(answer), answer.figures), answer.unit, answer.scientific)
    plain = calculation.worked.accepted.type == "number"
    possible = plain and exact > 0 and would_be_written(wrong, answer, asked)
    return wrong if possible else None


def _with_ratio(reaction: Reaction, one: str, other: str, ratio: Fraction, halves: Halves | None) -> Reaction:
    """The equation as somebody writes it who takes this ratio: nothing balanced, half-equations simply added, or numbers exchanged."""
    if ratio == 1:
        return _added(halves, electrons=False) if halves is not None else _all_ones(reaction)
    new = {one: ratio.numerator, other: ratio.denominator}
    left, right = (
        tuple(replace(term, coefficient=new.get(term.formula.text, term.coefficient)) for term in side)
        for side in (reaction.left, reaction.right)
    )
    return Reaction(left, right)


def _all_ones(reaction: Reaction) -> Reaction:
    left, right = (tuple(replace(one, coefficient=1) for one in side) for side in (reaction.left, reaction.right))
    return Reaction(left, right)


def _added(halves: Halves, electrons: bool) -> Reaction:
    """Both half-equations as they are, side by side; water and hydrogen ions of both sides cancelled, electrons kept or left out."""
    net: dict[str, int] = {}
    kept: dict[str, Species] = {}
    for sign, side in (
        (1, (*halves.reduction.left, *halves.oxidation.left)),
        (-1, (*halves.reduction.right, *halves.oxidation.right)),
    ):
        for one in side:
            if one.formula.is_electron:
                continue
            text = one.formula.text
            kept.setdefault(text, one)
            net[text] = net.get(text, 0) + sign * one.coefficient
    left = [replace(kept[text], coefficient=count) for text, count in net.items() if count > 0]
    right = [replace(kept[text], coefficient=-count) for text, count in net.items() if count < 0]
    if electrons:
        taken = [one for one in halves.reduction.left if one.formula.is_electron]
        given = [one for one in halves.oxidation.right if one.formula.is_electron]
        left, right = [*left, *taken], [*right, *given]
    return Reaction(tuple(left), tuple(right))


def _without_electrons(reaction: Reaction) -> Reaction:
    left, right = (
        tuple(one for one in side if not one.formula.is_electron) for side in (reaction.left, reaction.right)
    )
    return Reaction(left, right)


def _dressed(reaction: Reaction, asked: AskedEquation) -> Reaction:
    """The equation with state symbols where they are asked for, else without."""
    if asked.states:
        return reaction
    left, right = (tuple(replace(one, state="") for one in side) for side in (reaction.left, reaction.right))
    return Reaction(left, right)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """A relation that takes a ratio from an equation: two of its quantities, and the species that they are of."""

    relation: Relation
    first: Name
    second: Name
    of: str
    per: str


def uses_of(calculation: Calculation, reaction: Reaction) -> Iterator[Use]:
    """What takes its ratio from an equation in the worked chain: a ratio of two amounts, and what each part takes of a whole."""
    species = {name: one.subject for name, one in calculation.system.variables.items()}
    reactants = {one.formula.text: one.coefficient for one in reaction.left}
    for step in calculation.worked.steps:
        relation = step.relation
        if relation is None:
            continue
        if relation in ratios_from(calculation.system, reaction):
            first, second = relation.names
            yield Use(relation=relation, first=first, second=second, of=species[first], per=species[second])
        if relation.kind == "total" and species[relation.names[0]] in reactants:
            whole = relation.names[0]
            shares = dict(relation.quantities)
            for part in relation.names[1:]:
                taken = -shares[part] / shares[whole]
                taking = reactants.get(species[part])
                if taking and species[part] != species[whole] and taken == Fraction(reactants[species[whole]], taking):
                    yield Use(relation=relation, first=whole, second=part, of=species[whole], per=species[part])
