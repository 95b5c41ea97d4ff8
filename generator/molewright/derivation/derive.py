"""The relations of a procedure and what is given come in; ordered steps to what is asked go out. Never performs the experiment.

A plan is made once for each shape of procedure and asked quantity, with sympy, and kept by `plans`; a question then needs
exact arithmetic only. sympy solves every relation for the quantity wanted from it, solves those that only yield together, and
composes the one-line expression that the chain of steps is compared with in every question.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any

from molewright.bank.algebra import MINUS_LOG, ROOT, TEN_TO_MINUS, Tree
from molewright.derivation.chains import Step, chain_of
from molewright.errors import Mistake
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System

if TYPE_CHECKING:
    from sympy import Expr, Symbol


class TooMuch(Mistake):
    """Some of what is given follows from the rest."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The steps in order, and the whole chain as one expression of what is given."""

    asked: Name
    steps: tuple[Step, ...]
    expression: Tree


@dataclass(frozen=True, slots=True)
class Derivation:
    """A plan with numbers in: the exact value of every step, and the answer."""

    plan: Plan
    values: Mapping[Name, Fraction]

    @property
    def answer(self) -> Fraction:
        """The exact answer, in the base unit of the asked quantity."""
        return self.values[self.plan.asked]


def plan(system: System, given: Iterable[Name], asked: Name) -> Plan:
    """Plan the steps from the given quantities (and fixed molar masses) to the asked one.

    Raises Mistake where something is missing (it names what would be enough) or where one quantity is given twice over.
    """
    known = set(given) | set(system.fixed)
    if asked in known:
        raise Mistake(
            f"'{asked}' is asked for and given", expected="one quantity left out of the givens: the asked one"
        )
    source = _closure(system, known)
    if asked in source:
        steps = _chain(system, known, source, asked)
    else:
        steps = _together(system, known, source, asked)
    return Plan(asked, steps, _whole(system, known, steps, asked))


def _closure(system: System, known: set[Name]) -> dict[Name, int]:
    """For every quantity that relations yield one at a time: the index of the relation that yields it first."""
    source: dict[Name, int] = {}
    reached = set(known)
    used: set[int] = set()
    moved = True
    while moved:
        moved = False
        for index, relation in enumerate(system.relations):
            if index in used:
                continue
            missing = [name for name in relation.names if name not in reached]
            if len(missing) == 1:
                source[missing[0]] = index
                reached.add(missing[0])
                used.add(index)
                moved = True
            elif not missing:
                used.add(index)
                raise _too_much(system, relation, known, source)
    return source


def _too_much(system: System, relation: Relation, known: set[Name], source: Mapping[Name, int]) -> TooMuch:
    """A relation between quantities that all are known: the givens that it goes back to, in the order of the procedure."""
    behind: set[Name] = set()
    waiting = list(relation.names)
    while waiting:
        name = waiting.pop()
        if name not in behind:
            behind.add(name)
            waiting += system.relations[source[name]].names if name in source else ()
    tied = [name for name in system.variables if name in behind & known and name not in system.fixed]
    return TooMuch(
        f"too much is given: each of these follows from the others: {', '.join(map(str, tied))}",
        expected="every quantity but the asked one, each given once",
        do="Leave out one of them.",
    )


_FROM_ONE_MIXTURE = ("buffer", "solubility product")
"""Relations between quantities of one mixture: what follows at once, as a salt from what formed it, comes before what takes longer."""


def _chain(system: System, known: set[Name], source: dict[Name, int], asked: Name) -> tuple[Step, ...]:
    """The steps that the asked quantity needs, each after what it rests on: the left-over amount before the total."""
    steps: list[Step] = []
    done = set(known)
    places = {name: place for place, name in enumerate(system.variables) if name.kind == "titre"}

    def need(name: Name) -> None:
        if name in done:
            return
        done.add(name)
        index = source[name]
        relation = system.relations[index]
        names = _in_order(relation.names, last_titre)
        for other in sorted(names, key=rests_on) if relation.kind in _FROM_ONE_MIXTURE else names:
            need(other)
        steps.append(Step(name, index))

    @cache
    def last_titre(name: Name) -> int:
        """The place of the last titre that a quantity rests on, −1 for none: each titration is worked out where it is done."""
        if name in known:
            return places.get(name, -1)
        return max((last_titre(one) for one in system.relations[source[name]].names if one != name), default=-1)

    def rests_on(name: Name) -> tuple[int, int]:
        """On how many steps a quantity rests, its own among them, and how many quantities are in that one."""
        found: set[Name] = set()
        waiting = [name]
        while waiting:
            one = waiting.pop()
            if one not in known and one not in found:
                found.add(one)
                waiting += system.relations[source[one]].names
        return len(found), len(system.relations[source[name]].names) if found else 0

    need(asked)
    return tuple(steps)


