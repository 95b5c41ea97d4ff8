"""Spans of numbers come in, spans go out: what a step of the chain may give when what it rests on was rounded. Never floats."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from molewright.answer.printed import Step
from molewright.answer.written import rounded
from molewright.experiment.relations.variables import BareRelation

ROUNDING = Fraction(5, 1000)  # the most that rounding to three figures moves a number
PER_SHARE = Fraction(
    "0.4343"
)  # what a logarithm to base ten moves by, of the share that its number moves by: 1 % of it, 0.0043
_MOST_APART = 3  # roundings to three figures that another route may have more than the one that is printed
_MOST_ROUNDED = 3  # steps in a row that a pupil is taken to have rounded without writing them down


class Span(NamedTuple):
    """All numbers from low to high."""

    low: Fraction
    high: Fraction

    def meets(self, other: Span) -> bool:
        """Whether some number is in both."""
        return self.low <= other.high and other.low <= self.high

    def wider(self, share: Fraction) -> Span:
        """So much of its size wider on both sides."""
        by = max(abs(self.low), abs(self.high)) * share
        return Span(self.low - by, self.high + by)

    def moved(self, share: Fraction, logarithmic: bool) -> Span:
        """So much of its size wider on both sides; of logarithms to base ten, by what so much of their numbers moves them."""
        if not logarithmic:
            return self.wider(share)
        return Span(self.low - share * PER_SHARE, self.high + share * PER_SHARE)

    def narrow(self, share: Fraction) -> bool:
        """Whether it reaches no further to either side than so much of its size."""
        return self.high - self.low <= 2 * share * max(-self.low, self.high)

    def hull(self, *numbers: Fraction) -> Span:
        """The least span that holds these too."""
        return Span(min((self.low, *numbers)), max((self.high, *numbers)))


def exactly(number: Fraction) -> Span:
    """The span of one number."""
    return Span(number, number)


def solved(step: Step, values: Mapping[str, Span]) -> Span | None:
    """What a step gives for its target; None where it divides by what may be nothing. A step that no relation yields is exact."""
    if step.relation is None:
        return exactly(step.exact)
    if not step.relation.plain:
        return _at_the_ends(step.relation, step.finds, values)
    factor, others = step.relation.alone(step.finds)
    if step.relation.form == "sum":
        low = high = Fraction(0)
        for name, share in others:
            ends = sorted((share * values[name].low, share * values[name].high))
            low, high = low + ends[0], high + ends[1]
        return Span(low, high)
    span = exactly(factor)
    for name, power in others:
        low, high = values[name]
        if power < 0:
            if low <= 0 <= high:
                return None
            low, high = 1 / high, 1 / low
        if span.low.numerator >= 0 and low.numerator >= 0:  # nearly always
            span = Span(span.low * low, span.high * high)
            continue
        ends4 = (span.low * low, span.low * high, span.high * low, span.high * high)
        span = Span(min(ends4), max(ends4))
    return span


def _at_the_ends(relation: BareRelation[str], target: str, values: Mapping[str, Span]) -> Span | None:
    """The span of a root, a power of ten or a logarithm: it rises or falls with each quantity, so its ends are at ends of theirs."""
    names = [name for name in relation.names if name != target]
    try:
        ends = [
            relation.solved(target, dict(zip(names, one, strict=True))) for one in product(*(values[n] for n in names))
        ]
    except ArithmeticError:
        return None
    return Span(min(ends), max(ends))


def one_value(step: Step, values: Mapping[str, Fraction]) -> Fraction | None:
    """What a step gives for single numbers; None where it divides by nothing."""
    if step.relation is None:
        return step.exact
    try:
        return step.relation.solved(step.finds, values)
    except ZeroDivisionError:
        return None


def run(chain: tuple[Step, ...], values: Mapping[str, Span], last: str) -> dict[str, Span]:
    """Every step up to the one that finds `last`, from the values that are there; steps without one are rounded ones."""
    found = dict(values)
    for step, span in _worked_on(chain, found, last):
        if span is None:
            return {}
        if step.finds == last:
            found[last] = span
            return found
    return found


def _worked_on(chain: tuple[Step, ...], found: dict[str, Span], last: str = "") -> Iterator[tuple[Step, Span | None]]:
    """Each step that is worked, with what it gives from what was `found`, where it is put, rounded, for the steps after it.

    The `last` is worked though it may have been found. None is given, and nothing after it, where a step divides by nothing.
    """
    depth: dict[str, int] = {}  # how many rounded steps a quantity rests on, one after another
    for step in chain:
        if step.finds in found and step.finds != last:
            continue
        span = solved(step, found)
        yield step, span
        if span is None or step.finds == last:
            return
        rests = max((depth.get(name, 0) for name in step.rests_on), default=0)
        if not step.idle and rests < _MOST_ROUNDED:
            rests += 1
            span = span.wider(ROUNDING)
        depth[step.finds] = rests
        found[step.finds] = span


def run_on(chain: tuple[Step, ...], values: Mapping[str, Fraction], name: str, number: Fraction) -> Fraction | None:
    """What the chain comes to at its end if this quantity had this value and all else were right.

    What several relations yield together stays as it is: a slip in what it rests on is not followed through them.
    """
    found = {**values, name: number}
    changed = {name}
    for step in chain:
        if step.finds == name or not changed & set(step.rests_on):
            continue
        value = one_value(step, found)
        if value is None:
            return None
        found[step.finds] = value
        changed.add(step.finds)
    return found[chain[-1].finds]


def right_by_itself(step: Step, wide: Span) -> Span:
    """What a step may give whatever stands before it, `wide` being all that three-figure working may come to.

    Never so wide as rounding before a subtraction may make that: such an answer is judged by the numbers that it rests on.
    """
    exact = exactly(step.exact)
    if step.relation is None or step.relation.form == "sum":
        return exact.wider(ROUNDING)
    most = exact.wider(_MOST_APART * ROUNDING).hull(*_otherwise(step))
    return Span(max(wide.low, most.low), min(wide.high, most.high))


def _otherwise(step: Step) -> Span | tuple[()]:
    """What a step may give without an approximation, rounded to three figures."""
    return () if step.also is None else exactly(step.also).wider(ROUNDING)


def right_spans(
    chain: tuple[Step, ...], known: Mapping[str, Fraction], read: Mapping[str, Span] | None = None
) -> dict[str, Span]:
    """For every step the numbers that are right: all that three-figure working from what is printed may come to, by any route.

    What was `read` from a graph may be any number that is accepted there.
    """
    found = {}
    printed = {**{name: exactly(number) for name, number in known.items()}, **(read or {})}
    worked = {step.finds: span for step, span in _worked_on(chain, printed) if span is not None}
    for step in chain:
        span = worked.get(step.finds)
        found[step.finds] = (span or exactly(step.exact)).hull(step.exact).wider(ROUNDING).hull(*_otherwise(step))
    for values in rounded_runs(chain, known):
        for step in chain:
            if step.finds in values:
                found[step.finds] = found[step.finds].hull(values[step.finds])
    return found


def rounded_runs(chain: tuple[Step, ...], known: Mapping[str, Fraction]) -> Iterator[dict[str, Fraction]]:
    """The chain worked with every step rounded to three figures, then to four: as far as it goes."""
    for figures in (3, 4):
        values = dict(known)
        for step in chain:
            value = one_value(step, values)
            if value is None:
                break
            values[step.finds] = Fraction(*rounded(value.numerator, value.denominator, figures))
        yield values
