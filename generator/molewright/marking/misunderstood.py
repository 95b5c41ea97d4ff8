"""Marked papers of one class come in; what is misunderstood goes out, what to teach again first at the top.

Several slips may come of one thing: the banks say of which.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from molewright.answer.printed import PrintedQuestion
from molewright.marking.marked import MarkedAnswer, MarkedClass
from molewright.papers.answers import place_named


@dataclass(frozen=True, slots=True, kw_only=True)
class Misunderstood:
    """One thing that is misunderstood: by whom for sure and by whom perhaps, the marks that it cost, and how it shows most often.

    `shown` is the commonest slip by its name, `again` the line that is said to whoever makes it, `where` the place it was seen at most.
    """

    words: str
    sure: tuple[str, ...]
    perhaps: tuple[str, ...]
    marks: int
    shown: str
    again: str
    where: str

    @property
    def pupils(self) -> int:
        """How many pupils, those among them of whom it is not sure."""
        return len(self.sure) + len(self.perhaps)


def behind(marked: MarkedClass, key: str) -> str:
    """What is misunderstood in a slip, in words; the slip's own name where nothing more is said of it."""
    facts = marked.slips.get(key)
    return (facts.misunderstood if facts else "") or marked.slip_name(key)


def behind_answer(marked: MarkedClass, one: MarkedAnswer) -> tuple[tuple[str, ...], bool]:
    """What is misunderstood in an answer (two things where it takes two slips), and whether that is sure.

    It is sure where every slip that may be meant comes of the same.
    """
    may_be = [tuple(dict.fromkeys(behind(marked, key) for key in keys)) for keys in one.explained.keys]
    if not may_be:
        return (), False
    return may_be[0], one.explained.found != "possible" and len(set(may_be)) == 1


def could_show(marked: MarkedClass, question: PrintedQuestion) -> tuple[str, ...]:
    """What can be seen to be misunderstood in a question: where it is not seen there, it was done right."""
    keys = sorted({one.keys[0] for one in question.slips if len(one.keys) == 1})
    return tuple(dict.fromkeys(behind(marked, key) for key in keys))


@dataclass(slots=True, kw_only=True)
class _Seen:
    """What was seen of one thing so far; pupils by the class and the place they have in it."""

    sure: dict[tuple[int, int], str] = field(default_factory=dict)
    perhaps: dict[tuple[int, int], str] = field(default_factory=dict)
    marks: int = 0
    slips: Counter[tuple[str, str]] = field(default_factory=Counter)
    places: Counter[str] = field(default_factory=Counter)


def misunderstood(classes: Sequence[MarkedClass]) -> tuple[Misunderstood, ...]:
    """What is misunderstood: what most pupils did first, then what cost most marks."""
    seen: dict[str, _Seen] = {}
    for number, marked in enumerate(classes):
        for pupil in marked.pupils:
            for one in pupil.answers:
                things, sure = behind_answer(marked, one)
                for thing in things:
                    so_far = seen.setdefault(thing, _Seen())
                    (so_far.sure if sure else so_far.perhaps)[number, pupil.number] = pupil.name
                    so_far.marks += one.lost
                    so_far.places[place_named(one.row.question, one.part)] += 1
                    so_far.slips.update(_slips(marked, one, thing))
    told = [_told(words, one) for words, one in seen.items()]
    return tuple(sorted(told, key=lambda one: (-one.pupils, -one.marks, one.words)))


def _slips(marked: MarkedClass, one: MarkedAnswer, thing: str) -> list[tuple[str, str]]:
    """The slips of the likeliest explanation that come of a thing: name and line for the pupil."""
    return [
        (marked.slip_name(key), marked.slips[key].feedback if key in marked.slips else "")
        for key in one.explained.keys[0]
        if behind(marked, key) == thing
    ]


def _told(words: str, seen: _Seen) -> Misunderstood:
    (shown, again), _ = min(seen.slips.items(), key=lambda pair: (-pair[1], pair[0]))
    where, _ = min(seen.places.items(), key=lambda pair: (-pair[1], pair[0]))
    return Misunderstood(
        words=words,
        sure=tuple(seen.sure[at] for at in sorted(seen.sure)),
        perhaps=tuple(name for at, name in sorted(seen.perhaps.items()) if at not in seen.sure),
        marks=seen.marks,
        shown=shown,
        again=again,
        where=where,
    )
