"""A recorded stream of choices: the same seed gives the same picks on every Python.

Python promises a stable sequence for random() alone, so every pick is built on that, and the seed is a digest of a text.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


class Stream:
    """Picks from a seed. `branch` starts an independent stream for one part of a paper."""

    def __init__(self, seed: str) -> None:
        self.seed = seed
        digest = hashlib.sha256(seed.encode()).digest()
        self._random = Random(int.from_bytes(digest[:16], "big")).random

    def branch(self, name: str) -> Stream:
        """A stream of its own, fixed by this seed and the name."""
        return Stream(f"{self.seed}/{name}")

    def whole(self, low: int, high: int) -> int:
        """A whole number from low to high, both possible."""
        return low + int(self._random() * (high - low + 1))

    def pick(self, options: Sequence[T]) -> T:
        """One of the options."""
        return options[int(self._random() * len(options))]

    def weighted(self, options: Sequence[T], weights: Sequence[int]) -> T:
        """One of the options, as often as its weight says."""
        at = self._random() * sum(weights)
        for option, weight in zip(options, weights, strict=True):
            at -= weight
            if at < 0:
                return option
        return options[-1]

    def chance(self, percent: int) -> bool:
        """True in so many of a hundred picks."""
        return self._random() * 100 < percent

    def shuffled(self, options: Sequence[T]) -> list[T]:
        """The options in another order."""
        left, order = list(options), []
        while left:
            order.append(left.pop(int(self._random() * len(left))))
        return order
