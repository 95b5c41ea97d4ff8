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

    `past` are the questions that were set before.
    """

    topics: frozenset[str]
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
        topics=frozenset(topics) or _taught(bank, paper),
        managed=managed,
        most=managed + MOST_RISE if managed else least,
        past=tuple(past),
    )


def demand_of(bank: Bank, printed: PrintedQuestion) -> int:
    """How demanding a printed question is, 1 to 9."""
    kind = bank.archetypes.get(printed.archetype)
    return kind.demand if kind else USUAL_DEMAND


class Taught:
    """Tells whether a kind of question lies on some topics; remembers what each kind needs."""

    def __init__(self, bank: Bank) -> None:
        self._bank = bank
        self._needs: dict[str, tuple[frozenset[str], ...]] = {}

    def lies_on(self, kind: Archetype, topics: frozenset[str]) -> bool:
        """Whether its heading is among the topics, and whatever else it needs."""
        if kind.topic not in topics:
            return False
        if kind.key not in self._needs:
            self._needs[kind.key] = self._bank.needs(kind)
        return all(topics & group for group in self._needs[kind.key])


def _taught(bank: Bank, paper: PrintedPaper) -> frozenset[str]:
    """The topics of a paper, what its kinds need beside them, and all that is taught before."""
    named: set[str] = set()
    for one in paper.questions:
        kind = bank.archetypes.get(one.archetype)
        groups = bank.needs(kind) if kind else (frozenset((one.topic,)),)
        named |= {next(iter(group)) for group in groups if len(group) == 1}
        if kind and any(len(group) > 1 and not group & bank.below(named) for group in groups):
            named |= {min(group, key=lambda topic: (len(bank.below((topic,))), topic)) for group in groups}
    return bank.below(filter(None, named))


def _managed(pupil: MarkedPupil, printed: PrintedQuestion) -> bool:
    sure = printed.marks - pupil.pending.get(printed.number, 0)
    return sure > 0 and 2 * pupil.marks.get(printed.number, 0) >= sure
