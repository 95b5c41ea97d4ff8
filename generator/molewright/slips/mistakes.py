"""A worked question comes in; all that mistakes make of it goes out, each worked once and kept for every sheet that tells it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from molewright.bank.definitions import Slip
from molewright.chem.quantity import Quantity
from molewright.derivation.worked import Worked
from molewright.experiment.quantities import Name
from molewright.experiment.titres import Run
from molewright.slips.mistaken_route import SlipAnswer, SlipTable
from molewright.slips.slip_words import Key
from molewright.slips.written_down import is_common, likeliest, would_be_written
from molewright.slips.wrong_answers import WrongAnswer, left_open, wrong_answers


@dataclass(frozen=True, kw_only=True)  # no slots: what is worked out is kept
class Mistakes:
    """What mistakes make of one question. `done` is how many mark points are worked out for the pupil."""

    table: SlipTable
    runs: tuple[Run, ...]
    worked: Worked
    given: Mapping[Name, Fraction]
    done: int = 0

    @cached_property
    def right(self) -> Mapping[Key, Fraction]:
        """What mistakes are put into: every quantity of the chain as it is, and the facts that mistakes are made with."""
        return self.table.right(self.given, self.table.surroundings.facts(self.runs))

    @cached_property
    def single(self) -> tuple[SlipAnswer, ...]:
        """What each mistake alone gives, exactly."""
        found = self.table.answers(self.right, self.worked.marks)
        return tuple(left_open(found, self.done, self.worked.marks))

    def every(self) -> list[SlipAnswer]:
        """What each mistake gives, one by one, exactly, then what two at once give."""
        pairs = self.table.pairs(self.given, self.table.surroundings.facts_on_floats(self.runs), self.worked.marks)
        return [*self.single, *left_open(pairs, self.done, self.worked.marks)]

    @cached_property
    def wrong(self) -> tuple[WrongAnswer, ...]:
        """What each common mistake would give, the commonest first."""
        return wrong_answers(self.single, self.worked)

    @cached_property
    def likely(self) -> tuple[WrongAnswer, ...]:
        """The wrong answers that somebody would write, the likeliest first."""
        right, asked = self.worked.answer, self.worked.steps[-1].variable

        def told(wrong: Quantity, slip: Slip) -> bool:
            return would_be_written(wrong, right, asked, is_common(slip))

        found = wrong_answers(self.single, self.worked, told)
        return likeliest(found, right, asked)
