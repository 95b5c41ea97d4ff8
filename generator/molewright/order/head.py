"""The head of an order comes in, or what a department has settled for all its orders; frozen values go out.

What may be settled for all orders is what stands here: front, level, masses, units, telling, equations, versions, sheets, forms, files,
answer space, look, tint, numbers, fields to type in.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from molewright.chem.conventions import UNIT_STYLES, Convention, UnitStyle
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.tellings import Telling
from molewright.order.choices import (
    ANSWER_SPACES,
    FADED,
    FILES,
    FORMS,
    LEVEL_CHOICES,
    LOOKS,
    MASSES,
    RENAMED_SHEETS,
    SERIES,
    SHEET_CHOICES,
    SOME,
    TELLING_CHOICES,
    TINTS,
    WHOSE_NUMBERS,
)
from molewright.order.front_text import read_front
from molewright.order.order import MOST_QUESTIONS, USUAL_WISHES, Order, Wanted
from molewright.reading.fields import Faults, Fields
from molewright.reading.yaml_text import Branch, Listing

T = TypeVar("T")
_SEVERAL = {"level": "levels"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What an order says at its head; as it stands here, what is meant where nothing is said.

    A `count` of 0 leaves the number of questions to what is asked for.
    """

    wanted: Wanted = USUAL_WISHES
    count: int = 0
    levels: tuple[str, ...] = ("mixed",)
    masses: Convention = "one place"
    style: UnitStyle = "dm3"
    telling: Telling | None = None
    equations: str = SOME


class Reader:
    """Reads one value after another, and goes on where one is at fault, so that a file is mended once."""

    def __init__(self, fields: Fields) -> None:
        self.fields = fields
        self.faults = Faults()

    def value(self, key: str, make: Callable[[], T], otherwise: T) -> T:
        """What `make` makes, or what stands in for it while other faults are looked for."""
        if not self.fields.has(key):
            return otherwise
        found = self.faults.attempt(self.fields.at(key), make)
        return otherwise if found is None else found

    def each(self, key: str, make: Callable[[Branch], T], most: int) -> tuple[T, ...]:
        """What `make` makes of each member of a list."""
        if not self.fields.has(key):
            return ()
        branch = self.fields.branch(key)
        if not isinstance(branch, Listing):
            self.faults.attempt(self.fields.at(key), lambda: _no_list(key))
            return ()
        if len(branch.members) > most:
            self.faults.attempt(self.fields.at(key), lambda: _too_many(key, len(branch.members), most))
            return ()
        found = (self.faults.attempt(one.where, lambda one=one: make(one)) for one in branch.members)  # type: ignore[misc]
        return tuple(one for one in found if one is not None)


def _no_list(key: str) -> None:
    raise Mistake(f"no list under '{key}'", expected=f"'{key}:' and below it a '- ' for each")


def _too_many(key: str, number: int, most: int) -> None:
    raise Mistake(f"{number} entries under '{key}'", expected=f"at most {most}")


def read_head(read: Reader, usual: Head) -> Head:
    """The head of an order; what it leaves out is as in `usual`. Faults are gathered by the reader."""
    fields, wanted = read.fields, usual.wanted
    levels: tuple[str, ...] = read.value("level", lambda: words(fields, "level", LEVEL_CHOICES), usual.levels)
    count = len(SERIES) if levels == (FADED,) else usual.count
    masses: Convention = read.value("masses", lambda: fields.one_of("masses", MASSES), usual.masses)
    style: UnitStyle = read.value("units", lambda: fields.one_of("units", UNIT_STYLES), usual.style)
    telling: Telling | None = read.value("telling", lambda: fields.one_of("telling", TELLING_CHOICES), usual.telling)
    front, title = read.value("front", lambda: read_front(fields, wanted.front), (wanted.front, ""))
    return Head(
        wanted=Wanted(
            title=read.value("title", lambda: fields.name("title"), title or wanted.title),
            front=front,
            versions=read.value("versions", lambda: _versions(fields), wanted.versions),
            forms=read.value("forms", lambda: words(fields, "forms", FORMS), wanted.forms),
            sheets=read.value("sheets", lambda: _sheets(fields), wanted.sheets),
            numbers=read.value("numbers", lambda: fields.one_of("numbers", WHOSE_NUMBERS), wanted.numbers),
            answer_space=read.value(
                "answer space", lambda: fields.one_of("answer space", ANSWER_SPACES), wanted.answer_space
            ),
            look=read.value("look", lambda: fields.one_of("look", LOOKS), wanted.look),
            tint=read.value("tint", lambda: fields.one_of("tint", TINTS), wanted.tint),
            files=read.value("files", lambda: fields.one_of("files", FILES), wanted.files),
            fillable=read.value("fillable", lambda: fields.yes("fillable"), wanted.fillable),
        ),
        count=read.value("questions", lambda: fields.whole("questions", None, 1, MOST_QUESTIONS), count),
        levels=levels,
        masses=masses,
        style=style,
        telling=telling,
        equations=read.value("equations", lambda: fields.text("equations"), usual.equations),
    )


def with_levels(order: Order, levels: tuple[str, ...]) -> Order:
    """The order at one level, or the same questions at several."""
    one = len(levels) == 1
    return replace(order, level=levels[0] if one else "mixed", levels=() if one else levels)


def words(fields: Fields, key: str, choices: tuple[str, ...]) -> tuple[str, ...]:
    """A list of words, each one of a few."""
    found = fields.texts(key)
    for word in found:
        if word not in choices:
            raise Mistake(
                f"{shortened(word)} is not one of the {_SEVERAL.get(key, key)}",
                expected=f"of: {', '.join(choices)}",
                near=nearest(word, choices),
            )
    return tuple(dict.fromkeys(found))


def _sheets(fields: Fields) -> tuple[str, ...]:
    for word in fields.texts("sheets"):
        if word in RENAMED_SHEETS:
            raise renamed_sheet(word)
    return words(fields, "sheets", SHEET_CHOICES)


def renamed_sheet(word: str) -> Mistake:
    """What is said to somebody who asks for a sheet by the name it had before."""
    now = RENAMED_SHEETS[word]
    return Mistake(f"the sheet '{word}', which is called '{now}' now", expected=now, do=f"Write {now} for {word}.")


def _versions(fields: Fields) -> tuple[str, ...]:
    found = fields.texts("versions")
    for word in found:
        if not re.fullmatch(r"[A-Z]", word):
            raise Mistake(f"the version {shortened(word)}", expected="a capital letter, as in [A, B]")
    return tuple(dict.fromkeys(found))
