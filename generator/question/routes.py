"""The relations of a procedure come in; every other legitimate route to what is asked goes out, found by search.

Nobody types a route in for an archetype: for each scaling, each reagent in excess and each reacting ratio the same few further
relations hold (the flask's concentration, the total in one portion, the volume of reagent that is left), and a search over
them finds the routes. A letter names the family: B scale down, C concentration of the flask, D equivalent volume, E compare
with the blank that was titrated, F convert then subtract, H scale the titrant, N straight to the element, R the ratio formula
of two solutions, S compare with a blank of another dilution, V compare with what all the reagent would have needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.question.derive import Pairs, Plan, Step, run_rounded
from generator.question.relations import Relation, System, Variable, product, total

FAMILIES = ("B", "C", "D", "E", "F", "H", "N", "R", "S", "V")
VOLUME_FIGURES = 4  # of a volume that stands for a burette reading: 47.62 cm³
_EXTRA_STEPS = 3  # a route may take so many steps more than the main one
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
    same: tuple[tuple[str, str], ...] = ()

    def holds(self, values: Mapping[str, Any]) -> bool:
        """Whether it is right with these numbers."""
        return not self.same or all(values.get(a) == values.get(b) for a, b in self.same) == (self.family == "E")


@dataclass(frozen=True, slots=True)
class Routes:
    """The widened system and the routes through it."""

    system: System
    routes: tuple[Route, ...]

    def followed(self, values: Mapping[str, Any], figures: int) -> tuple[Route, ...]:
        """The routes that are right with these numbers and may be gone with every step rounded to so many figures.

        Route V takes one burette volume from another, and nobody writes those to fewer than four figures.
        """
        holding = (route for route in self.routes if route.holds(values))
        return tuple(route for route in holding if route.family != "V" or figures >= VOLUME_FIGURES)

    def answers(self, main: Pairs, asked: str, figures: int) -> list[Fraction]:
        """The answer by each route, every step rounded; `main` holds the main route's values, rounded likewise."""
        found = []
        for route in self.followed(main, figures):
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
    wide, families, same = _widen(system, plan)
    routes: list[Route] = []
    for family in FAMILIES:
        allowed = [index for index in range(len(wide.relations)) if families[index] in ("", family)]
        own = {index for index in allowed if families[index] == family}
        if own:
            found = _search(wide, known, plan.asked, allowed, own, len(plan.steps) + _EXTRA_STEPS)
            alike = same if family in "ES" else ()
            routes += [Route(family, steps, _fresh(wide, plan, steps), alike) for steps in found[:_EACH_FAMILY]]
    return Routes(wide, tuple(routes))


def _known(system: System, plan: Plan) -> frozenset[str]:
    targets = {step.target for step in plan.steps}
    used = {name for step in plan.steps for name in system.relations[step.relation].names}
    return frozenset(used - targets)


# ------------------------------------------------------------------ further relations


def _widen(system: System, plan: Plan) -> tuple[System, list[str], tuple[tuple[str, str], ...]]:
    variables = dict(system.variables)
    relations = list(system.relations)
    families = [""] * len(relations)

    def new(like: str, note: str, kind: str = "", called: str = "") -> str:
        name = called or f"{like}, {note}"
        old = variables[like]
        variables.setdefault(name, Variable(name, kind or old.kind, old.subject, note, old.vessel, old.species))  # type: ignore[arg-type]
        return name

    def add(family: str, *found: Relation) -> None:
        relations.extend(found)
        families.extend([family] * len(found))

    used = [system.relations[step.relation] for step in plan.steps]
    same: tuple[tuple[str, str], ...] = ()
    for relation in used:
        if relation.kind == "scale":
            _scale_routes(relation, used, new, add)
        elif relation.kind == "balance":
            _balance_routes(relation, used, new, add)
            same += _compared(relation, used, new, add)
        elif relation.kind == "contains":
            _to_the_element(relation, used, add)
    _ratio_formula(used, add)
    return System(variables, tuple(relations), system.fixed), families, same


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


