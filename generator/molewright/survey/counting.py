"""An archetype comes in; an estimate of how many distinct questions it can make goes out, by hit or miss.

It draws and counts; it words nothing and prints nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import product
from math import prod
from typing import Any

from molewright.bank.definitions import Archetype, Variant
from molewright.bench.perform import BenchFault, perform
from molewright.chem.quantity import Quantity
from molewright.draw.chosen import Chosen, Draw, repeats
from molewright.draw.draw import division_cm3, draw_freely, draw_stated, possible_numbers
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.quantities import Name
from molewright.question.check import Questions

TRIAL = 60  # sets of numbers that tell how many more to try
SLACK_CM3 = Fraction(1, 10**6)  # far more than floats err, far less than a burette shows

Corner = tuple[int, ...]  # which value of each hidden number


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """How many distinct questions there are, by hit or miss.

    `sets` of numbers were there to pick from, in all scenes, `tries` were picked, `passed` of them make a question; `distinct`
    is the estimate and `error` its standard error.
    """

    sets: int
    tries: int
    passed: int
    distinct: Fraction
    error: Decimal

    @property
    def most(self) -> Fraction:
        """With 95 % confidence there are fewer, where no try passed: the rule of three.

        J. A. Hanley, A. Lippman-Hand: If nothing goes wrong, is everything all right? JAMA 249 (1983), 1743-1745.
        """
        return Fraction(3 * self.sets, self.tries)


def hit_or_miss(weights: Sequence[Fraction], sets: int) -> Estimate:
    """The estimate from tries that each count for a weight: 0 for a miss, 1 for a hit, 1/n for one of n hits printed alike.

    With weights of 0 and 1 the standard error of the share p is that of the binomial, the square root of p(1 - p)/tries.
    """
    tries = len(weights)
    share = sum(weights, Fraction(0)) / tries
    spread = sum((weight * weight for weight in weights), Fraction(0)) / tries - share * share
    squared = spread / tries * sets * sets
    error = (Decimal(squared.numerator) / Decimal(squared.denominator)).sqrt()
    return Estimate(
        sets=sets, tries=tries, passed=sum(weight > 0 for weight in weights), distinct=share * sets, error=error
    )


def estimate_distinct(questions: Questions, archetype: Archetype, most: int) -> Estimate:
    """How many questions of an archetype differ in what is asked, in scene or in a printed number.

    Burette readings of one mean titre, indicators and the wording are not counted. A set of numbers is picked from all of
    every variant and asked quantity, each as likely as the next; so many are tried at most.
    """
    strata = [
        (
            Chosen(
                variant=variant,
                ask=ask,
                context=variant.contexts[0],
                indicator=next(iter(variant.indicators), ""),
                table=_table(archetype, variant),
            ),
            len(variant.contexts),
        )
        for variant in archetype.variants
        for ask in variant.asks
    ]
    sizes = [scenes * prod(map(len, possible_numbers(chosen).values())) for chosen, scenes in strata]

    def weigh(stream: Stream, count: int) -> list[Fraction]:
        found = []
        for number in range(count):
            chosen, _ = stream.weighted(strata, sizes)
            found.append(_weight(questions, archetype, chosen, stream.branch(str(number))))
        return found

    passed = sum(weight > 0 for weight in weigh(Stream(f"survey/{archetype.key}/trial"), TRIAL))
    return hit_or_miss(weigh(Stream(f"survey/{archetype.key}"), _enough(passed, most)), sum(sizes))


def _enough(passed: int, most: int) -> int:
    """How many tries tell the number to about a tenth, by a trial that is not counted itself; so many at most."""
    if not passed:
        return most
    return min(most, max(TRIAL, 100 * (TRIAL - passed) // passed))


def _table(archetype: Archetype, variant: Variant) -> bool:
    return archetype.runs == "table" and repeats(variant)


def _weight(questions: Questions, archetype: Archetype, chosen: Chosen, stream: Stream) -> Fraction:
    """What a freely picked set of numbers counts for: 0 where it is refused, 1/n where n sets are printed alike."""
    try:
        made = draw_freely(archetype, chosen, stream, questions.fixed(chosen.variant))
        questions.with_further_parts(questions.attempt(made))
    except Refusal:
        return Fraction(0)
    return Fraction(1, _alike(questions, made, chosen))


def _alike(questions: Questions, made: Draw, chosen: Chosen) -> int:
    """How many sets of numbers print as this one does: they differ in what is hidden, by less than a burette shows."""
    possible = possible_numbers(chosen)
    hidden = {name: values for name, values in possible.items() if name not in made.given}
    if not hidden or not made.variant.procedure.titrations:
        return 1
    printed = {name: made.given[name] for name in possible if name not in hidden}
    found = 0
    for cell in _near(made, hidden):
        numbers = {**printed, **dict(zip(hidden, cell, strict=True))}
        try:
            other = draw_stated(made.archetype, chosen, numbers, made.stream, questions.fixed(made.variant))
            questions.believable(other)
        except Refusal:
            continue
        found += other.given == made.given
    return found


def _near(made: Draw, hidden: Mapping[Name, Sequence[Quantity]]) -> Iterator[tuple[Quantity, ...]]:
    """The values of the hidden numbers with which every printed titre may stay what it is, and hardly any others.

    A titre only ever rises, or only ever falls, with any one number. So a range of them that has the printed titre neither at
    its corners nor between is left out whole, and any other is halved. The looks at the bench are on floats, which is quicker: the
    titres are compared exactly afterwards.
    """
    windows = []
    for titration in made.variant.procedure.titrations:
        name = titration.titre
        if name in made.given:
            half = division_cm3(made.archetype, made.variant, name) / 2 + SLACK_CM3
            windows.append((name, float(made.given[name].in_base - half), float(made.given[name].in_base + half)))
    floats = {name: float(value) for name, value in made.truth.items()}

    @cache
    def look(corner: Corner) -> Mapping[Name, Any] | None:
        told = {name: values[at].in_base for (name, values), at in zip(hidden.items(), corner, strict=True)}
        quick: dict[Name, Any] = {**floats, **{name: float(value) for name, value in told.items()}}
        for truth in (quick, {**made.truth, **told}):  # on floats a trace may seem left of what has all reacted
            with suppress(BenchFault):
                return perform(made.variant.procedure, truth).titres
        return None  # it cannot be done with these numbers; it may be with others near by

    waiting = [tuple((0, len(values) - 1) for values in hidden.values())]
    while waiting:
        box = waiting.pop()
        looks = [look(corner) for corner in product(*(dict.fromkeys(ends) for ends in box))]
        seen = [titres for titres in looks if titres is not None]
        if len(seen) == len(looks) and any(
            max(titres[name] for titres in seen) < low or min(titres[name] for titres in seen) > high
            for name, low, high in windows
        ):
            continue
        widest = max(range(len(box)), key=lambda at: box[at][1] - box[at][0])
        low, high = box[widest]
        if low < high:
            middle = (low + high) // 2
            waiting += [(*box[:widest], half, *box[widest + 1 :]) for half in ((low, middle), (middle + 1, high))]
        elif seen:
            yield tuple(values[at] for values, (at, _) in zip(hidden.values(), box, strict=True))
