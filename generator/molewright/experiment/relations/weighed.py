"""A weighing comes in; the masses, shares and amounts of what is in the sample, and their relations, go into what was found so far."""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.formula import parse_formula
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import Content, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.relations.found_so_far import Found, Mixture
from molewright.experiment.relations.variables import product, total


def weigh(found: Found, act: Weigh) -> None:
    """What a weighed, or only counted, sample adds."""
    whole = found.new(quantities.mass(act.sample), act.sample, vessel=act.vessel) if act.weighed else None
    if whole is not None and act.by_difference:
        _by_difference(found, act, whole)
    if whole is not None and len(act.contents) == 2 and act.pure:
        first, second = (content.substance for content in act.contents)
        held = (quantities.substance_amount(first, act.sample), quantities.substance_amount(second, act.sample))
        found.mixtures.append(Mixture(whole, act.sample, held, (first, second)))
    for content in act.contents:
        _content(found, act, content, whole)
    for element in act.elements:
        _element(found, act, element, whole)
    if act.subscript:
        metal, other = (quantities.substance_amount(one.substance, act.sample) for one in act.contents)
        number = found.new(quantities.subscript(act.subscript), act.subscript, word=True)
        found.relations.append(product("subscript", 1, other, (number, metal)))
    if act.counted_as:
        _counted(found, act, whole)
    if whole is not None and len(act.contents) > 1 and act.pure:  # a mixture of these and nothing else
        parts = tuple((quantities.mass_within(c.substance, act.sample), Fraction(1)) for c in act.contents)
        found.relations.append(total("total", whole, parts))


def _counted(found: Found, act: Weigh, whole: Name | None) -> None:
    """What is counted as so many times the mass of the first element, or else of the first substance."""
    what = act.counted_as
    part = act.elements[0] if act.elements else act.contents[0].substance
    of = quantities.mass_within(part, act.sample)
    if of not in found.variables:  # the sample is all of it
        of = quantities.mass(act.sample)
    factor = found.new(quantities.factor(what), what, word=True)
    within = found.new(quantities.mass_within(what, act.sample), what, word=True)
    found.relations.append(product("mass factor", 1, within, (of, factor)))
    if whole is not None:
        _share(found, what, act, within, whole, word=True)
    if act.pieces:
        _each(found, what, act, within, word=True)


def _by_difference(found: Found, act: Weigh, whole: Name) -> None:
    full, emptied = (
        found.new(quantities.bottle_mass(act.sample, gone), act.sample, "emptied" if gone else "full")
        for gone in (False, True)
    )
    found.relations.append(total("by difference", whole, ((full, Fraction(1)), (emptied, Fraction(-1)))))


def _content(found: Found, act: Weigh, content: Content, whole: Name | None) -> None:
    substance = content.substance
    alone = whole if act.pure and len(act.contents) == 1 else None  # then the sample's mass is the substance's
    within = alone or found.new(quantities.mass_within(substance, act.sample), substance)
    held = found.new(quantities.substance_amount(substance, act.sample), substance, "sample", act.vessel)
    found.relations.append(product("molar mass", 1, within, (held, found.molar(substance))))
    first = content is act.contents[0]
    if whole is not None and alone is None:
        _share(found, substance, act, within, whole)
        if act.rest and first:
            _rest(found, act, substance, whole, within)
    if whole is not None and act.per_gram and first:
        per_gram = found.new(quantities.mass_per_gram(substance, act.sample), substance)
        found.relations.append(product("per gram", 1000, per_gram, (within,), (whole,)))
    if act.pieces:
        _each(found, substance, act, within)

    def given() -> Name:
        if content.species == substance or (len(act.contents) > 1 and content.count == 1):
            return held
        ion = found.new(_ion(found, act, content), content.species, "flask", act.vessel)
        found.relations.append(product("contains", content.count, ion, (held,)))
        return ion

    found.put(act.vessel, content.species, given)


def _ion(found: Found, act: Weigh, content: Content) -> Name:
    """The name of the amount of what a substance gives; told by where it comes from where something else in the vessel gives it."""
    plain = quantities.amount(content.species, act.vessel, "flask")
    ways = (plain, quantities.brought_by(plain, content.substance), quantities.brought_by(plain, act.sample))
    return next((name for name in ways if name not in found.variables), found.unused(ways[-1]))


def _share(found: Found, substance: str, act: Weigh, within: Name, whole: Name, word: bool = False) -> None:
    share = found.new(quantities.percentage(substance, act.sample), substance, word=word)
    found.relations.append(product("percentage", 100, share, (within,), (whole,)))


def _each(found: Found, substance: str, act: Weigh, within: Name, word: bool = False) -> None:
    each = found.new(quantities.mass_each(substance, act.pieces), substance, word=word)
    count = found.new(quantities.pieces(act.pieces), act.pieces)
    found.relations.append(product("each", 1, each, (within,), (count,)))


def _rest(found: Found, act: Weigh, substance: str, whole: Name, within: Name) -> None:
    """What is not the substance sought: its mass, and its share of the sample."""
    rest = found.new(quantities.impurity_mass(act.sample), substance)
    found.relations.append(total("rest", rest, ((whole, Fraction(1)), (within, Fraction(-1)))))
    share = found.new(quantities.impurity(act.sample), substance)
    found.relations.append(product("impurity", 100, share, (rest,), (whole,)))


def _element(found: Found, act: Weigh, element: str, whole: Name | None) -> None:
    """The mass of an element in the first substance of a sample."""
    substance = act.contents[0].substance
    held = quantities.substance_amount(substance, act.sample)
    within = found.new(quantities.mass_within(element, act.sample), element)
    atoms = found.new(quantities.substance_amount(element, act.sample), element, "sample", act.vessel)
    count = parse_formula(substance).count(element)
    if not count:
        raise Mistake(f"there is no {element} in {substance}", expected="an element of its formula")
    others = [one.substance for one in act.contents[1:] if parse_formula(one.substance).count(element)]
    if others:
        raise Mistake(
            f"{element} is counted in {substance}, and {' and '.join(others)} in {act.sample} holds it too",
            expected=f"one substance with {element} in the sample",
            do=f"Ask for {substance}, and for {' and '.join(others)}.",
        )
    found.relations.append(product("contains", count, atoms, (held,)))
    found.relations.append(product("molar mass", 1, within, (atoms, found.molar(element))))
    if whole is not None:
        _share(found, element, act, within, whole)
    if act.pieces:
        _each(found, element, act, within)
