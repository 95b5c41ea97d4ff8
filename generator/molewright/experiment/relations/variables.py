"""What a quantity is and how quantities hang together: variables and the relations between them. Nothing is solved here.

Three forms are enough for the trade: a product (n = cV/1000, m = nM, n(flask) = n(portion) × F/P, reacting ratios, [H⁺]² = Ka c), a
sum (total = reacted + left over) and a logarithm (pH = −log [H⁺]). All hold for whichever quantity is unknown, which is why any of them
can be asked for. Roots, powers of ten and logarithms are kept to 30 figures (chem.powers); all else is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from typing import Generic, Literal, Protocol, TypeVar

from molewright.chem.powers import minus_log, root, ten_to_minus
from molewright.chem.reaction import Reaction
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import LOGARITHMS, UNITS, Kind
from molewright.experiment.relations.kinds import RelationKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """One quantity of a procedure: its name, of which substance it is, and where in the procedure."""

    name: Name
    subject: str = ""  # formula, or the sample's name for a mass
    stage: str = ""  # "added", "reacted", "left over", "titre", "portion", "flask", ...
    vessel: str = ""
    species: str = ""  # the species in solution, where the subject is the solute of a bottle
    bottle: str = ""  # of an amount added, where another bottle brings the same species to the vessel
    word: bool = False  # its subject is a word and no formula: protein
    several: tuple[str, ...] = ()  # formulae, where it is the amount of two substances together

    @property
    def kind(self) -> Kind:
        """What kind of quantity it is."""
        return self.name.kind

    @property
    def unit(self) -> Unit:
        """The base unit that its exact value is kept in."""
        return UNITS[self.kind]

    @property
    def whole(self) -> bool:
        """Whether it is a whole number by nature: water of crystallisation, protons, electrons."""
        return self.kind in ("water", "subscript", "basicity", "electrons", "oxidation state")

    @property
    def logarithmic(self) -> bool:
        """Whether it is a logarithm, so that its figures are those after the decimal point."""
        return self.kind in LOGARITHMS

    @property
    def simple(self) -> bool:
        """Whether it is a ratio of small whole numbers by nature, as a reacting ratio is."""
        return self.kind == "ratio"

    @property
    def settled(self) -> bool:
        """Whether the value before rounding leads to one answer only, so that a range of answers would say nothing."""
        return self.whole or self.simple


Key = TypeVar("Key", bound=Hashable)
AnyKey = TypeVar("AnyKey", bound=Hashable, contravariant=True)


class Known(Protocol[AnyKey]):
    """Whatever tells the value of a quantity."""

    def __getitem__(self, name: AnyKey, /) -> Fraction:
        """The exact value."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class BareRelation(Generic[Key]):
    """factor × Π quantity^power = 1 (a product), Σ coefficient × quantity = 0 (a sum) or first = −log second (a logarithm).

    Whatever quantities are called by: in a procedure by their names, in a record by the texts of those.
    """

    form: Literal["product", "sum", "logarithm"]
    quantities: tuple[tuple[Key, Fraction], ...]  # powers (whole, not zero) or coefficients
    factor: Fraction = Fraction(1)
    names: tuple[Key, ...] = field(
        init=False, compare=False, repr=False
    )  # the quantities that the relation ties together
    _whole: tuple[tuple[Key, int, int], ...] = field(
        init=False, compare=False, repr=False
    )  # their numbers, up and down

    def __post_init__(self) -> None:
        object.__setattr__(self, "names", tuple(name for name, _ in self.quantities))
        whole = tuple((name, number.numerator, number.denominator) for name, number in self.quantities)
        object.__setattr__(self, "_whole", whole)

    def adds_to(self, target: Key) -> bool:
        """Whether the target is the sum of the other quantities, with nothing taken away."""
        shares = dict(self.quantities)
        return self.form == "sum" and all(
            share * shares[target] < 0 for name, share in self.quantities if name != target
        )

    @property
    def plain(self) -> bool:
        """Whether it is a sum, or a product in which nothing is squared: worked without roots, powers and logarithms."""
        return self.form == "sum" or (self.form == "product" and all(abs(power) == 1 for _, power in self.quantities))

    def power(self, name: Key) -> int:
        """The power of a quantity in a product: 1, 2, −1."""
        return int(next(power for one, power in self.quantities if one == name))

    def alone(self, target: Key) -> tuple[Fraction, tuple[tuple[Key, Fraction], ...]]:
        """The target on one side: a factor and the powers of the others (a product), or 1 and their shares (a sum).

        Of a product in which the target is squared: those of its square. Nothing is told of a logarithm.
        """
        own = next(number for name, number in self.quantities if name == target)
        if self.form == "sum":
            turned = own == -1
            return Fraction(1), tuple((n, one if turned else -one / own) for n, one in self.quantities if n != target)
        others = tuple((name, power if own < 0 else -power) for name, power in self.quantities if name != target)
        return (self.factor if own < 0 else 1 / self.factor), others

    def solved(self, target: Key, values: Known[Key]) -> Fraction:
        """The target's value from the others: exactly, or to 30 figures where it is a root, a power of ten or a logarithm."""
        pairs = {}
        for name in self.names:
            if name != target:
                value = values[name]
                pairs[name] = value.numerator, value.denominator
        return Fraction(*self.ratio(target, pairs))

    def ratio(self, target: Key, pairs: Mapping[Key, tuple[int, int]]) -> tuple[int, int]:
        """The target as two whole numbers from the others as such: nothing is reduced on the way, which is what makes it quick."""
        if self.form == "logarithm":
            return self._by_logarithm(target, pairs)
        if self.form == "product":
            up, down, squared = self.factor.numerator, self.factor.denominator, 1
            for name, power, _ in self._whole:
                if name == target:
                    squared = power
                    continue
                pair = pairs[name]
                if power == 1:
                    up, down = up * pair[0], down * pair[1]
                elif power == -1:
                    up, down = up * pair[1], down * pair[0]
                else:
                    raised = Fraction(*pair) ** power
                    up, down = up * raised.numerator, down * raised.denominator
            if squared > 0:
                up, down = down, up
            return (up, down) if squared in (1, -1) else _pair(root(Fraction(up, down), abs(squared)))
        up, down, own, under = 0, 1, 1, 1
        for name, share, parts in self._whole:
            if name == target:
                own, under = share, parts
            else:
                pair = pairs[name]
                below = pair[1] * parts
                up, down = up * below + pair[0] * share * down, down * below
        return -up * under, down * own

    def finding(self, target: Key) -> Callable[[Mapping[Key, tuple[int, int]]], tuple[int, int]]:
        """What `ratio` does for one target, made ready for many numbers: products and sums are taken apart once."""
        if not self.plain:
            return partial(self.ratio, target)
        factor, others = self.alone(target)
        if self.form == "product":
            up, down = factor.numerator, factor.denominator
            over = [name for name, power in others if power == 1]
            under = [name for name, power in others if power == -1]

            def multiply(pairs: Mapping[Key, tuple[int, int]]) -> tuple[int, int]:
                above, below = up, down
                for name in over:
                    one, other = pairs[name]
                    above *= one
                    below *= other
                for name in under:
                    one, other = pairs[name]
                    above *= other
                    below *= one
                return above, below

            return multiply
        terms = [(name, share.numerator, share.denominator) for name, share in others]

        def add(pairs: Mapping[Key, tuple[int, int]]) -> tuple[int, int]:
            above, below = 0, 1
            for name, share, parts in terms:
                one, other = pairs[name]
                other *= parts
                above, below = above * other + one * share * below, below * other
            return above, below

        return add

    def _by_logarithm(self, target: Key, pairs: Mapping[Key, tuple[int, int]]) -> tuple[int, int]:
        first, second = self.names
        if target == first:
            return _pair(minus_log(Fraction(*pairs[second])))
        return _pair(ten_to_minus(Fraction(*pairs[first])))


