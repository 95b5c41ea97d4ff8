"""All kinds of question come in; which of their sheets the tests of sheets read goes out.

Every kind is composed once, at the level whose turn it is; the kinds that together show every shape (`covering`) at every level and
in both styles of units. A test reads no others, so that what one of them has composed is there for all.
"""

from __future__ import annotations

from itertools import cycle

from molewright.chem.conventions import UnitStyle
from molewright.sheet.parts import Level
from shared.covering import covering
from shared.for_each import SHARES_OF_KINDS, for_each
from shared.kinds import KEYS, Gathered, place

Turn = tuple[str, Level, UnitStyle]

LEVELS_IN_TURN: tuple[tuple[Level, UnitStyle], ...] = (("scaffolded", "litre"), ("structured", "dm3"), ("exam", "dm3"))
SHEETS_ONCE: list[Turn] = [(key, *level) for key, level in zip(KEYS, cycle(LEVELS_IN_TURN), strict=False)]
SHEETS: list[Turn] = sorted({
    *SHEETS_ONCE,
    *((key, *level) for key in covering(KEYS) for level in (*LEVELS_IN_TURN, ("scaffolded", "dm3"))),
})  # fmt: skip


def _of(turns: list[Turn]) -> Gathered:
    """A test of each; all sheets of a kind are composed by one processor."""
    return for_each("turn", turns, map(" ".join, turns), shares=SHARES_OF_KINDS, share_of=place)


every_sheet = _of(SHEETS)
"""For a rule about what is printed."""

every_kind_once = _of(SHEETS_ONCE)
"""For a rule about a kind that is the same at every level."""


def every_sheet_at(level: Level, style: UnitStyle = "dm3") -> Gathered:
    """For a rule about what only one level prints, or one style of units."""
    return _of([turn for turn in SHEETS if turn[1:] == (level, style)])
