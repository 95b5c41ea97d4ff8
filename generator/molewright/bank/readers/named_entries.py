"""Files of entries come in; made entries by what they are called go out, with the place of each. Own entries replace none.

What is refused is kept as a fault; what only follows from another fault is left out, and which files that concerns is kept too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar

from molewright.bank.readers.folders import Folders, Found
from molewright.errors import Mistake, Where
from molewright.reading.fields import Faults, Fields

T = TypeVar("T")
_ADD = "what they do not have: your own entries add to them and replace none"


class Gathering:
    """The entries of all folders, file by file, and what was found wrong."""

    def __init__(self, folders: Folders, faults: Faults) -> None:
        self.folders = folders
        self.faults = faults
        self.places: dict[tuple[str, str], Where] = {}  # of every entry, by its file and what it is called
        self.left_out: set[str] = (
            set()
        )  # files with refused entries, of which something refers to an entry that is not there
        self._built_in: dict[str, set[str]] = {}  # what the entries of the first folder are called, by file
        self._spoilt: set[str] = set()  # files that could not be read, or of which an entry was refused

    def each(self, name: str, make: Callable[[Fields], T]) -> Iterator[tuple[Found, T]]:
        """The entries of a file that can be made, with where they stand; faults of the others are kept."""
        for found in self.folders.entries(name):

            def one(found: Found = found) -> T:
                return Fields(found.branch, gathers=True).made(make)

            made = self.faults.attempt(found.branch.where, one)
            if made is not None:
                yield found, made
            else:
                self._spoilt.add(name)
        if name in self.folders.unread:
            self._spoilt.add(name)

    def by(self, name: str, make: Callable[[Fields], T], key: Callable[[T], str]) -> dict[str, T]:
        """The entries of a file by their key; one that stands twice is a fault, for one of them would silently win."""
        made_by: dict[str, T] = {}
        for found, made in self.each(name, make):
            called = key(made)
            if called in made_by:
                self.refuse_twice(name, called, found)
                continue
            self.place(name, called, found)
            made_by[called] = made
        return made_by

    def added(
        self, name: str, make: Callable[[Fields], T], keys: Callable[[T], tuple[str, ...]], kind: str
    ) -> Iterator[T]:
        """The entries of a file that may have several for one thing: own ones are of things that the banks have none for."""
        for found, made in self.each(name, make):
            known = [key for key in keys(made) if self.is_built_in(name, key)]
            if found.own and known:
                self.faults.found.append(
                    Mistake(
                        f"the banks have {kind} {', '.join(known)} already",
                        expected=_ADD,
                        where=found.branch.where,
                        do="Leave it out here.",
                    )
                )
                continue
            for key in keys(made):
                self.place(name, key, found)
            yield made

    def place(self, name: str, called: str, found: Found) -> None:
        """Keep where an entry stands, and whether it is one of the banks'."""
        self.places[(name, called)] = found.branch.where
        if not found.own:
            self._built_in.setdefault(name, set()).add(called)

    def is_built_in(self, name: str, called: str) -> bool:
        """Whether the first folder has an entry that is called so."""
        return called in self._built_in.get(name, ())

    def built_in(self, name: str, made: Mapping[str, T]) -> dict[str, T]:
        """Those entries of a file that are the banks' own."""
        return {called: one for called, one in made.items() if self.is_built_in(name, called)}

    def refuse_twice(self, name: str, called: str, found: Found, kind: str = "") -> None:
        """Keep the fault of an entry whose like is there already."""
        if found.own and self.is_built_in(name, called):
            fault = Mistake(
                f"the banks have {kind}'{called}' already",
                expected=_ADD,
                where=found.branch.where,
                do="Leave it out here, or give it a name of its own.",
            )
        else:
            first = self.places[(name, called)]
            fault = Mistake(
                f"{kind}'{called}' stands twice",
                expected="one entry for each",
                where=found.branch.where,
                do=f"It stands first in {first.file}, line {first.line}.",
            )
        self.faults.found.append(fault)
        self._spoilt.add(name)

    def keep(self, fault: Mistake, *files: str) -> None:
        """Keep what is said of a reference into files, unless what it refers to may be among the entries that were refused."""
        spoilt = self._spoilt & set(files)
        self.left_out |= spoilt
        if not spoilt:
            self.faults.found.append(fault)
