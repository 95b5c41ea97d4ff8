"""What one question of an order fixes comes in; a frozen value goes out. Whatever it leaves open is drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, get_args

from molewright.errors import Where
from molewright.experiment.quantity_texts import Numbers
from molewright.experiment.tellings import Telling

Readings = Literal["", "table", "mean"]
READINGS: tuple[Readings, ...] = get_args(Readings)[1:]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWords:
    """A question in the teacher's own words: its text, its marks, the answer for the scheme, and how many lines are ruled.

    Text and answer are paragraphs, a line each.
    """

    text: str
    marks: int
    answer: str
    lines: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One question of an order. What is empty is open: it is drawn from the seed, which is the line's own.

    `numbers` are a teacher's own and hold in every version; `drawn` are those that were drawn, by version, so that they print again
    after the banks have grown. `part` is the further part or the fault that is asked for, `equation` the kind of equation that its
    first part asks for.
    """

    kind: str = ""
    topic: str = ""
    roles: tuple[tuple[str, str], ...] = ()
    scene: str = ""
    asked: str = ""
    level: str = ""
    part: str = ""
    equation: str = ""
    indicator: str = ""
    readings: Readings = ""
    telling: Telling | None = None  # in which way it is told
    seed: str = ""
    wording: str = ""  # a mark of how it was worded when the order was written
    numbers: Numbers = ()
    drawn: tuple[tuple[str, Numbers], ...] = ()
    words: OwnWords | None = None
    experiment: tuple[tuple[str, str], ...] = ()  # a described experiment: its keys, and the text under each
    opening: str = ""  # what stands before its stem
    moving: bool | None = None  # whether the numbers of an experiment may move; None: nothing is said of it
    moves: Numbers = ()  # how far, or that one stays; for those not named as is sensible
    as_written: tuple[str, ...] = ()  # versions that have its numbers as they are written all the same
    own_stem: str = ""  # the whole stem of an experiment in the teacher's words, a paragraph a line
    own_task: str = ""  # and what is demanded
    where: Where | None = field(default=None, compare=False)  # where it is written

    @property
    def settled(self) -> bool:
        """Whether nothing that versions share is left open."""
        return not self.from_banks or all((self.kind, self.roles, self.scene, self.asked, self.readings, self.seed))

    @property
    def from_banks(self) -> bool:
        """Whether the question is drawn from the banks, not in a teacher's own words and no experiment of theirs."""
        return self.words is None and not self.experiment

    def drawn_for(self, version: str) -> Numbers:
        """What was drawn for a version, () where nothing is kept."""
        return dict(self.drawn).get(version, ())

    def with_drawn(self, drawn: Mapping[str, Numbers]) -> OrderLine:
        """The line with the numbers of its versions."""
        return replace(self, drawn=tuple(drawn.items()))