def _in_order(names: Sequence[Name], place: Callable[[Name], int]) -> list[Name]:
    """The names as they stand, but those that rest on a titration in the order of the titrations."""
    at = {name: place(name) for name in names}
    titrated = iter(sorted((name for name in names if at[name] >= 0), key=at.__getitem__))
    return [name if at[name] < 0 else next(titrated) for name in names]


def steps_alone(system: System, given: Iterable[Name], asked: Name) -> tuple[Step, ...] | None:
    """The steps to the asked quantity where relations yield it one after the other; None where some must be solved together."""
    known = set(given) | set(system.fixed)
    source = _closure(system, known)
    return _chain(system, known, source, asked) if asked in source else None


def _together(system: System, known: set[Name], source: dict[Name, int], asked: Name) -> tuple[Step, ...]:
    """Steps for what is reached one at a time, then those that relations yield only together, solved by sympy."""
    import sympy

    reached = known | source.keys()
    open_relations, unknowns = _tied(system, reached, asked)
    if not all(relation.plain for relation in open_relations):
        raise _nothing_leads_to(system, known, asked)
    if asked not in unknowns or len(open_relations) < len(unknowns):
        raise _nothing_leads_to(system, known, asked)
    symbols = _symbols(system)
    solved = sympy.solve(
        [_equation(relation, symbols) for relation in open_relations], [symbols[name] for name in unknowns], dict=True
    )
    if (
        len(solved) != 1
        or symbols[asked] not in solved[0]
        or solved[0][symbols[asked]].free_symbols & {symbols[name] for name in unknowns}
        or not solved[0][
            symbols[asked]
        ].is_rational_function()  # a root: no chain of steps leads back through an equilibrium
    ):
        raise _nothing_leads_to(system, known, asked)
    back = {symbol: name for name, symbol in symbols.items()}
    wanted = solved[0][symbols[asked]]
    before = [back[symbol] for symbol in sorted(wanted.free_symbols, key=str) if back[symbol] not in known]
    steps: list[Step] = []
    for name in before:
        steps += [step for step in _chain(system, known, source, name) if step not in steps]
    tied = next(i for i, r in enumerate(system.relations) if asked in r.names and r in open_relations)
    steps.append(Step(asked, tied, _lower(wanted, back, {})))
    return tuple(steps)


def _tied(system: System, reached: set[Name], asked: Name) -> tuple[list[Relation], list[Name]]:
    """The relations that fix the asked quantity only together, and their unknowns.

    A relation with an unknown that stands nowhere else fixes only that unknown: it is left out, again and again. What is left
    may be solved; without this sympy searches through everything that is not known.
    """
    found = [relation for relation in system.relations if any(name not in reached for name in relation.names)]
    while True:
        counts = Counter(name for relation in found for name in relation.names if name not in reached and name != asked)
        kept = [relation for relation in found if not any(counts[name] == 1 for name in relation.names)]
        if len(kept) == len(found):
            return found, sorted({name for relation in found for name in relation.names if name not in reached})
        found = kept


def _nothing_leads_to(system: System, known: set[Name], asked: Name) -> Mistake:
    enough = [name for name in system.variables if name not in known and name != asked]
    helpful = [name for name in enough if asked in _closure_or_none(system, known | {name})]
    return Mistake(
        f"'{asked}' cannot be worked out from what is given",
        expected="one more quantity" if helpful else "more quantities",
        near=[str(name) for name in helpful[:6]],
        do=f"Given: {', '.join(map(str, sorted(known - set(system.fixed))))}.",
    )


def follows(system: System, known: set[Name], asked: Name) -> bool:
    """Whether the asked quantity follows from the known ones, one relation after the other, none of them twice over."""
    return asked in _closure_or_none(system, known)


def _closure_or_none(system: System, known: set[Name]) -> dict[Name, int]:
    try:
        return _closure(system, known)
    except Mistake:
        return {}


# ------------------------------------------------------------------ sympy


def _symbols(system: System) -> dict[Name, Symbol]:
    import sympy

    return {name: sympy.Symbol(f"q{index}", positive=True) for index, name in enumerate(system.variables)}


def _equation(relation: Relation, symbols: Mapping[Name, Any]) -> Expr:
    import sympy

    factor = sympy.Rational(relation.factor.numerator, relation.factor.denominator)
    if relation.form == "product":
        up, down = factor, sympy.Integer(1)
        for name, power in relation.quantities:
            if power > 0:
                up *= symbols[name] ** int(power)
            else:
                down *= symbols[name] ** int(-power)
        return up - down
    return sum(
        (sympy.Rational(share.numerator, share.denominator) * symbols[name] for name, share in relation.quantities),
        sympy.Integer(0),
    )


