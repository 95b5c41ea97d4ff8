"""A relation solved for one quantity comes in; the right side of a line of working goes out, with numbers or with blanks."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from molewright.chem.quantity import MINUS, TIMES, Quantity
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.nodes.inline import Amount, Gap, MathsItem, Over, Sign, Text

Written = Callable[[Name], Quantity]


def right_side(relation: Relation, target: Name, written: Written, gaps: bool = False) -> tuple[MathsItem, ...]:
    """The relation solved for its target; `written` gives each other quantity as it stands on the page."""
    if relation.form == "sum":
        return _summed(relation, target, written, gaps)
    factor, others = relation.alone(target)
    above = [name for name, power in others if power == 1]
    below = [name for name, power in others if power == -1]
    return _fraction(relation, factor, above, below, written, gaps)


def _fraction(
    relation: Relation, factor: Fraction, above: list[Name], below: list[Name], written: Written, gaps: bool
) -> tuple[MathsItem, ...]:
    top = _times([_number(name, written, gaps) for name in above])
    bottom = _times([_number(name, written, gaps) for name in below])
    if relation.kind == "percentage" and factor == 100:
        return (Over(tuple(top), tuple(bottom)), Sign(TIMES), Text("100"))
    if relation.kind == "scale" and len(above) == 2:
        return (top[0], Sign(TIMES), Over((top[2],), tuple(bottom)))
    if factor.numerator != 1:
        top += [Sign(TIMES), Text(str(factor.numerator))] if top else [Text(str(factor.numerator))]
    if factor.denominator != 1:
        bottom += [Sign(TIMES), Text(str(factor.denominator))] if bottom else [Text(str(factor.denominator))]
    if not top:
        top = [Text("1")]
    return (Over(tuple(top), tuple(bottom)),) if bottom else tuple(top)


def in_order(relation: Relation, target: Name) -> list[tuple[Name, Fraction]]:
    """The terms of a sum with their shares: what is added first, what is taken away after it."""
    return sorted(relation.alone(target)[1], key=lambda term: term[1] < 0)


def _summed(relation: Relation, target: Name, written: Written, gaps: bool) -> tuple[MathsItem, ...]:
    items: list[MathsItem] = []
    for name, share in in_order(relation, target):
        if items or share < 0:
            items.append(Sign(MINUS if share < 0 else "+"))
        if abs(share) != 1:
            items += [Text(str(abs(share))), Sign(TIMES)]
        items.append(_number(name, written, gaps))
    return tuple(items)


def _number(name: Name, written: Written, gaps: bool) -> MathsItem:
    if gaps:
        return Gap(20.0)
    quantity = written(name)
    if quantity.scientific:
        return Amount(Quantity(quantity.number, Unit.NONE, True))
    return Text(quantity.number_text)


def _times(items: list[MathsItem]) -> list[MathsItem]:
    found: list[MathsItem] = []
    for item in items:
        if found:
            found.append(Sign(TIMES))
        found.append(item)
    return found
