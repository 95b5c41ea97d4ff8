"""A mistake in plain words comes in; the slip of the banks that it means goes out, or the nearest of them to choose among."""

from __future__ import annotations

import re
from collections.abc import Sequence

from molewright.bank.definitions import Slip
from molewright.errors import Mistake, nearest, shortened

MOST_OFFERED = 5
LEAST_SHARED = 4  # letters that two forms of a word begin with alike: scaled, scaling
LEAST_MATCHED = 0.5  # of the words, of what is offered as near
MOST_LETTERS = 200
_FILLING = re.compile(
    "an?|and|as|at|by|did|do|does|for|from|had|has|he|her|his|in|into|is|it|its|not|of|on|or|she|the|their|they|to|was|were|when|with"
)
"""Words that tell no slip from another."""


def find_slip(slips: Sequence[Slip], text: str) -> Slip:
    """The slip that is called so: by its key, its name, what else people say, or by words that no other slip has together.

    Raises Mistake, with the nearest, where none or several are meant, and with the reason where no number would show it.
    """
    found = _meant(slips, text)
    if found.unseen:
        raise Mistake(
            f"a paper cannot be aimed at '{found.name}': {found.unseen}", expected="a slip that a number can show"
        )
    return found


def _meant(slips: Sequence[Slip], text: str) -> Slip:
    wanted = " ".join(text.casefold().split())
    called = [
        one for one in slips if wanted in (one.key.casefold(), *(said.casefold() for said in (one.name, *one.also)))
    ]
    if len(called) == 1:
        return called[0]
    words = _words(wanted[:MOST_LETTERS])
    rated = sorted(((_matched(words, one), one) for one in slips), key=lambda pair: (-pair[0], pair[1].key))
    best = [one for share, one in rated if share == rated[0][0]]
    if words and rated[0][0] >= 1 and len(best) == 1:
        return best[0]
    if words and rated[0][0] >= 1:
        raise Mistake(
            f"{shortened(text)} could be {len(best)} slips",
            expected=f"one of: {_told(best)}",
            do="Say more of it, or give its key.",
        )
    near = [one for share, one in rated if share >= LEAST_MATCHED][:MOST_OFFERED]
    by_name = {said: one for one in slips for said in (one.name, *one.also)}
    near = near or list(dict.fromkeys(by_name[name] for name in nearest(text, by_name)))
    raise Mistake(
        f"no slip {shortened(text)} in the banks",
        expected="a mistake that 'molewright banks slips' lists, in plain words or by its key",
        near=[f"{one.name} ({one.key})" for one in near],
    )


def _told(slips: Sequence[Slip]) -> str:
    more = f", and {len(slips) - MOST_OFFERED} more" if len(slips) > MOST_OFFERED else ""
    return "; ".join(f"{one.name} ({one.key})" for one in slips[:MOST_OFFERED]) + more


def _words(text: str) -> tuple[str, ...]:
    found = re.findall(r"[^\W_]+", text)
    return tuple(dict.fromkeys(word for word in found if not _FILLING.fullmatch(word)))


def _matched(words: Sequence[str], slip: Slip) -> float:
    """How much of what was said stands in the ways of saying a slip: 1 is all of it, and 2 all of it and of one way of saying it."""
    ways = [_words(said.casefold()) for said in (slip.name, *slip.also)]
    if any(_holds(words, way) and _holds(way, words) for way in ways):
        return 2.0
    known = [word for way in ways for word in way]
    return sum(_holds(known, [word]) for word in words) / max(1, len(words))


def _holds(known: Sequence[str], words: Sequence[str]) -> bool:
    return all(any(_alike(word, other) for other in known) for word in words)


def _alike(word: str, other: str) -> bool:
    """Whether two words are one, or forms of one: they begin alike but for an ending of two letters."""
    least = max(LEAST_SHARED, min(len(word), len(other)) - 2)
    return word == other or (min(len(word), len(other)) >= LEAST_SHARED and word[:least] == other[:least])
