"""A relation solved for one quantity comes in; the right side of a line of working goes out, with numbers or with blanks."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from molewright.chem.quantity import MINUS, TIMES, Quantity
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.nodes.inline import Amount, Gap, MathsItem, Over, Sign, Text

_RAISED = str.maketrans("0123456789-.", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻·")
_POWERS = {2: "²", 3: "³"}
_ROOTS = {2: "√", 3: "∛"}
_MOST_COUNTED = 12  # ions or molecules that one number in a line of working stands for
Written = Callable[[Name], Quantity | tuple[MathsItem, ...]]
"""A quantity as it stands on the page: a number, or so many x."""


def right_side(relation: Relation, target: Name, written: Written, gaps: bool = False) -> tuple[MathsItem, ...]:
    """The relation solved for its target; `written` gives each other quantity as it stands on the page."""
    if relation.form == "sum":
        return _summed(relation, target, written, gaps)
    if relation.form == "logarithm":
        return _by_logarithm(relation, target, written, gaps)
    factor, others = relation.alone(target)
    above = [_raised(name, power, written, gaps) for name, power in others if power > 0]
    below = [_raised(name, -power, written, gaps) for name, power in others if power < 0]
    found = _fraction(relation, factor, above, below)
    degree = abs(relation.power(target))
    return found if degree == 1 else (Text(_ROOTS[degree]), Sign("("), *found, Sign(")"))


def _by_logarithm(relation: Relation, target: Name, written: Written, gaps: bool) -> tuple[MathsItem, ...]:
    first, second = relation.names
    if target == first:
        return (Text(f"{MINUS}log"), Sign("("), *_number(second, written, gaps), Sign(")"))
    raised = written(first)
    if gaps or not isinstance(raised, Quantity):
        return (Text("10 to the power of "), Text(MINUS), *_number(first, written, gaps))
    return (Text("10" + f"-{raised.number}".translate(_RAISED)),)


def _raised(name: Name, power: Fraction, written: Written, gaps: bool) -> tuple[MathsItem, ...]:
    number = _number(name, written, gaps)
    if power == 1:
        return number
    raised = _POWERS[int(power)]
    match number:
        case (Text(text=digits),):
            return (Text(digits + raised),)
        case _:
            return (Sign("("), *number, Sign(")"), Text(raised))


def _fraction(
    relation: Relation, factor: Fraction, above: list[tuple[MathsItem, ...]], below: list[tuple[MathsItem, ...]]
) -> tuple[MathsItem, ...]:
    top, bottom = _times(above), _times(below)
    if relation.kind == "percentage" and factor == 100:
        return (Over(tuple(top), tuple(bottom)), Sign(TIMES), Text("100"))
    if relation.kind == "scale" and len(above) == 2:
        whole, flask = above
        return (*whole, Sign(TIMES), Over(flask, tuple(bottom)))
    many, by = _written_factor(relation, factor)
    if many != 1:
        top += [Sign(TIMES), Text(str(many))] if top else [Text(str(many))]
    if by != 1:
        bottom += [Sign(TIMES), Text(str(by))] if bottom else [Text(str(by))]
    if not top:
        top = [Text("1")]
    return (Over(tuple(top), tuple(bottom)),) if bottom else tuple(top)


def _written_factor(relation: Relation, factor: Fraction) -> tuple[int, int]:
    """The factor as a number above the line and one below it: the thousand of cm³ and dm³ stays whole beside a count of ions.

    Where a whole calculation stands in one line, a quarter is a quarter and not 250 of a thousand.
    """
    if relation.kind == "concentration":
        count = factor * 1000 if factor < 1 else 1000 / factor
        if count.denominator == 1 and count <= _MOST_COUNTED:
            return (count.numerator, 1000) if factor < 1 else (1000, count.numerator)
    return factor.numerator, factor.denominator


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
        items += _number(name, written, gaps)
    return tuple(items)


def _number(name: Name, written: Written, gaps: bool) -> tuple[MathsItem, ...]:
    if gaps:
        return (Gap(20.0),)
    quantity = written(name)
    if not isinstance(quantity, Quantity):
        return quantity
    quantity = quantity.to(quantity.unit.base)  # a line is reckoned in base units, however a number was written
    if quantity.scientific:
        return (Amount(Quantity(quantity.number, Unit.NONE, True)),)
    return (Text(quantity.number_text),)


def _times(numbers: list[tuple[MathsItem, ...]]) -> list[MathsItem]:
    found: list[MathsItem] = []
    for items in numbers:
        if found:
            found.append(Sign(TIMES))
        found += items
    return found
