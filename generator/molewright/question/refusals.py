"""Refused draws come in one by one; how many there were by each rule goes out, and the sentence where nothing could be drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from molewright.bank.definitions import Archetype
from molewright.draw.chosen import Chosen
from molewright.draw.refusal import Refusal
from molewright.errors import Mistake
from molewright.plausibility.remedies import remedy


@contextmanager
def placing(archetype: Archetype) -> Iterator[None]:
    """Whatever cannot be done with an archetype is told with its place."""
    try:
        yield
    except Mistake as mistake:
        raise mistake.at(archetype.where) if archetype.where else mistake from None


@dataclass(slots=True)
class Refusals:
    """Refused draws: how many by each rule, and what each rule said last."""

    counts: Counter[str] = field(default_factory=Counter)
    said: dict[str, str] = field(default_factory=dict)

    def add(self, refusal: Refusal) -> None:
        """Count one."""
        self.counts[refusal.rule] += 1
        self.said[refusal.rule] = refusal.detail

    def mistake(self, archetype: Archetype, chosen: Chosen) -> Mistake:
        """What whoever wrote the archetype is told where every draw was refused."""
        told = ", ".join(f"{rule} {count} times" for rule, count in self.counts.most_common())
        commonest = self.counts.most_common(1)[0][0]
        roles = ", ".join(f"{role} {what}" for role, what in chosen.variant.roles.items())
        mistake = Mistake(
            f"the archetype '{archetype.key}' ({roles}) was drawn {self.counts.total()} times and always refused ({told})",
            expected="numbers that keep every window and rule",
            do=f"The last time by '{commonest}': {self.said[commonest]}. {remedy(commonest)}",
        )
        return mistake.at(archetype.where) if archetype.where else mistake


@dataclass(slots=True)
class Tally:
    """How many draws were made and refused, rule by rule, and what each rule said last."""

    made: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    said: dict[str, str] = field(default_factory=dict)

    def take_in(self, refusals: Refusals) -> None:
        """Count the refusals of one question."""
        self.refused.update(refusals.counts)
        self.said.update(refusals.said)

    def clear(self) -> None:
        """Begin again."""
        self.made = 0
        self.refused.clear()
        self.said.clear()

    @property
    def share_refused(self) -> float:
        """Refused draws as a share of all."""
        refused = sum(self.refused.values())
        return refused / (refused + self.made) if refused + self.made else 0.0
