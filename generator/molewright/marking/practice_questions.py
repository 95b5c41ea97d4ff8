"""A pupil's focus comes in; the questions of a practice paper go out, each with its level and why it was chosen. Draws, never renders.

A question is taken for a slip only if the slip can be made in it and its wrong answer lies apart from the right one and from
what every other slip gives, so that the next marking can tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.answer.printed import PrintedPaper, PrintedQuestion
from molewright.bank.definitions import Archetype, Bank
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.marking.next_aim import Focus
from molewright.question.check import Question, Questions
from molewright.question.shown_slips import can_be_made, shows
from molewright.sheet.parts import Level

TRIES = 6  # draws of an archetype in which a slip is looked for
MOST_LOOKED = 14  # archetypes looked through for one slip
_STRETCH = 2  # questions of a stretch paper


@dataclass(frozen=True, slots=True)
class PracticeChoice:
    """A question of a practice paper, its level, and why it was chosen."""

    question: Question
    level: Level
    why: str


class Chooser:
    """Chooses questions from a bank; remembers in which archetypes a slip cannot be made."""

    def __init__(self, bank: Bank, questions: Questions) -> None:
        self.bank = bank
        self.questions = questions
        self._never: set[tuple[str, str]] = set()  # archetype and slip that cannot be made in it
        self._hidden: set[tuple[str, str]] = set()  # and those in which another slip gives the same number

    def on_slip(self, paper: PrintedPaper, aim: Focus, stream: Stream) -> list[PracticeChoice]:
        seen = _by_number(paper)
        assert aim.shown is not None
        source = seen[aim.shown.row.question]
        order = self._near(source)
        why = "the slip shows in it and no other slip gives its wrong answer"
        apart = True
        first = self._showing(aim.slip, order, stream.branch("first"), set())
        if first is None:
            why = "the slip can be made in it; another slip gives the same number, so look at the working"
            apart = False
            first = self._showing(aim.slip, order, stream.branch("first"), set(), apart)
        if first is None:
            return self.on_worst(paper, aim, stream)
        kind = first.draw.archetype
        if kind.key == source.archetype:
            why += "; the kind of question it was made in"
        chosen = [PracticeChoice(first, "scaffolded", why)]
        others = [one for one in order if one.key != kind.key] + [kind]
        second = self._showing(aim.slip, others, stream.branch("second"), {first.draw.context.key}, apart)
        if second is not None:
            where = "another kind of question" if second.draw.archetype.key != kind.key else "another scene"
            chosen.append(
                PracticeChoice(second, "structured", f"the same slip can be made in it: {where}, less support")
            )
        used = {one.question.draw.archetype.key for one in chosen}
        unlike = self._unlike(used, source.topic, self._demand(source), stream.branch("unlike"))
        if unlike is not None:
            chosen.append(PracticeChoice(unlike, "exam", "unlike the others, so that the method has to be chosen"))
        return chosen

    def on_worst(self, paper: PrintedPaper, aim: Focus, stream: Stream) -> list[PracticeChoice]:
        seen = _by_number(paper)
        source = seen[aim.shown.row.question] if aim.shown is not None else next(iter(seen.values()))
        order = self._near(source)
        first = self._made(order[0], stream.branch("first"))
        chosen = [PracticeChoice(first, "scaffolded", "like the question that cost most marks, with support")]
        other = next((one for one in order[1:] if one.topic == order[0].topic), order[0])
        chosen.append(
            PracticeChoice(
                self._made(other, stream.branch("second")),
                "structured",
                "the same topic, less support",
            )
        )
        used = {order[0].key, other.key}
        unlike = self._unlike(used, source.topic, self._demand(source), stream.branch("unlike"))
        if unlike is not None:
            chosen.append(PracticeChoice(unlike, "exam", "unlike the others, so that the method has to be chosen"))
        return chosen

    def stretch(self, paper: PrintedPaper, stream: Stream) -> list[PracticeChoice]:
        seen = {one.archetype for one in _by_number(paper).values()}
        met = max((self._demand(one) for one in _by_number(paper).values()), default=0)
        ordered = sorted(self._calculated(), key=lambda one: (one.key in seen, one.demand <= met, -one.demand, one.key))
        pool = ordered[:6]
        chosen = []
        for at in range(min(_STRETCH, len(pool))):
            kind = stream.pick(pool)
            pool.remove(kind)
            more = kind.demand > met
            why = (
                f"more demanding than the paper ({kind.demand} against {met} of 9)"
                if more
                else f"among the most demanding that the paper did not have ({kind.demand} of 9)"
            )
            chosen.append(PracticeChoice(self._made(kind, stream.branch(f"stretch {at}")), "exam", why))
        return chosen

    def _calculated(self) -> list[Archetype]:
        return [one for one in self.bank.archetypes.values() if one.calculated]

    def _demand(self, printed: PrintedQuestion) -> int:
        kind = self.bank.archetypes.get(printed.archetype)
        return kind.demand if kind else 5

    def _near(self, source: PrintedQuestion) -> list[Archetype]:
        """All archetypes, the one of a printed question first, then its topic, then those about as demanding."""
        demand = self._demand(source)
        return sorted(
            self._calculated(),
            key=lambda one: (one.key != source.archetype, one.topic != source.topic, abs(one.demand - demand), one.key),
        )

    def _unlike(self, used: set[str], topic: str, demand: int, stream: Stream) -> Question | None:
        pool = [one for one in self._calculated() if one.topic != topic and one.key not in used]
        pool = sorted(pool, key=lambda one: (abs(one.demand - demand), one.key))[:6]
        pool = pool or [one for one in self._calculated() if one.key not in used][:6]
        return self._made(stream.pick(pool), stream) if pool else None

    def _made(self, archetype: Archetype, stream: Stream) -> Question:
        return self.questions.make(archetype, stream, candidates=2)

    def _showing(self, slip: str, order: Sequence[Archetype], stream: Stream, scenes: set[str],
                 apart: bool = True) -> Question | None:  # fmt: skip
        """A question in which the slip can be made, and with `apart` no other slip gives its wrong answer; None where there is none.

        An archetype that failed for one pupil is not searched again for the next.
        """
        failed = self._never if not apart else self._never | self._hidden
        for archetype in [one for one in order if (one.key, slip) not in failed][:MOST_LOOKED]:
            arises = False
            for attempt in range(TRIES):
                try:
                    made = self.questions.make(archetype, stream.branch(f"{archetype.key}/{attempt}"))
                except Mistake:
                    break
                here = can_be_made(made, slip)
                arises |= here
                if here and made.draw.context.key not in scenes and (not apart or shows(made, slip)):
                    return made
            if not arises:
                self._never.add((archetype.key, slip))
            elif apart and not scenes:
                self._hidden.add((archetype.key, slip))
        return None


def _by_number(paper: PrintedPaper) -> dict[int, PrintedQuestion]:
    return {one.number: one for one in paper.questions}
