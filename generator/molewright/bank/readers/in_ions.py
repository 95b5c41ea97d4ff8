"""An equation in whole formulae and one substance of it come in; the same with that one as ions goes out, without spectators.

Where a teacher writes one equation in formulae and the next in ions, the first is read as the second: what is in the flask has one
name. Only what shares an ion with the substance is taken apart too, and what dissolves in ions only.
"""

from __future__ import annotations

from dataclasses import replace
from math import gcd

from molewright.bank.readers.forms import Forms
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import Reaction, Species


def in_ions(reaction: Reaction, substances: frozenset[str], forms: Forms) -> Reaction:
    """The equation with some substances as ions; the same where none of them stands in it, or where spectators would stay."""
    apart = {one.formula.text for one in reaction.terms if _dissolved(one)} & substances
    if not apart:
        return reaction
    while True:
        ions = {ion for one in apart for _, ion in forms.apart(one)}
        more = {
            one.formula.text
            for one in reaction.terms
            if one.formula.text not in apart
            and _dissolved(one)
            and ions.intersection(ion for _, ion in forms.apart(one.formula.text))
        }
        if not more:
            break
        apart |= more
    left, right = (_side(side, apart, forms) for side in (reaction.left, reaction.right))
    shared = {text: min(left[text].coefficient, right[text].coefficient) for text in left.keys() & right.keys()}
    sides = [
        [
            replace(one, coefficient=one.coefficient - shared.get(text, 0))
            for text, one in side.items()
            if one.coefficient > shared.get(text, 0)
        ]
        for side in (left, right)
    ]
    common = gcd(*(one.coefficient for side in sides for one in side))
    if not all(sides):
        return reaction
    made = [tuple(replace(one, coefficient=one.coefficient // common) for one in side) for side in sides]
    return replace(reaction, left=made[0], right=made[1])


def _dissolved(one: Species) -> bool:
    return one.state in ("", "aq")


def _side(side: tuple[Species, ...], apart: set[str], forms: Forms) -> dict[str, Species]:
    found: dict[str, Species] = {}
    for one in side:
        text = one.formula.text
        parts = forms.apart(text) if text in apart and _dissolved(one) else ((1, text),)
        for count, part in parts:
            before = found[part].coefficient if part in found else 0
            found[part] = replace(
                one, coefficient=before + count * one.coefficient, formula=parse_formula(part, PLACEHOLDERS)
            )
    return found
