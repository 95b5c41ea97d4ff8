"""Reactions: equation text comes in; species with coefficients, reacting ratios and a verdict on balance go out.

Never mends an equation in silence: what does not balance is refused, with the balanced equation in the message.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import lcm

from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Formula
from molewright.errors import Mistake, nearest, shortened

STATES = ("s", "l", "g", "aq")
HELPERS = frozenset({"H+", "OH-", "H2O"})
"""Acid, alkali and solvent: there in plenty beside two others that react."""
MOST_CHARACTERS = 300
MOST_COEFFICIENT = 999

_BOTH_WAYS = re.compile("<=>|⇌")
_ARROW = re.compile("<=>|⇌|->|→|=")
_OTHER_ARROW = re.compile(r"(?<!<)={1,3}>|(?<=\s)-{2,3}>|<-{1,2}>|⇄|⇋|↔|⟶|⇒|⟹|➝|➞|—>|–>")
_PLUS = re.compile(r"\s\+\s")  # a + without spaces is a charge
# (S) is read as a state symbol in capitals: a single bracketed group without a count is no chemist's formula.
_TERM = re.compile(r"(?P<coefficient>[0-9]*)\s*(?P<formula>.*?)\s*(?:\((?P<state>[a-z]+|S|L|G|AQ|Aq)\))?", re.S)
_PART_OF_ONE = re.compile(r"[½⅓⅔¼¾⅕⅙⅛]|[0-9]+\s*[/.,]\s*[0-9]|[0-9]+[½⅓⅔¼¾]")
_CHARGE = "charge"  # stands among the elements in a tally; no element is spelt so


@dataclass(frozen=True, slots=True)
class Species:
    """One term of an equation; `state` is "s", "l", "g", "aq" or "" where none is written."""

    coefficient: int
    formula: Formula
    state: str = ""

    @property
    def text(self) -> str:
        """As typed: 2HCl(aq)."""
        return self._written(self.formula.text)

    def __str__(self) -> str:
        return self._written(str(self.formula))

    def _written(self, formula: str) -> str:
        coefficient = "" if self.coefficient == 1 else str(self.coefficient)
        return f"{coefficient}{formula}({self.state})" if self.state else f"{coefficient}{formula}"


@dataclass(frozen=True, slots=True)
class Reaction:
    """An equation read once. It need not balance: require_balance says whether it does."""

    left: tuple[Species, ...]
    right: tuple[Species, ...]
    both_ways: bool = False  # it comes to an equilibrium

    @property
    def text(self) -> str:
        """The one spelling, as typed: CaCO3(s) + 2HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)."""
        return (" <=> " if self.both_ways else " -> ").join(
            " + ".join(species.text for species in side) for side in (self.left, self.right)
        )

    def __str__(self) -> str:
        return (" ⇌ " if self.both_ways else " → ").join(" + ".join(map(str, side)) for side in (self.left, self.right))

    @property
    def terms(self) -> tuple[Species, ...]:
        """All terms, those of the left first."""
        return (*self.left, *self.right)

    def coefficient(self, formula_text: str) -> int:
        """The coefficient of a species, on whichever side it stands. Raises Mistake where it is on neither or both."""
        wanted = parse_formula(formula_text, PLACEHOLDERS).text
        left, right = (
            sum(species.coefficient for species in side if species.formula.text == wanted)
            for side in (self.left, self.right)
        )
        if left and right:
            raise Mistake(
                f"{wanted} stands on both sides of {shortened(self.text, 120)}",
                expected="a substance on one side",
                do="Cancel it across the arrow.",
            )
        if not left and not right:
            names = [species.formula.text for species in self.terms]
            raise Mistake(
                f"{wanted} is not in {shortened(self.text, 120)}",
                expected=f"one of {', '.join(dict.fromkeys(names))}",
                near=nearest(wanted, names),
            )
        return left or right

    def ratio(self, of: str, per: str) -> Fraction:
        """The reacting ratio: how many moles of one species go with one mole of the other."""
        return Fraction(self.coefficient(of), self.coefficient(per))

    def has(self, formula_text: str) -> bool:
        """Whether the species stands on either side."""
        wanted = parse_formula(formula_text, PLACEHOLDERS).text
        return any(species.formula.text == wanted for species in self.terms)

    def meeting(self, other: str, there: Container[str]) -> list[str]:
        """The species of the left that are there and react with another one, in its order.

        Water and its ions only help where two others react: hydrogen ions beside manganate(VII) and iron(II).
        """
        left = [one.formula.text for one in self.left]
        met = [one for one in left if one != other and one in there]
        alone = [one for one in met if one not in HELPERS]
        return alone if alone and other not in HELPERS else met

    @property
    def helpers(self) -> frozenset[str]:
        """Water and its ions of the left, where two others react."""
        left = {one.formula.text for one in self.left}
        return frozenset(left & HELPERS if len(left - HELPERS) > 1 else ())

    def is_like(self, other: Reaction) -> bool:
        """Whether the other says the same with its terms in another order."""
        return set(self.left) == set(other.left) and set(self.right) == set(other.right)


# ---------------------------------------------------------------- reading


@lru_cache(maxsize=1024)
def parse_reaction(text: str, placeholders: frozenset[str] = frozenset()) -> Reaction:
    """Read "CaCO3(s) + 2HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)", balanced or not."""
    if len(text) > MOST_CHARACTERS:
        raise Mistake(f"the equation has {len(text)} characters", expected=f"at most {MOST_CHARACTERS}")
    other = _OTHER_ARROW.search(text)
    if other is not None:
        raise Mistake(
            f"the equation {shortened(text, 120)} has '{other[0]}': another arrow",
            expected="one arrow, written ->",
            do=f"Write {shortened(text.replace(other[0], '->'), 200)}.",
        )
    sides = [side.strip() for side in _ARROW.split(text)]
    if len(sides) != 2:
        found = "no arrow" if len(sides) == 1 else f"{len(sides) - 1} arrows"
        raise Mistake(f"the equation {shortened(text, 120)} has {found}", expected="one arrow, written ->")
    for name, side in zip(("left", "right"), sides, strict=True):
        if not side:
            raise Mistake(f"the equation {shortened(text, 120)} has nothing on the {name}", expected="a formula there")
    left, right = (tuple(_parse_term(term.strip(), placeholders) for term in _PLUS.split(side)) for side in sides)
    return Reaction(left, right, both_ways=bool(_BOTH_WAYS.search(text)))


def _parse_term(term: str, placeholders: frozenset[str]) -> Species:
    if not term:
        raise Mistake("the equation has nothing between two plus signs", expected="a formula between them")
    if _PART_OF_ONE.match(term):
        raise Mistake(
            f"the coefficient in the term {shortened(term)} is not a whole number",
            expected="a whole number",
            do="Multiply the whole equation until every coefficient is whole.",
        )
    match = _TERM.fullmatch(term)
    assert match is not None  # every part of the pattern may be empty
    written, state = match["coefficient"], match["state"] or ""
    if state not in ("", *STATES):
        raise Mistake(
            f"the state symbol ({state}) in the term {shortened(term)} is not known",
            expected="(s), (l), (g) or (aq)",
            near=[f"({known})" for known in nearest(state, STATES)],
        )
    if written.startswith("0") or len(written) > len(str(MOST_COEFFICIENT)):
        raise Mistake(
            f"the coefficient {shortened(written, 12)} in the term {shortened(term)} is out of range",
            expected=f"a whole number, 1 to {MOST_COEFFICIENT}",
        )
    try:
        formula = parse_formula(match["formula"], placeholders)
    except Mistake as fault:
        raise Mistake(
            f"in the term {shortened(term)}: {fault.found}", expected=fault.expected, do=fault.do, near=fault.near
        ) from None
    return Species(int(written or 1), formula, state)


# ---------------------------------------------------------------- balance


def require_balance(reaction: Reaction) -> None:
    """Count every element and the charge by whole numbers. Raises Mistake with the counts of what is out."""
    _require_known_water(reaction)
    left, right = _tally(reaction.left), _tally(reaction.right)
    out = [name for name in dict.fromkeys((*left, *right)) if left.get(name, 0) != right.get(name, 0)]
    if not out:
        return
    counts = ", ".join(
        f"{name} {_counted(name, left)} on the left and {_counted(name, right)} on the right" for name in out
    )
    try:
        do = f"Balanced it reads {balanced(reaction).text}"
    except Mistake as fault:
        do = fault.do
    raise Mistake(f"the equation {shortened(reaction.text, 200)} does not balance: {counts}", do=do)


def is_balanced(reaction: Reaction) -> bool:
    """Whether atoms and charges of both sides are the same."""
    return _tally(reaction.left) == _tally(reaction.right)


def require_whole(reaction: Reaction) -> None:
    """Refuse what is no whole reaction: electrons left over, a substance in two terms, what does not balance. Raises Mistake."""
    if any(species.formula.is_electron for species in reaction.terms):
        raise Mistake(
            f"electrons are left over in {shortened(reaction.text, 200)}",
            expected="a whole equation, without e-",
            do="Combine the two half-equations so that the electrons cancel.",
        )
    for name, side in (("left", reaction.left), ("right", reaction.right)):
        _require_each_once(name, side)
    for species in reaction.left:
        reaction.coefficient(species.formula.text)  # stands on one side only
    require_balance(reaction)


def _require_each_once(name: str, terms: tuple[Species, ...]) -> None:
    """Refuse a species that stands in two terms of one side: what reacts would be counted by one of them only."""
    seen: dict[str, int] = {}
    for species in terms:
        spelt = species.formula.text
        if spelt in seen:
            raise Mistake(
                f"{spelt} stands twice on the {name} of the equation",
                expected="each substance once on a side",
                do=f"Add the terms up: {replace(species, coefficient=seen[spelt] + species.coefficient).text}.",
            )
        seen[spelt] = species.coefficient


def balanced(reaction: Reaction) -> Reaction:
    """The equation with its smallest whole coefficients; those written are ignored. Raises Mistake if none or many."""
    from sympy import Matrix  # 224 ms: only when an equation is to be balanced

    _require_known_water(reaction)
    species = reaction.terms
    nullspace = Matrix(_matrix(reaction)).nullspace()
    if len(nullspace) > 1:
        raise Mistake(
            f"the equation {shortened(reaction.text, 200)} can be balanced in more than one way",
            expected="one reaction",
            do="Take the coefficients from the half-equations, or write two reactions as two equations.",
        )
    exact = [Fraction(int(entry.p), int(entry.q)) for vector in nullspace for entry in vector]
    if exact and exact[0] < 0:
        exact = [-number for number in exact]
    if not exact or min(exact) <= 0:
        raise Mistake(
            f"the equation {shortened(reaction.text, 200)} cannot be balanced",
            expected="the same elements on both sides",
            do="Look for a missing or misspelt formula.",
        )
    whole = lcm(*(number.denominator for number in exact))  # one of them is 1, so what follows shares no factor
    coefficients = [int(number * whole) for number in exact]
    if max(coefficients) > MOST_COEFFICIENT:
        raise Mistake(
            f"the equation {shortened(reaction.text, 200)} needs a coefficient of {max(coefficients)}",
            expected=f"at most {MOST_COEFFICIENT}",
        )
    named = [replace(each, coefficient=number) for each, number in zip(species, coefficients, strict=True)]
    middle = len(reaction.left)
    return Reaction(tuple(named[:middle]), tuple(named[middle:]))


def _require_known_water(reaction: Reaction) -> None:
    for species in reaction.terms:
        if species.formula.unknown_water:
            raise Mistake(
                f"{species.formula.text} holds an unknown amount of water, so its equation cannot be balanced",
                expected="a formula with known counts",
                do="Write the equation for the salt without its water.",
            )


def _tally(side: Iterable[Species]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for species in side:
        for name, count in (*species.formula.atoms, (_CHARGE, species.formula.charge)):
            counts[name] = counts.get(name, 0) + count * species.coefficient
    return counts


def _counted(name: str, counts: dict[str, int]) -> str:
    return f"{counts.get(name, 0):+d}" if name == _CHARGE and counts.get(name, 0) else str(counts.get(name, 0))


def _matrix(reaction: Reaction) -> list[list[int]]:
    """A row for every element and for the charge, a column for every species, those on the right negative."""
    columns = [_tally([replace(species, coefficient=1)]) for species in reaction.left]
    columns += [_tally([replace(species, coefficient=-1)]) for species in reaction.right]
    names = dict.fromkeys(name for column in columns for name in column)
    return [[column.get(name, 0) for column in columns] for name in names]