def _whole(system: System, known: set[Name], steps: tuple[Step, ...], asked: Name) -> Tree:
    """The chain as one expression, every step solved by sympy and put into the next."""
    import sympy

    symbols = _symbols(system)
    found: dict[Any, Any] = {}
    bent: dict[
        Any, Tree
    ] = {}  # what stands for a root, a power of ten or a logarithm, of which sympy sees a symbol only
    for step in steps:
        relation = system.relations[step.relation]
        if step.together is None and _is_bent(relation, step.target):
            symbol = found[symbols[step.target]] = sympy.Symbol(f"b{len(bent)}", positive=True)
            bent[symbol] = _bent(relation, step.target, symbols, found, bent)
            continue
        if step.together is not None:
            found[symbols[step.target]] = _raise_expression(step.together, symbols).xreplace(found)
            continue
        equation = _equation(relation, symbols)
        solutions = sympy.solve(equation, symbols[step.target])
        if len(solutions) != 1:
            raise AssertionError(f"the relation for {step.target} has {len(solutions)} solutions")
        found[symbols[step.target]] = solutions[0].xreplace(found)
    whole = sympy.cancel(found[symbols[asked]])
    back = {symbol: name for name, symbol in symbols.items()}
    stray = [back[one] for one in whole.free_symbols if one not in bent and back[one] not in known]
    if stray:
        raise AssertionError(f"{asked} still rests on {stray}")
    return _lower(whole, back, bent)


def _is_bent(relation: Relation, target: Name) -> bool:
    """Whether a relation gives its target as a root, a power of ten or a logarithm."""
    return relation.form == "logarithm" or (relation.form == "product" and abs(relation.power(target)) != 1)


def _bent(
    relation: Relation, target: Name, symbols: Mapping[Name, Any], found: Mapping[Any, Any], bent: Mapping[Any, Tree]
) -> Tree:
    """The root, the power of ten or the logarithm by which a relation gives its target, of what was found before."""
    import sympy

    back = {symbol: name for name, symbol in symbols.items()}
    head, inside, *degree = solved_tree(relation, target)
    of = _raise_expression(inside, symbols).xreplace(dict(found))
    return (head, _lower(sympy.cancel(of), back, bent), *degree)


def solved_tree(relation: Relation, target: Name) -> Tree:
    """A relation that is not plain, solved for its target, as an expression of its other quantities."""
    if relation.form == "logarithm":
        first, second = relation.names
        return (MINUS_LOG, ("word", second)) if target == first else (TEN_TO_MINUS, ("word", first))
    factor, others = relation.alone(target)
    inside: Tree = ("*", ("number", factor), *(("^", ("word", name), int(power)) for name, power in others))
    return (ROOT, inside, abs(relation.power(target))) if abs(relation.power(target)) != 1 else inside


def _lower(expression: Any, names: Mapping[Any, Name], bent: Mapping[Any, Tree]) -> Tree:
    """A sympy expression as nested tuples that need no sympy to evaluate."""
    if expression in bent:
        return bent[expression]
    if expression.is_Symbol:
        return ("word", names[expression])
    if expression.is_Rational:
        return ("number", Fraction(int(expression.p), int(expression.q)))
    if expression.is_Pow and expression.exp.is_Integer:
        return ("^", _lower(expression.base, names, bent), int(expression.exp))
    sign = "+" if expression.is_Add else "*"
    if not (expression.is_Add or expression.is_Mul):
        raise AssertionError(f"not a rational expression: {expression}")
    return (sign, *(_lower(argument, names, bent) for argument in sorted(expression.args, key=str)))


def _raise_expression(lowered: Tree, symbols: Mapping[Name, Any]) -> Any:
    import sympy

    head = lowered[0]
    if head == "word":
        return symbols[lowered[1]]
    if head == "number":
        return sympy.Rational(lowered[1].numerator, lowered[1].denominator)
    if head == "^":
        return _raise_expression(lowered[1], symbols) ** lowered[2]
    parts = [_raise_expression(part, symbols) for part in lowered[1:]]
    return sympy.Add(*parts) if head == "+" else sympy.Mul(*parts)


# ------------------------------------------------------------------ numbers


def derive(system: System, the_plan: Plan, given: Mapping[Name, Fraction]) -> Derivation:
    """Run the steps exactly."""
    return Derivation(the_plan, chain_of(system, the_plan.steps).exactly(given))