def _pair(number: Fraction) -> tuple[int, int]:
    return number.numerator, number.denominator


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation(BareRelation[Name]):
    """A relation of a procedure: what kind it is, and its reaction. The first quantity is the natural result."""

    kind: RelationKind
    reaction: Reaction | None = None


def logarithm(kind: RelationKind, result: Name, of: Name) -> Relation:
    """The relation result = −log of."""
    return Relation(kind=kind, form="logarithm", quantities=((result, Fraction(-1)), (of, Fraction(-1))))


def raised(
    kind: RelationKind,
    factor: Fraction | int,
    result: tuple[Name, int],
    over: tuple[tuple[Name, int], ...],
    reaction: Reaction | None = None,
) -> Relation:
    """The relation result^power = factor × Π over^power."""
    quantities = ((result[0], Fraction(-result[1])), *((name, Fraction(power)) for name, power in over))
    return Relation(kind=kind, form="product", quantities=quantities, factor=Fraction(factor), reaction=reaction)


def product(
    kind: RelationKind,
    factor: Fraction | int,
    result: Name,
    over: tuple[Name, ...],
    under: tuple[Name, ...] = (),
    reaction: Reaction | None = None,
) -> Relation:
    """The relation result = factor × Π over / Π under."""
    powers = (*((name, 1) for name in over), *((name, -1) for name in under))
    return raised(kind, factor, (result, 1), powers, reaction)


def total(
    kind: RelationKind, result: Name, terms: tuple[tuple[Name, Fraction], ...], reaction: Reaction | None = None
) -> Relation:
    """The relation result = Σ coefficient × term."""
    return Relation(
        kind=kind, form="sum", quantities=((result, Fraction(-1)), *terms), factor=Fraction(1), reaction=reaction
    )


@dataclass(frozen=True, slots=True)
class System:
    """The quantities of a procedure by name, the relations between them, and those fixed by formulae (molar masses)."""

    variables: dict[Name, Variable]
    relations: tuple[Relation, ...]
    fixed: tuple[Name, ...]  # molar masses known from the formula alone
