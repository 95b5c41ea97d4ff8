"""The relations of a procedure come in; every other legitimate route to what is asked goes out, found by search.

Nobody types a route in for an archetype: for each scaling, each reagent in excess and each reacting ratio the same few further
relations hold (the flask's concentration, the total in one portion, the volume of reagent that is left), and steps that follow
each other may be taken as one; a search over these relations finds the routes. A letter names the family. In
`vessel_relations`: B scale down, C concentration of the flask, D equivalent volume, E compare with the blank that was titrated,
F convert then subtract, H scale the titrant, N straight to the element, S compare with a blank of another dilution, V compare with
what all the reagent would have needed. In `combined_steps`: G all in one line, O the overall reacting ratio, R the ratio formula of
two solutions, T the titres subtracted first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.derivation.chains import Chain, Step
from molewright.derivation.derive import Plan
from molewright.derivation.evaluated import Pairs
from molewright.derivation.routes.added_relations import Widened
from molewright.derivation.routes.combined_steps import add_united
from molewright.derivation.routes.vessel_relations import add_further
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System

FAMILIES = ("B", "C", "D", "E", "F", "G", "H", "N", "O", "R", "S", "T", "V")
BY_VOLUMES = ("T", "V")
VOLUME_FIGURES = 4  # of a volume that stands for a burette reading: 47.62 cm³
_MORE_STEPS = 3  # a route may take so many steps more than the main one
_MOST_SEARCHED = 4000
_EACH_FAMILY = 1


@dataclass(frozen=True, slots=True)
class Route:
    """Another right route: its family, its steps in the widened system, and those of them that the main route does not share.

    `same` pairs quantities that must be alike for it to be right: flask and portion of the sample and of its blank. A route for
    a blank of another dilution is for numbers that are not alike.
    """

    family: str
    steps: tuple[Step, ...]
    fresh: tuple[Step, ...]
    same: tuple[tuple[Name, Name], ...] = ()

    def holds(self, values: Mapping[Name, object]) -> bool:
        """Whether it is right with these numbers."""
        return not self.same or all(values.get(a) == values.get(b) for a, b in self.same) == (self.family == "E")

    def followed(self, values: Mapping[Name, object], figures: int) -> bool:
        """Whether it is right with these numbers and may be gone with every step rounded to so many figures."""
        return self.holds(values) and (figures >= VOLUME_FIGURES or self.family not in BY_VOLUMES)


@dataclass(frozen=True, slots=True)
class Routes:
    """The widened system and the routes through it, with what each does otherwise than the main one made ready for numbers."""

    system: System
    routes: tuple[Route, ...]
    _chains: tuple[Chain, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_chains", tuple(Chain(self.system, route.fresh) for route in self.routes))

    def followed(self, values: Mapping[Name, object], figures: int) -> tuple[Route, ...]:
        """The routes that are right with these numbers and may be gone with every step rounded to so many figures.

        Routes T and V take one burette volume from another, and nobody writes those to fewer than four figures.
        """
        return tuple(route for route in self.routes if route.followed(values, figures))

    def answers(self, main: Pairs, asked: Name, figures: int) -> list[tuple[int, int]]:
        """The answer by each route, every step rounded; `main` holds the main route's values, rounded likewise."""
        found = []
        for route, chain in zip(self.routes, self._chains, strict=True):
            if route.followed(main, figures):
                pairs = dict(main)
                chain.rounded(pairs, figures)
                found.append(pairs[asked])
        return found

    def values(self, given: Mapping[Name, Fraction], route: Route) -> dict[Name, Fraction]:
        """Every quantity of one route at full precision."""
        values = dict(given)
        for step in route.steps:
            values[step.target] = self.system.relations[step.relation].solved(step.target, values)
        return values


def find_routes(system: System, plan: Plan) -> Routes:
    """Every other legitimate route, at most one or two of a family, shortest first."""
    if any(step.together is not None for step in plan.steps):
        return Routes(system, ())
    known = _known(system, plan)
    widened = Widened(system, plan)
    same = add_further(widened)
    add_united(widened)
    wide, families = widened.whole(), widened.families
    routes: list[Route] = []
    for family in FAMILIES:
        allowed = [index for index in range(len(wide.relations)) if families[index] in ("", family)]
        own = {index for index in allowed if families[index] == family}
        if own:
            found = _search(wide, known, plan.asked, allowed, own, len(plan.steps) + _MORE_STEPS)
            alike = same if family in "ES" else ()
            routes += [Route(family, steps, _fresh(wide, plan, steps), alike) for steps in found[:_EACH_FAMILY]]
    return Routes(wide, tuple(routes))


def _known(system: System, plan: Plan) -> frozenset[Name]:
    targets = {step.target for step in plan.steps}
    used = {name for step in plan.steps for name in system.relations[step.relation].names}
    return frozenset(used - targets)


# ------------------------------------------------------------------ search


def _search(
    system: System, known: frozenset[Name], asked: Name, allowed: list[int], own: set[int], most: int
) -> list[tuple[Step, ...]]:
    """Derivations of the asked quantity that use a relation of the family, shortest first."""
    by_name: dict[Name, list[int]] = {}
    for index in allowed:
        for name in system.relations[index].names:
            by_name.setdefault(name, []).append(index)
    found: list[tuple[Step, ...]] = []
    budget = [_MOST_SEARCHED]

    def grow(agenda: tuple[Name, ...], chosen: dict[Name, int]) -> None:
        budget[0] -= 1
        if budget[0] < 0 or len(chosen) + len(agenda) > most:
            return
        if not agenda:
            if own & set(chosen.values()):
                steps = _ordered(system, known, chosen, asked)
                if steps is not None:
                    found.append(steps)
            return
        name, rest = agenda[0], agenda[1:]
        for index in by_name.get(name, ()):
            if index in chosen.values():
                continue
            others = [one for one in system.relations[index].names if one != name]
            if asked in others:
                continue
            more = tuple(one for one in others if one not in known and one not in chosen and one not in rest)
            grow((*rest, *more), {**chosen, name: index})

    grow((asked,), {})
    found.sort(key=lambda steps: (len(steps), [step.target for step in steps]))
    return found


def _ordered(system: System, known: frozenset[Name], chosen: dict[Name, int], asked: Name) -> tuple[Step, ...] | None:
    """The chosen relations as steps in order, or None where they run in a circle."""
    steps: list[Step] = []
    done: set[Name] = set(known)
    doing: set[Name] = set()

    def need(name: Name) -> bool:
        if name in done:
            return True
        if name in doing:
            return False
        doing.add(name)
        index = chosen[name]
        if not all(need(other) for other in system.relations[index].names if other != name):
            return False
        done.add(name)
        steps.append(Step(name, index))
        return True

    return tuple(steps) if need(asked) and len(steps) == len(chosen) else None


def _fresh(system: System, plan: Plan, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps whose value may differ from the main route's: other relations, and what rests on them."""
    own = {(step.target, step.relation) for step in plan.steps}
    moved: set[Name] = set()
    fresh: list[Step] = []
    for step in steps:
        if (step.target, step.relation) not in own or moved & set(system.relations[step.relation].names):
            moved.add(step.target)
            fresh.append(step)
    return tuple(fresh)


def differing(plan: Plan, route: Route) -> tuple[Step, ...]:
    """The steps of a route that the main one does not have."""
    own = {(step.target, step.relation) for step in plan.steps}
    return tuple(step for step in route.steps if (step.target, step.relation) not in own)
