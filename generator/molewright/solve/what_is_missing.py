"""A described experiment that cannot be worked out, or that tells too much, comes in; what to write or to leave out goes out.

Only numbers that a description has a key for are asked for: nobody reads "amount of HCl reacted" off a balance.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from molewright.bank.readers.described import Place
from molewright.bank.readers.described_experiment import Experiment
from molewright.derivation.derive import follows
from molewright.errors import Mistake
from molewright.experiment.quantities import Name

# What is read off an apparatus or a label comes before what is worked out from such.
_ORDER = ("mass", "pieces", "volume", "titre", "concentration", "percentage")
_MOST_TOGETHER = 2  # numbers that may be missing at once and still be named
_MOST_NAMED = 3  # ways out of one lack
_MOST_TRIED = 40  # numbers, of which each might be the one; half as many where two are sought


def what_is_missing(experiment: Experiment) -> Mistake | None:
    """The number, or the two, without which the asked quantity does not follow; None where more are missing."""
    known = {*experiment.given, *experiment.system.fixed}
    places = experiment.described.unwritten
    open_names = [name for name in _by_rank(experiment) if name not in known]
    for count in range(1, _MOST_TOGETHER + 1):
        ways = [several for several in combinations(open_names[: _MOST_TRIED // count], count)
                if follows(experiment.system, known | set(several), experiment.ask.quantity)]  # fmt: skip
        if ways:
            first = ways[0]
            told = [" and ".join(f"the {name}" for name in way) for way in ways[: _MOST_NAMED if count == 1 else 1]]
            return Mistake(
                f"the {experiment.ask.quantity} cannot be worked out from what is given",
                where=places[first[0]].where,
                expected=f"{'one more number' if count == 1 else 'two more numbers'}: {', or '.join(told)}",
                do=f"Write {' and '.join(_written(places[name]) for name in first)}.",
            )
    return None


def _by_rank(experiment: Experiment) -> Iterator[Name]:
    variables = experiment.system.variables
    names = [name for name in experiment.described.unwritten if name in variables and name != experiment.ask.quantity]
    rank = {kind: index for index, kind in enumerate(_ORDER)}
    yield from sorted(names, key=lambda name: rank.get(variables[name].kind, len(rank)))


def _written(place: Place) -> str:
    return f"'{place.key}: ...' at '{place.where.entry}' on line {place.where.line}"


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
