"""A weighing and the numbers that are known come in; how much of a substance is in the sample goes out, in exact fractions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from molewright.chem.formula import parse_formula
from molewright.experiment import quantities
from molewright.experiment.procedure import Content, Weigh
from molewright.experiment.quantities import Name

Values = Mapping[Name, Fraction]
MolarMass = Callable[[str], Fraction]


def is_told(values: Values, act: Weigh, substance: str) -> bool:
    """Whether how much of a substance a sample holds is known by its own number, and not as what is left of the sample."""
    known = (quantities.percentage, quantities.mass_within, quantities.substance_amount)
    if substance == act.contents[0].substance and act.counted_as:
        return True
    if substance == act.contents[0].substance and _element_told(values, act) is not None:
        return True
    return any(name(substance, act.sample) in values for name in known)


def _element_told(values: Values, act: Weigh) -> tuple[str, Fraction] | None:
    """An element of the first substance whose mass is what is known of a sample, and that mass."""
    return next(((one, mass) for one in act.elements if (mass := _of_element(values, act, one)) is not None), None)


def _of_element(values: Values, act: Weigh, element: str) -> Fraction | None:
    """The mass of an element, where that is what is known of a sample, perhaps as what it is counted as."""
    counted = _by_factor(values, act) if element == act.elements[0] else None
    return _told(values, act, element) if counted is None else counted


def _by_factor(values: Values, act: Weigh) -> Fraction | None:
    """The mass of the first element, or else of the first substance, where that of what it is counted as is known."""
    counted = _told(values, act, act.counted_as) if act.counted_as else None
    return None if counted is None else counted / values[quantities.factor(act.counted_as)]


def _told(values: Values, act: Weigh, what: str) -> Fraction | None:
    """The mass of something in a sample, by its own share, mass, or mass in each piece; None where none of these is known."""
    share = values.get(quantities.percentage(what, act.sample))
    if share is not None:
        return values[quantities.mass(act.sample)] * share / 100
    within = values.get(quantities.mass_within(what, act.sample))
    if within is not None:
        return within
    each = values.get(quantities.mass_each(what, act.pieces)) if act.pieces else None
    return None if each is None else each * values[quantities.pieces(act.pieces)]


def mass_within(values: Values, molar_mass: MolarMass, act: Weigh, content: Content) -> Fraction:
    """The mass of a substance in a sample, in g, by whichever number tells it. Raises KeyError for a number that is not there."""
    counted = _by_factor(values, act) if not act.elements and content is act.contents[0] else None
    if counted is not None:
        return counted
    told = _element_told(values, act) if content is act.contents[0] else None
    if told is not None:
        element, mass_g = told
        atoms = mass_g / molar_mass(element)
        return atoms / parse_formula(content.substance).count(element) * molar_mass(content.substance)
    share = values.get(quantities.percentage(content.substance, act.sample))
    if share is not None and act.weighed:
        return values[quantities.mass(act.sample)] * share / 100
    within = values.get(quantities.mass_within(content.substance, act.sample))
    if within is not None:
        return within
    others = values.get(quantities.impurity(act.sample)) if act.rest else None
    if others is not None:
        return values[quantities.mass(act.sample)] * (100 - others) / 100
    rest = values.get(quantities.impurity_mass(act.sample)) if act.rest else None
    if rest is not None:
        return values[quantities.mass(act.sample)] - rest
    per_gram = values.get(quantities.mass_per_gram(content.substance, act.sample))
    if per_gram is not None:
        return per_gram * values[quantities.mass(act.sample)] / 1000
    held = values.get(quantities.substance_amount(content.substance, act.sample))
    if held is not None:
        return held * molar_mass(content.substance)
    if act.pieces:
        each = values.get(quantities.mass_each(content.substance, act.pieces))
        if each is not None:
            return each * values[quantities.pieces(act.pieces)]
    return values[quantities.mass(act.sample)]


def by_subscript(values: Values, molar_mass: MolarMass, act: Weigh) -> dict[Name, Fraction]:
    """The masses of both elements of a salt whose formula has a known number for x; none where x is not known."""
    number = values.get(quantities.subscript(act.subscript))
    if number is None:
        return {}
    first, second = (one.substance for one in act.contents)
    parts = {first: molar_mass(first), second: number * molar_mass(second)}
    whole = values[quantities.mass(act.sample)]
    return {quantities.mass_within(one, act.sample): whole * part / sum(parts.values()) for one, part in parts.items()}
