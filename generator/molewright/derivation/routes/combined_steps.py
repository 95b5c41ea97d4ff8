"""Steps of a plan taken together come in; further relations go out, as a pupil finds them who sees the whole chain first.

The letters: G all in one line, O the overall reacting ratio of several equations, R the ratio formula of two solutions, T the
titres of one titrant subtracted before they become an amount.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.derivation.routes.added_relations import Widened
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, product, total

MOST_IN_ONE_LINE = 4  # numbers that one line of a route puts together: c₁V₁/(c₂V₂) for a reacting ratio


def add_united(wide: Widened) -> None:
    """Add what holds for the steps of a plan taken together."""
    by_target = {step.target: wide.system.relations[step.relation] for step in wide.plan.steps}
    if not _ratio_formula(wide):
        _one_line(wide, by_target)
    _overall_ratio(wide, by_target)
    for target, relation in by_target.items():
        if relation.form == "sum" and relation.kind != "balance":  # a blank and its sample: route E
            _titres_first(target, relation, wide, by_target)


def united(first: Relation, second: Relation, over: Name) -> Relation | None:
    """Two products as one, without the quantity that both hold and of the second's kind; None where a power would stand in it."""
    if not (first.plain and second.plain):
        return None
    powers, others = dict(first.quantities), dict(second.quantities)
    sign = -1 if powers[over] == others[over] else 1
    for name, power in others.items():
        powers[name] = powers.get(name, Fraction(0)) + sign * power
    left = tuple((name, power) for name, power in powers.items() if power)
    if any(abs(power) != 1 for _, power in left):
        return None
    return Relation(kind=second.kind, form="product", quantities=left, factor=first.factor * second.factor**sign)


def _line_to(end: Name, by_target: Mapping[Name, Relation]) -> Relation | None:
    """Every step to a quantity as one product of what is given; None where one of them is a sum.

    A mass weighed by difference counts as given: nobody writes its subtraction into the line.
    """
    line = by_target.get(end)
    while line is not None and line.form == "product" and line.plain:
        over = next((name for name in line.names if name != end and not _weighed(by_target.get(name))), None)
        if over is None:
            return line
        step = by_target[over]
        line = united(step, line, over) if step.form == "product" else None
    return None


def _weighed(step: Relation | None) -> bool:
    """Whether no step finds a quantity, or only the subtraction of two balance readings."""
    return step is None or step.kind == "by difference"


def _ratio_formula(wide: Widened) -> bool:
    """c₁V₁/ν₁ = c₂V₂/ν₂ where two solutions are titrated against each other; whether they are."""
    two = False
    for ratio in wide.used:
        if ratio.kind != "ratio":
            continue
        found = [
            next((r for r in wide.used if r.kind == "concentration" and r.names[0] == name), None)
            for name in ratio.names
        ]
        first, second = found
        if first is None or second is None or first.names[1] == second.names[1]:
            continue
        factor = ratio.factor * second.factor / first.factor
        _, c_first, v_first = first.names
        _, c_second, v_second = second.names
        wide.add("R", product("ratio", factor, c_first, (c_second, v_second), (v_first,), ratio.reaction))
        two = True
    return two


def _one_line(wide: Widened, by_target: Mapping[Name, Relation]) -> None:
    """The chain of products at the end in one: m = cVM/1000, or c₁V₁ = c₂V₂ of a dilution."""
    last = by_target[wide.plan.asked]
    for end in (wide.plan.asked,) if last.form == "product" else last.names:
        line = _line_to(end, by_target)
        if line is not None and line != by_target[end] and len(line.names) <= MOST_IN_ONE_LINE + 1:
            wide.add("G", line)


def _overall_ratio(wide: Widened, by_target: Mapping[Name, Relation]) -> None:
    """Reacting ratios that follow each other, by an equation each, as one: 1 mol of O₂ for 4 mol of S₂O₃²⁻."""
    ratios = {target: relation for target, relation in by_target.items() if relation.kind == "ratio"}
    followed = {name for target, relation in ratios.items() for name in relation.names if name != target}
    for end in sorted(ratios.keys() - followed):
        line: Relation | None = ratios[end]
        chain = [ratios[end]]
        source = _other(ratios[end], end)
        while line is not None and source in ratios and _only_step(source, by_target):
            chain.append(ratios[source])
            line = united(ratios[source], line, source)
            source = _other(ratios[source], source)
        apart = len({relation.reaction for relation in chain}) == len(chain)
        if line is not None and len(chain) > 1 and apart and any(relation.factor != 1 for relation in chain):
            wide.add("O", product("ratio", line.alone(end)[0], end, (source,)))


def _other(relation: Relation, name: Name) -> Name:
    return next(one for one in relation.names if one != name)


def _only_step(name: Name, by_target: Mapping[Name, Relation]) -> bool:
    """Whether only one step rests on a quantity, so that nothing else needs it."""
    return sum(name in relation.names for target, relation in by_target.items() if target != name) == 1


def _titres_first(target: Name, relation: Relation, wide: Widened, by_target: Mapping[Name, Relation]) -> None:
    """n₁ − n₂ as one amount: V₁ − V₂ first. Right only for one titrant, one reacting ratio and the same portion or scaling."""
    terms = relation.alone(target)[1]
    lines = [_line_to(name, by_target) for name, _ in terms]
    if len(terms) != 2 or wide.variables[target].kind != "amount":
        return
    titres: list[tuple[Fraction, Name]] = []
    around: set[frozenset[tuple[Name, Fraction]]] = set()
    for (name, share), line in zip(terms, lines, strict=True):
        found = [one for one in line.names if wide.variables[one].kind == "titre"] if line is not None else []
        if line is None or len(found) != 1:
            return
        (titre,) = found
        factor, others = line.alone(name)
        titres.append((share * factor, titre))
        around.add(frozenset((one, power) for one, power in others if one != titre))
    (more, after), (less, before) = sorted(titres, reverse=True)
    if len(around) != 1 or more != -less:
        return
    _difference(target, more, (after, before), around.pop(), wide)


def _difference(
    target: Name, worth: Fraction, titres: tuple[Name, Name], around: frozenset[tuple[Name, Fraction]], wide: Widened
) -> None:
    """The volume between two titres, what it holds of the titrant, and the target: target = worth × c × volume × scaling."""
    delivered = next(one for one in wide.used if one.kind == "concentration" and titres[0] in one.names)
    amount, strength, titre = delivered.names
    others = dict(around)
    if others.pop(strength, 0) != 1:
        return
    scale = next((one for one in wide.used if one.kind == "scale" and one.names[2] in others), None)
    if others != ({scale.names[2]: 1, scale.names[3]: -1} if scale is not None else {}):
        return
    volume = wide.new(Name("volume", titre.subject, "", "between the titres"), titre, "difference")
    between = wide.like(amount, "difference")
    portion = target if scale is None else wide.like(target, "one portion")
    wide.add("T", total("total", volume, ((titres[0], Fraction(1)), (titres[1], Fraction(-1)))),
             product("concentration", delivered.factor, between, (strength, volume)),
             product("ratio", worth / delivered.factor, portion, (between,)))  # fmt: skip
    if scale is not None:
        wide.add("T", product("scale", 1, target, (portion, scale.names[2]), (scale.names[3],)))
