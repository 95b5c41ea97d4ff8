"""A pupil's marks and their paper come in; what was taught and how demanding the next questions may be goes out. Draws nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.answer.printed import PrintedPaper, PrintedQuestion
from molewright.bank.definitions import Archetype, Bank
from molewright.marking.marked import MarkedPupil
from molewright.order.order import Past

MOST_RISE = 2  # of the nine steps of demand, from what a pupil managed
USUAL_DEMAND = 5  # of a kind that the banks do not hold any more


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Where a pupil's next questions may lie: the topics, the demand that was managed (0 for none) and the most that is asked now.

    `met` are headings of which the paper asked something under another one, as a silver titration for water of crystallisation: none of
    their kinds come, but what is under the topics may need them. `past` are the questions that were set before.
    """

    topics: frozenset[str]
    met: frozenset[str]
    managed: int
    most: int
    past: tuple[Past, ...]


def ground_of(
    pupil: MarkedPupil, paper: PrintedPaper, bank: Bank, topics: Sequence[str] = (), past: Sequence[Past] = ()
) -> Ground:
    """The ground of a pupil. What was taught are the topics of the paper and all below them, unless `topics` are asked for.

    A question is managed with half of the marks that are not pending. Who managed none gets nothing beyond the least demanding of them.
    """
    managed = max((demand_of(bank, one) for one in paper.questions if _managed(pupil, one)), default=0)
    least = min((demand_of(bank, one) for one in paper.questions), default=USUAL_DEMAND)
    return Ground(
        topics=frozenset(topics) or bank.below(filter(None, (one.topic for one in paper.questions))),
        met=_met(bank, paper),
        managed=managed,
        most=managed + MOST_RISE if managed else least,
        past=tuple(past),
    )


def demand_of(bank: Bank, printed: PrintedQuestion) -> int:
    """How demanding a printed question is, 1 to 9."""
    kind = bank.archetypes.get(printed.archetype)
    return kind.demand if kind else USUAL_DEMAND


class Taught:
    """Tells whether a kind of question lies on a ground; remembers what each kind needs."""

    def __init__(self, bank: Bank) -> None:
        self._bank = bank
        self._needs: dict[str, tuple[frozenset[str], ...]] = {}

    def lies_on(self, kind: Archetype, ground: Ground) -> bool:
        """Whether its heading is among the topics of a ground, and whatever else it needs was met."""
        if kind.topic not in ground.topics:
            return False
        if kind.key not in self._needs:
            self._needs[kind.key] = self._bank.needs(kind)
        return all((ground.topics | ground.met) & group for group in self._needs[kind.key])


def _met(bank: Bank, paper: PrintedPaper) -> frozenset[str]:
    """The headings that the kinds on a paper need beside their own."""
    kinds = (bank.archetypes.get(one.archetype) for one in paper.questions)
    return frozenset(name for kind in kinds if kind for group in bank.needs(kind) for name in group)


def _managed(pupil: MarkedPupil, printed: PrintedQuestion) -> bool:
    sure = printed.marks - pupil.pending.get(printed.number, 0)
    return sure > 0 and 2 * pupil.marks.get(printed.number, 0) >= sure
