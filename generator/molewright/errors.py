"""The facts of a failure, kept apart; the sentence is put together when it is read.

Every failure that a user can cause is a Mistake. Anything else that escapes is our bug.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

Word = TypeVar("Word", bound=str)


@dataclass(frozen=True, slots=True)
class Where:
    """A place in a text that a person wrote: file (or "command line"), line and the key or entry on it."""

    file: str
    line: int | None = None
    entry: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.entry}" if self.entry else place

    def under(self, entry: str) -> Where:
        """The same place, one step further down: archetype, then key."""
        return Where(self.file, self.line, f"{self.entry}, {entry}" if self.entry else entry)


class CheckFailure(AssertionError):
    """Our bug, or a plan file that is wrong: bench and derivation disagree. Nothing is printed."""


class Mistake(Exception):
    """Something the user can put right: what was found, what was expected, where, and what to do."""

    def __init__(
        self, found: str, *, expected: str = "", do: str = "", where: Where | None = None, near: Iterable[str] = ()
    ) -> None:
        super().__init__(found)
        self.found = found
        self.expected = expected
        self.do = do
        self.where = where
        self.near = tuple(near)

    def at(self, where: Where) -> Mistake:
        """The same facts with the place, unless a more exact place is already known."""
        if self.where is None:
            self.where = where
        return self

    def __str__(self) -> str:
        sentence = f"{self.where}: {self.found}" if self.where else self.found
        if self.expected:
            sentence += f"; expected {self.expected}"
        if self.near:
            sentence += f"; nearest: {', '.join(self.near)}"
        if self.do:
            sentence += f". {self.do}"
        return sentence


class Mistakes(Mistake):
    """Several mistakes found in one reading, told together so that a file is mended once."""

    def __init__(self, found: Iterable[Mistake]) -> None:
        self.each = tuple(found)
        super().__init__(f"{len(self.each)} mistakes")

    def __str__(self) -> str:
        return "\n".join(str(mistake) for mistake in self.each)


def raise_all(found: Sequence[Mistake]) -> None:
    """Raise what was gathered, if anything was: one mistake by itself, several together."""
    if len(found) == 1:
        raise found[0]
    if found:
        raise Mistakes(found)


def nearest(word: str, known: Iterable[str], most: int = 3, alike: float = 0.5) -> tuple[str, ...]:
    """Known names that the word may have been meant for, the closest first; `alike` from 0 to 1, how much they have to be."""
    if len(word) > 200:  # no name is as long, and comparing would take its time
        return ()
    names = list(known)
    by_folded = {name.casefold(): name for name in names}
    close = difflib.get_close_matches(word.casefold(), by_folded, n=most, cutoff=alike)
    return tuple(by_folded[name] for name in close)


def one_of(word: str, choices: Sequence[Word], what: str, where: Where | None = None) -> Word:
    """The choice that a word names. Raises Mistake with the nearest for a word that names none."""
    for choice in choices:
        if choice == word:
            return choice
    raise Mistake(
        f"the {what} {shortened(str(word))}",
        expected=f"one of: {', '.join(choices)}",
        near=nearest(str(word), choices),
        where=where,
    )


_SPACES = dict.fromkeys(
    map(ord, "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}"), " "
)  # between number and unit


def shortened(text: str, most: int = 60) -> str:
    """A found text as it may be shown in a message: printable, quoted, and never a page long."""
    spaced = text.translate(_SPACES)
    plain = "".join(ch if ch.isprintable() else "\N{REPLACEMENT CHARACTER}" for ch in spaced)
    return f"'{plain if len(plain) <= most else plain[: most - 1] + '…'}'"
