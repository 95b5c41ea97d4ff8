"""A described experiment that cannot be worked out, or that tells too much, comes in; what to write or to leave out goes out.

Only numbers that a description has a key for are asked for: nobody reads "amount of HCl reacted" off a balance.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from molewright.bank.readers.described import Place
from molewright.bank.readers.described_experiment import Experiment
from molewright.derivation.derive import follows
from molewright.errors import Mistake, Where
from molewright.experiment.procedure import Measure, Operation, React, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of

# What is read off an apparatus or a label comes before what is worked out from such.
_ORDER = ("mass", "pieces", "volume", "gas volume", "titre", "concentration", "molar volume", "factor", "percentage")
_READ = ("mass", "pieces", "volume", "gas volume", "titre", "concentration", "molar volume", "factor")
_TOLD_AGAIN = {  # kinds that say the same of one substance in one place: one is no way to the other
    "concentration": 1,
    "mass concentration": 1,
    "mass in volume": 1,
    "volume strength": 1,
    "normality": 1,
    "percentage by mass": 1,
    "percentage": 2,
    "mass within": 2,
    "mass each": 2,
    "mass per gram": 2,
    "impurity": 2,
    "impurity mass": 2,
}
_MOST_TOGETHER = 2  # numbers that may be missing at once and still be named with another way
_MOST_NAMED = 3  # ways out of one lack
_MOST_TRIED = 40  # numbers, of which each might be the one; half as many where two are sought
_MOST_OFFERED = 8  # quantities that can be worked out


def what_is_missing(experiment: Experiment) -> Mistake:
    """The numbers without which the asked quantity does not follow, the line that is missing, or what could be asked instead."""
    lines = unreacted(experiment)
    if lines is not None:
        return lines
    known = {*experiment.given, *experiment.system.fixed}
    open_names = [name for name in _by_rank(experiment) if name not in known]
    ways = _ways(experiment, known, open_names, 1)
    if ways:
        return _numbers(experiment, ways[:_MOST_NAMED])
    read_off = _read_off(experiment, known, open_names)
    if read_off:
        return _numbers(experiment, [read_off])
    ways = _ways(experiment, known, open_names, _MOST_TOGETHER)
    return _numbers(experiment, ways[:1]) if ways else _untied(experiment, known)


def _ways(experiment: Experiment, known: set[Name], open_names: list[Name], count: int) -> list[tuple[Name, ...]]:
    """The numbers, so many at a time, that would lead to what is asked."""
    asked = experiment.ask.quantity
    return [
        several
        for several in combinations(open_names[: _MOST_TRIED // count], count)
        if follows(experiment.system, known | set(several), asked)
    ]


def _read_off(experiment: Experiment, known: set[Name], open_names: list[Name]) -> tuple[Name, ...]:
    """All that is read off an apparatus or a label and must be told, where no one number would do."""
    system, asked = experiment.system, experiment.ask.quantity
    added: list[Name] = []
    for name in open_names:
        here = known | set(added)
        if (
            system.variables[name].kind in _READ
            and not follows(system, here, name)
            and not follows(system, here, asked)
        ):
            added.append(name)
    if not follows(system, known | set(added), asked):
        return ()
    for name in tuple(added):
        without = [one for one in added if one != name]
        if follows(system, known | set(without), asked):
            added = without
    return tuple(added)


def _numbers(experiment: Experiment, ways: list[tuple[Name, ...]]) -> Mistake:
    first, places = ways[0], experiment.described.unwritten
    told = [_listed([f"the {name}" for name in way]) for way in ways]
    count = {1: "one more number", 2: "two more numbers"}.get(len(first), f"{len(first)} more numbers")
    return Mistake(
        f"the {experiment.ask.quantity} cannot be worked out from what is given",
        where=places[first[0]].where,
        expected=f"{count}: {', or '.join(told)}",
        do=f"Write {_listed([_written(places[name]) for name in first])}.",
    )


def _untied(experiment: Experiment, known: set[Name]) -> Mistake:
    """Where no number helps: nothing that reacts ties the asked quantity to what is given."""
    asked = experiment.ask.quantity
    texts = texts_of(experiment.system.variables)
    kinds = {*_TOLD_AGAIN, "mass", "concentration", "molar mass", "titre", "volume", "water", "atomic mass"}
    found = [
        texts[name]
        for name in experiment.system.variables
        if name.kind in kinds and name not in known and follows(experiment.system, known, name)
    ]
    instead = f" From what is given follow: {', '.join(found[:_MOST_OFFERED])}." if found else ""
    return Mistake(
        f"the {asked} cannot be worked out: no equation of this procedure ties it to what is given",
        where=experiment.where,
        expected=f"a reaction or a titration that the {experiment.system.variables[asked].subject or 'sample'} takes part in",
        do=f"Write it as '- react: ...', or as 'reaction: ...' in the titration.{instead}",
    )


def _by_rank(experiment: Experiment) -> Iterator[Name]:
    """The numbers that have a key and are not written, what is read off an apparatus first; none that only says the asked one again."""
    variables, asked = experiment.system.variables, experiment.ask.quantity
    names = [
        name
        for name in experiment.described.unwritten
        if name in variables and name != asked and not _again(name, asked)
    ]
    rank = {kind: index for index, kind in enumerate(_ORDER)}
    yield from sorted(names, key=lambda name: rank.get(variables[name].kind, len(rank)))


def _again(name: Name, asked: Name) -> bool:
    same = _TOLD_AGAIN.get(name.kind)
    return (
        same is not None
        and same == _TOLD_AGAIN.get(asked.kind)
        and (name.subject or name.place) == (asked.subject or asked.place)
    )


def _written(place: Place) -> str:
    return f"'{place.key}: ...' at '{place.where.entry}' on line {place.where.line}"


def _listed(words: list[str]) -> str:
    return " and ".join(words) if len(words) < 3 else f"{', '.join(words[:-1])} and {words[-1]}"


# ------------------------------------------------------------------ a line that is missing


def unreacted(experiment: Experiment) -> Mistake | None:
    """A reagent in excess, or a sample beside a solution, that nothing is said to react; None where there is no such."""
    operations = experiment.described.operations
    for at, act in enumerate(operations):
        if isinstance(act, Measure) and act.excess and not _reacts_later(operations[at:], act.vessel):
            return _no_react(experiment, at, act)
    used = experiment.described.procedure.lasting
    for act in operations:
        if isinstance(act, Weigh) and not any(content.species in used for content in act.contents):
            poured = [
                (at, one)
                for at, one in enumerate(operations)
                if isinstance(one, Measure) and one.vessel == act.vessel and not _reacts_later(operations, act.vessel)
            ]
            if poured:
                return _no_react(experiment, *poured[-1])
    return None


def _reacts_later(operations: list[Operation], vessel: str) -> bool:
    return any(isinstance(one, React) and one.vessel == vessel for one in operations)


def _no_react(experiment: Experiment, at: int, act: Measure) -> Mistake:
    places = experiment.described.places
    where: Where = places[at] if at < len(places) else experiment.where
    name = act.solution.solute
    return Mistake(
        f"{name} is added, and nothing says what it reacts with",
        where=where,
        expected="a line for the reaction after it",
        do=f"Write '- react: {{excess: {name}}}' under line {where.line}, or '- react: <equation>'.",
    )


def given_and_asked(experiment: Experiment) -> Mistake | None:
    """That the asked quantity stands in the description as a number; None where it does not."""
    asked = experiment.ask.quantity
    if asked not in experiment.given:
        return None
    place = experiment.described.written.get(asked)
    return Mistake(
        f"the {asked} is asked for and given",
        where=place.where if place else experiment.where,
        expected="the asked quantity left out of the description",
        do=f"Leave out '{place.key}: ...' here, or ask for another quantity." if place else "Ask for another quantity.",
    )
