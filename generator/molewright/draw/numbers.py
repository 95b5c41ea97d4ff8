"""A choice comes in; one of its numbers goes out, as it is written: picked from a stream, or stated by somebody else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import Protocol

from molewright.bank.definitions import Choice
from molewright.chem.quantity import Quantity, last_place
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.quantities import Name

Steps = tuple[int, int]  # the first of some steps of a range, and how many


class Source(Protocol):
    """Where the numbers of a draw come from."""

    def one(self, name: Name, choice: Choice) -> Quantity:
        """A number of the choice."""

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        """A number of the choice that is one of these steps. Raises Refusal where there is none."""


@dataclass(frozen=True, slots=True)
class Picked:
    """Numbers picked from a stream, so that they keep the windows."""

    stream: Stream

    def one(self, name: Name, choice: Choice) -> Quantity:
        return pick_number(choice, self.stream)

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        if not any(size for _, size in pieces):
            raise no_number(name)
        at = self.stream.whole(0, sum(size for _, size in pieces) - 1)
        for first, size in pieces:
            if at < size:
                return choice.written((first + at) * step_of(choice))
            at -= size
        raise AssertionError("unreachable")


@dataclass(frozen=True, slots=True)
class Stated:
    """Numbers that are stated, and refused where a draw would not have come upon them."""

    numbers: Mapping[Name, Quantity]

    def one(self, name: Name, choice: Choice) -> Quantity:
        return self.numbers[name]

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        stated = self.numbers[name]
        step, reach = (
            step_of(choice),
            Fraction(10) ** last_place(stated.number),
        )  # several steps may be written as one number
        for at in range(floor((stated.exact - reach) / step), ceil((stated.exact + reach) / step) + 1):
            if any(first <= at < first + size for first, size in pieces) and choice.written(at * step) == stated:
                return stated
        raise no_number(name)


@dataclass(frozen=True, slots=True)
class Partly:
    """Some numbers that somebody has fixed, as they are written and whatever a draw would have come upon; the rest is picked."""

    numbers: Mapping[Name, Quantity]
    rest: Picked

    def one(self, name: Name, choice: Choice) -> Quantity:
        fixed = self.numbers.get(name)
        return self.rest.one(name, choice) if fixed is None else fixed

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        fixed = self.numbers.get(name)
        return self.rest.among(name, choice, pieces) if fixed is None else fixed


@dataclass(frozen=True, slots=True)
class Loosely:
    """The same where no number keeps the windows: what bends to them is picked from all its values."""

    numbers: Mapping[Name, Quantity]
    stream: Stream

    def one(self, name: Name, choice: Choice) -> Quantity:
        fixed = self.numbers.get(name)
        return pick_number(choice, self.stream) if fixed is None else fixed

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        return self.one(name, choice)


def unlike(name: Name, choice: Choice, stated: Quantity) -> str:
    """Why a draw does not come upon a number, in words; "" where it could."""
    if choice.options:
        if any(option.in_base == stated.in_base for option in choice.options):
            return ""
        return f"the {name} is drawn from {', '.join(map(str, choice.options))}"
    low, high = (end * choice.unit.factor for end in ends_of(choice))
    if low <= stated.in_base <= high:
        return ""
    return f"the {name} is drawn from {choice.low} to {choice.high} {choice.unit}"


def pick_number(choice: Choice, stream: Stream) -> Quantity:
    """One number of a choice, written with its figures."""
    if choice.options:
        return stream.pick(choice.options)
    return choice.written(ends_of(choice)[0] + stream.whole(0, last_step_of(choice)) * step_of(choice))


@lru_cache(maxsize=512)
def values_of(choice: Choice, bends: bool) -> tuple[Quantity, ...]:
    """The values of a choice; a number that bends takes multiples of its step, any other starts at the low end."""
    if choice.options:
        each = {option.in_base: option for option in choice.options}
        return tuple(each[value] for value in sorted(each))
    low, high = ends_of(choice)
    step = step_of(choice)
    start, count = (
        (ceil(low / step) * step, floor(high / step) - ceil(low / step)) if bends else (low, last_step_of(choice))
    )
    return tuple(dict.fromkeys(choice.written(start + at * step) for at in range(count + 1)))


def ends_of(choice: Choice) -> tuple[Fraction, Fraction]:
    """The ends of a range in its own unit."""
    return choice.walk[:2]


def step_of(choice: Choice) -> Fraction:
    return choice.walk[2]


def last_step_of(choice: Choice) -> int:
    """The number of the last step of a range, its low end being number 0."""
    low, high, step = choice.walk
    return (
        (high.numerator * low.denominator - low.numerator * high.denominator)
        * step.denominator
        // (step.numerator * low.denominator * high.denominator)
    )


def bounds_of(choice: Choice) -> tuple[float, float]:
    """The ends of a range in base units."""
    factor = float(choice.unit.factor)
    low, high = ends_of(choice)
    return float(low) * factor, float(high) * factor


def no_number(name: Name) -> Refusal:
    return Refusal("window", f"no {name} keeps the titre and the excess in their windows")
