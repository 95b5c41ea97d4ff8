"""The banks come in; the plans of their questions go out as a file, so that an installed package does not begin by planning."""

from __future__ import annotations

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.question.check import Questions

DRAWS = 4  # of each kind: nine shapes in ten; the tenth is planned when it is first met


def every_plan(bank: Bank, draws: int = DRAWS) -> bytes:
    """What `Plans` reads as carried: a plan for every shape that so many questions of each kind come upon."""
    plans = Plans(bank.fingerprint, None)
    questions = Questions(bank, plans)
    for key, archetype in bank.archetypes.items():
        for number in range(draws):
            try:
                questions.make(archetype, Stream(f"plans/{key}/{number}"), stretch=True)
            except Mistake:  # a draw that no number suits: another comes upon the shape
                continue
    return plans.content()
