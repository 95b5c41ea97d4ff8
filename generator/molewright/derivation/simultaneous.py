"""Relations that yield a quantity only together come in; two equations in two amounts and their solution go out. Words nothing.

A teacher calls the amounts of the two substances x and y, writes down that their masses make up the sample and that together
they use up what the titre tells, and takes one equation from the other. Every relation is a straight line in x and y, or is
none of the two equations.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations, permutations

from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System

_MOST_AMOUNTS = 12  # among which the two unknowns are sought


@dataclass(frozen=True, slots=True)
class Straight:
    """A quantity, or one side of an equation, as a x + b y + c."""

    a: Fraction
    b: Fraction
    c: Fraction

    @property
    def constant(self) -> bool:
        """Whether neither unknown is in it."""
        return not self.a and not self.b

    def times(self, factor: Fraction) -> Straight:
        """The same, so many times."""
        return Straight(self.a * factor, self.b * factor, self.c * factor)

    def plus(self, other: Straight) -> Straight:
        """The sum of both."""
        return Straight(self.a + other.a, self.b + other.b, self.c + other.c)


@dataclass(frozen=True, slots=True, kw_only=True)
class EquationXY:
    """a x + b y = c, with what it says: the kind of its known side ("mass", "amount"), and the relation that it is."""

    a: Fraction
    b: Fraction
    c: Fraction
    says: str
    relation: Relation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoUnknowns:
    """Two amounts by their names, the two equations, and what is asked as a straight line in x."""

    x: Name
    y: Name
    first: EquationXY
    second: EquationXY
    asked: Straight
    target: Name | None = None  # what is asked, where it is neither of the two
    lines: Mapping[Name, Straight] = field(
        default_factory=dict, compare=False
    )  # every quantity that follows from x and y
    by: Mapping[Name, Relation] = field(default_factory=dict, compare=False)  # the relation that each follows by

    def behind(self, names: Iterable[Name]) -> tuple[Name, ...]:
        """These names and all that they rest on, as far as it follows from x and y, each after what it rests on."""
        found: list[Name] = []

        def need(name: Name) -> None:
            if name in self.by and name not in found:
                for other in self.by[name].names:
                    if other != name:
                        need(other)
                found.append(name)

        for name in names:
            need(name)
        return tuple(found)

    @property
    def multiple(self) -> Fraction:
        """How many times the second equation is taken from the first, so that y falls out."""
        return self.first.b / self.second.b

    @property
    def left(self) -> tuple[Fraction, Fraction]:
        """What is left of both sides then: so many x, and the number that they make."""
        many = self.multiple
        return self.first.a - many * self.second.a, self.first.c - many * self.second.c

    @property
    def value(self) -> Fraction:
        """The value of x."""
        many, number = self.left
        return number / many


def two_unknowns(system: System, known: Mapping[Name, Fraction], asked: Name) -> TwoUnknowns | None:
    """The two equations behind a quantity, or None where they are not two in two amounts. `known` holds the steps before it."""
    for x, y in _pairs(system, known):
        lines, found, by = _lines(system, known, x, y)
        if asked not in lines or lines[asked].b or not lines[asked].a:
            continue
        mass = next((one for one in found if one.says == "mass" and one.b), None)
        others = [one for one in found if one is not mass and one.b]
        first = mass or (others.pop(0) if others else None)
        second = next((one for one in others if first and first.a * one.b != first.b * one.a), None)
        if first is not None and second is not None:
            return TwoUnknowns(
                x=x, y=y, first=first, second=second, asked=lines[asked], target=asked, lines=lines, by=by
            )
    return None


def mixture(system: System, relations: tuple[Relation, ...], values: Mapping[Name, Fraction]) -> TwoUnknowns | None:
    """The same for a sample of two substances that react alike, whose chain goes by what the lighter one alone would weigh."""
    by_kind = {relation.kind: relation for relation in relations}
    if not {"supposed", "extra", "difference", "heavier"} <= by_kind.keys():
        return None
    _, both, light = by_kind["supposed"].names
    whole = by_kind["extra"].names[1]
    _, heavy, _ = by_kind["difference"].names
    _, n_heavy, _ = by_kind["heavier"].names
    n_light = next((name for name, one in system.variables.items() if one.kind == "amount" and one.stage == "sample"
                    and one.subject == system.variables[light].subject), None)  # fmt: skip
    if n_light is None:
        return None
    one = Fraction(1)
    return TwoUnknowns(
        x=n_heavy,
        y=n_light,
        first=EquationXY(a=values[heavy], b=values[light], c=values[whole], says="mass"),
        second=EquationXY(a=one, b=one, c=values[both], says="amount"),
        asked=Straight(one, Fraction(0), Fraction(0)),
    )


# ------------------------------------------------------------------ straight lines


def _pairs(system: System, known: Mapping[Name, Fraction]) -> Iterator[tuple[Name, Name]]:
    """Pairs of unknown amounts, those of what was weighed first, then of what was measured."""
    order = {"sample": 0, "added": 1, "flask": 2}
    amounts = [one for one in system.variables.values() if one.kind == "amount" and one.name not in known]
    amounts.sort(key=lambda one: order.get(one.stage, 3))
    for pair in combinations([one.name for one in amounts[:_MOST_AMOUNTS]], 2):
        yield from permutations(pair)


def _lines(
    system: System, known: Mapping[Name, Fraction], x: Name, y: Name
) -> tuple[dict[Name, Straight], list[EquationXY], dict[Name, Relation]]:
    """What follows from x and y, as straight lines in them; the equations that then are left; by which relation each follows."""
    zero, one = Fraction(0), Fraction(1)
    lines = {name: Straight(zero, zero, value) for name, value in known.items()}
    lines[x], lines[y] = Straight(one, zero, zero), Straight(zero, one, zero)
    left = list(system.relations)
    found: list[EquationXY] = []
    by: dict[Name, Relation] = {}
    moved = True
    while moved:
        moved = False
        for relation in tuple(left):
            missing = [name for name in relation.names if name not in lines]
            if len(missing) > 1:
                continue
            left.remove(relation)
            moved = True
            if missing:
                line = _solved(relation, missing[0], lines)
                if line is not None:
                    lines[missing[0]] = line
                    by[missing[0]] = relation
            else:
                equation = _equation(system, relation, lines)
                if equation is not None:
                    found.append(equation)
    return lines, found, by


def _solved(relation: Relation, target: Name, lines: Mapping[Name, Straight]) -> Straight | None:
    """The target as a straight line, or None where it is none."""
    if not relation.plain:
        return None
    factor, others = relation.alone(target)
    if relation.form == "sum":
        summed = Straight(Fraction(0), Fraction(0), Fraction(0))
        for name, share in others:
            summed = summed.plus(lines[name].times(share))
        return summed
    bent: Straight | None = None
    for name, power in others:
        if lines[name].constant and lines[name].c:
            factor *= lines[name].c if power == 1 else 1 / lines[name].c
        elif bent is None and power == 1:
            bent = lines[name]
        else:
            return None
    return bent.times(factor) if bent is not None else Straight(Fraction(0), Fraction(0), factor)


def _equation(system: System, relation: Relation, lines: Mapping[Name, Straight]) -> EquationXY | None:
    """A relation between quantities that are all known by now as a x + b y = c; None where it says nothing new."""
    target = relation.names[0]
    side = _solved(relation, target, lines)
    if side is None:
        return None
    rest = side.plus(lines[target].times(Fraction(-1)))
    if rest.constant:
        return None
    turned = rest.c > 0 or (not rest.c and (rest.a < 0 or (not rest.a and rest.b < 0)))
    if turned:  # the known side is not below zero
        rest = rest.times(Fraction(-1))
    return EquationXY(a=rest.a, b=rest.b, c=-rest.c, says=system.variables[target].kind, relation=relation)
