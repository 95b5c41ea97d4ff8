"""The relations of a procedure come in; every other legitimate route to what is asked goes out, found by search.

Nobody types a route in for an archetype: for each scaling, each reagent in excess and each reacting ratio the same few further
relations hold (the flask's concentration, the total in one portion, the volume of reagent that is left), and a search over
them finds the routes. A letter names the family: B scale down, C concentration of the flask, D equivalent volume, F convert
then subtract, H scale the titrant, R the ratio formula of two solutions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.question.derive import Pairs, Plan, Step, run_rounded
from generator.question.relations import Relation, System, Variable, product, total

FAMILIES = ("B", "C", "D", "F", "H", "R")
_EXTRA_STEPS = 3  # a route may take so many steps more than the main one
_MOST_SEARCHED = 4000
_EACH_FAMILY = 1


@dataclass(frozen=True, slots=True)
class Route:
    """Another right route: its family, its steps in the widened system, and those of them that the main route does not share."""

    family: str
    steps: tuple[Step, ...]
    fresh: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Routes:
    """The widened system and the routes through it."""

    system: System
    routes: tuple[Route, ...]

    def answers(self, main: Pairs, asked: str, figures: int) -> list[Fraction]:
        """The answer by each route, every step rounded; `main` holds the main route's values, rounded likewise."""
        found = []
        for route in self.routes:
            pairs = dict(main)
            run_rounded(self.system, route.fresh, pairs, figures)
            found.append(Fraction(*pairs[asked]))
        return found

    def values(self, given: Mapping[str, Fraction], route: Route) -> dict[str, Fraction]:
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
    wide, families = _widen(system, plan)
    routes: list[Route] = []
    for family in FAMILIES:
        allowed = [index for index in range(len(wide.relations)) if families[index] in ("", family)]
        own = {index for index in allowed if families[index] == family}
        if own:
            found = _search(wide, known, plan.asked, allowed, own, len(plan.steps) + _EXTRA_STEPS)
            routes += [Route(family, steps, _fresh(wide, plan, steps)) for steps in found[:_EACH_FAMILY]]
    return Routes(wide, tuple(routes))


def _known(system: System, plan: Plan) -> frozenset[str]:
    targets = {step.target for step in plan.steps}
    used = {name for step in plan.steps for name in system.relations[step.relation].names}
    return frozenset(used - targets)


# ------------------------------------------------------------------ further relations


def _widen(system: System, plan: Plan) -> tuple[System, list[str]]:
    variables = dict(system.variables)
    relations = list(system.relations)
    families = [""] * len(relations)

    def new(like: str, note: str, kind: str = "") -> str:
        name = f"{like}, {note}"
        old = variables[like]
        variables.setdefault(name, Variable(name, kind or old.kind, old.subject, note, old.vessel, old.species))  # type: ignore[arg-type]
        return name

    def add(family: str, *found: Relation) -> None:
        relations.extend(found)
        families.extend([family] * len(found))

    used = [system.relations[step.relation] for step in plan.steps]
    for relation in used:
        if relation.kind == "scale":
            _scale_routes(relation, used, new, add)
        elif relation.kind == "balance":
            _balance_routes(relation, used, new, add)
    _ratio_formula(used, add)
    return System(variables, tuple(relations), system.fixed), families


New = Callable[..., str]
Add = Callable[..., None]


def _scale_routes(relation: Relation, used: list[Relation], new: New, add: Add) -> None:
    whole, portion, flask, aliquot = relation.names
    strength = new(whole, "in the flask", "concentration")
    milli = Fraction(1, 1000)
    add(
        "C",
        product("concentration", milli, portion, (strength, aliquot)),
        product("concentration", milli, whole, (strength, flask)),
    )
    for other in used:
        if other.kind == "ratio" and portion in other.names:
            titrant = next(name for name in other.names if name != portion)
            scaled = new(titrant, "for the whole flask")
            factor = other.factor if other.names[0] == portion else 1 / other.factor
            add("H", product("scale", 1, scaled, (titrant, flask), (aliquot,)),
                product("ratio", factor, whole, (scaled,), reaction=other.reaction))  # fmt: skip
        if other.kind == "balance" and other.names[1] == whole:
            spent, _, start = other.names
            total_portion = new(start, "total, one portion")
            spent_portion = new(spent, "reacted, one portion")
            add("B", product("scale", 1, start, (total_portion, flask), (aliquot,)),
                total("balance", spent_portion, ((portion, Fraction(-1)), (total_portion, Fraction(1)))),
                product("scale", 1, spent, (spent_portion, flask), (aliquot,)))  # fmt: skip


def _balance_routes(relation: Relation, used: list[Relation], new: New, add: Add) -> None:
    spent, left, start = relation.names
    for other in used:
        if other.kind == "concentration" and other.names[0] == start:
            _, strength, volume = other.names
            left_volume, spent_volume = new(volume, "left over"), new(volume, "reacted")
            add("D", product("concentration", other.factor, left, (strength, left_volume)),
                total("balance", spent_volume, ((left_volume, Fraction(-1)), (volume, Fraction(1)))),
                product("concentration", other.factor, spent, (strength, spent_volume)))  # fmt: skip
        if other.kind == "ratio" and spent in other.names:
            analyte = next(name for name in other.names if name != spent)
            factor = other.factor if other.names[0] == analyte else 1 / other.factor
            if factor == 1:
                continue
            of_start, of_left = new(analyte, "for the total"), new(analyte, "for what is left")
            add("F", product("ratio", factor, of_start, (start,), reaction=other.reaction),
                product("ratio", factor, of_left, (left,), reaction=other.reaction),
                total("balance", analyte, ((of_left, Fraction(-1)), (of_start, Fraction(1)))))  # fmt: skip


def _ratio_formula(used: list[Relation], add: Add) -> None:
    """c₁V₁/ν₁ = c₂V₂/ν₂ where two solutions are titrated against each other."""
    for ratio in used:
        if ratio.kind != "ratio":
            continue
        found = [
            next((r for r in used if r.kind == "concentration" and r.names[0] == name), None) for name in ratio.names
        ]
        first, second = found
        if first is None or second is None or first.names[1] == second.names[1]:
            continue
        factor = ratio.factor * second.factor / first.factor
        _, c_first, v_first = first.names
        _, c_second, v_second = second.names
        add("R", product("ratio", factor, c_first, (c_second, v_second), (v_first,), ratio.reaction))


# ------------------------------------------------------------------ search


def _search(
    system: System, known: frozenset[str], asked: str, allowed: list[int], own: set[int], most: int
) -> list[tuple[Step, ...]]:
    """Derivations of the asked quantity that use a relation of the family, shortest first."""
    by_name: dict[str, list[int]] = {}
    for index in allowed:
        for name in system.relations[index].names:
            by_name.setdefault(name, []).append(index)
    found: list[tuple[Step, ...]] = []
    budget = [_MOST_SEARCHED]

    def grow(agenda: tuple[str, ...], chosen: dict[str, int]) -> None:
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


def _ordered(system: System, known: frozenset[str], chosen: dict[str, int], asked: str) -> tuple[Step, ...] | None:
    """The chosen relations as steps in order, or None where they run in a circle."""
    steps: list[Step] = []
    done: set[str] = set(known)
    doing: set[str] = set()

    def need(name: str) -> bool:
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
    moved: set[str] = set()
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