@dataclass(frozen=True, slots=True)
class _Titrated:
    """How an amount is found by a titration: scaled up from a portion or not, by a ratio, from strength and volume."""

    scale: Relation | None
    ratio: Relation
    delivered: Relation


def _titrated(amount: str, used: list[Relation]) -> _Titrated | None:
    scale = next((one for one in used if one.kind == "scale" and one.names[0] == amount), None)
    portion = scale.names[1] if scale else amount
    ratio = next((one for one in used if one.kind == "ratio" and one.names[0] == portion), None)
    if ratio is None:
        return None
    delivered = next((one for one in used if one.kind == "concentration" and one.names[0] == ratio.names[1]), None)
    return _Titrated(scale, ratio, delivered) if delivered is not None else None


def _compared(relation: Relation, used: list[Relation], new: New, add: Add) -> tuple[tuple[str, str], ...]:
    """What reacted, from how much less titrant was needed than without the sample: n = c (V₀ − V)/1000.

    V₀ is the titre of a blank, or worked out from all the reagent that was added. The pairs are what sample and blank must share.
    """
    spent, left, start = relation.names
    sample, blank = _titrated(left, used), _titrated(start, used)
    if sample is None:
        return ()
    delivered, strength, titre = sample.delivered.names
    bottle = strength.removeprefix("concentration of ")
    milli, ratio = sample.delivered.factor, sample.ratio
    if blank is not None:
        alike = (blank.delivered.names[1], blank.ratio.factor, blank.scale is None)
        if alike != (strength, ratio.factor, sample.scale is None):
            return ()
        wholes = [("E", blank.delivered.names[2])]
        if sample.scale is not None and blank.scale is not None:
            brought = new(titre, "blank, same dilution", "volume", f"volume of {bottle}, blank diluted alike")
            (flask, aliquot), (own_flask, own_aliquot) = sample.scale.names[2:], blank.scale.names[2:]
            add("S", product("scale", 1, brought, (wholes[0][1], own_flask, aliquot), (flask, own_aliquot)))
            wholes.append(("S", brought))
    else:
        wholes = [("V", new(titre, "for all reagent", "volume", f"volume of {bottle} for all reagent"))]
        portion = start
        if sample.scale is not None:
            portion = new(start, "total, one portion")
            add("V", product("scale", 1, start, (portion, sample.scale.names[2]), (sample.scale.names[3],)))
        needed = new(delivered, "for all reagent")
        add("V", product("ratio", ratio.factor, portion, (needed,), reaction=ratio.reaction),
            product("concentration", milli, needed, (strength, wholes[0][1])))  # fmt: skip
    less = new(titre, "for what reacted", "volume", f"volume of {bottle} for what reacted")
    worth = new(delivered, "for what reacted")
    reacted = spent if sample.scale is None else new(spent, "reacted, one portion")
    for family, whole in wholes:
        add(family, total("balance", less, ((titre, Fraction(-1)), (whole, Fraction(1)))),
            product("concentration", milli, worth, (strength, less)),
            product("ratio", ratio.factor, reacted, (worth,), reaction=ratio.reaction))  # fmt: skip
        if sample.scale is not None:
            add(family, product("scale", 1, spent, (reacted, sample.scale.names[2]), (sample.scale.names[3],)))
    if blank is None or blank.scale is None or sample.scale is None:
        return ()
    return tuple(zip(sample.scale.names[2:], blank.scale.names[2:], strict=True))


def _to_the_element(relation: Relation, used: list[Relation], add: Add) -> None:
    """The amount of an element from that of what holds one atom of it, past the formula of the substance: Fe³⁺ to Fe."""
    atoms, substance = relation.names
    for other in used:
        if other is relation or other.kind not in ("ratio", "contains") or substance not in other.names:
            continue
        held = next(name for name in other.names if name != substance)
        share = other.factor if other.names[0] == substance else 1 / other.factor
        if relation.factor != 1 and relation.factor * share == 1:
            add("N", product("contains", 1, atoms, (held,)))


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
