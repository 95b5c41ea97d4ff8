"""What is wanted of an order comes in; who gets which paper goes out: a copy for each pupil, or one for each level and version."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.errors import Mistake, Where
from molewright.order.choices import CLASS_KEY, SHEETS, SUPPORT
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil, pupil_codes

SIGNS = {"scaffolded": "tern", "structured": "wren", "exam": "plover", "stretch": "heron", "mixed": "finch"}
"""What stands on the sheets of a class at several levels, so that they can be told apart: birds of one island, none above another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One paper that is printed: at which level, with which version's numbers, for whom."""

    level: str
    version: str
    pupil: Pupil | None = None

    @property
    def numbers(self) -> tuple[str, str]:
        """What papers with the same numbers and parts share."""
        return self.level, self.version


def levels_of(order: Order, wanted: Wanted) -> tuple[str, ...]:
    """The levels that papers are made at, from much support to little: those of the order, or of the class list."""
    if order.levels:
        return order.levels
    named = {pupil.level for pupil in wanted.pupils if pupil.level}
    if not named:
        return (order.level,)
    others = {order.level} if any(not pupil.level for pupil in wanted.pupils) else set()
    return tuple(level for level in ("mixed", *SUPPORT) if level in named | others)


def copies(order: Order, wanted: Wanted) -> tuple[Copy, ...]:
    """Every paper in the order of the class list, or level by level. Raises Mistake for a pupil whose level or version is not made."""
    levels = levels_of(order, wanted)
    if not wanted.pupils:
        return tuple(Copy(level=level, version=version) for level in levels for version in wanted.versions)
    codes = pupil_codes(wanted.pupils) if wanted.numbers == "own" else ()
    found: list[Copy] = []
    for number, pupil in enumerate(wanted.pupils):
        version = codes[number] if codes else pupil.version or wanted.versions[number % len(wanted.versions)]
        found.append(Copy(level=_level(pupil, order, levels), version=version, pupil=pupil))
    return tuple(found)


def usual_sheets(wanted: Wanted, aimed: bool) -> tuple[str, ...]:
    """The sheets of an order; of a class with numbers of their own, where the order names none, the questions and one key.

    A paper that is aimed at a slip is for learning: its worked solutions are among them.
    """
    own = len(wanted.pupils) > 1 and wanted.numbers == "own"
    worked = ("worked",) if aimed else ()
    return ("questions", *worked, CLASS_KEY) if own and wanted.sheets == SHEETS else wanted.sheets


def _level(pupil: Pupil, order: Order, levels: tuple[str, ...]) -> str:
    if pupil.level in levels:
        return pupil.level
    if pupil.level:
        raise Mistake(
            f"{pupil.name} has the level {pupil.level} in the class list",
            expected=f"one of those that are made: {', '.join(levels)}",
            where=Where("class list"),
        )
    if order.levels and len(levels) > 1:
        raise Mistake(
            f"the class list does not say at which level {pupil.name} works",
            expected=f"a column 'level' with one of: {', '.join(levels)}",
            where=Where("class list"),
        )
    return order.level if order.level in levels else levels[0]
