"""A test of one kind of question comes in; tests of all kinds, or of some, go out, parted so that a processor has the same ones in all.

What one test has drawn or composed of a kind, the next one of that processor reads (`dozen` in conftest.py, `compose` in the sheets).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from shared.banks import built_in
from shared.for_each import SHARES_OF_KINDS, for_each

KEYS = sorted(built_in().archetypes)
_PLACE = {key: place for place, key in enumerate(KEYS)}

Gathered = Callable[[Callable[..., None]], Callable[..., None]]


def each_kind(keys: Iterable[str] = KEYS) -> Gathered:
    """A thorough test of each of these kinds; it takes `key`."""
    return for_each("key", keys, shares=SHARES_OF_KINDS, share_of=place)


def place(case: tuple[Any, ...]) -> int:
    """The place of a kind, or of what begins with its key, among all kinds."""
    key = case[0] if isinstance(case[0], str) else case[0][0]
    return _PLACE[key]
