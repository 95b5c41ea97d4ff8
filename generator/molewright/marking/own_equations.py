"""The answers to a question and its judge come in; verdicts go out, an error in the pupil's own equation carried forward.

Who takes a wrong ratio from a wrong equation loses the mark there and nowhere else: what follows from that ratio is right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from molewright.answer.equations import judge_equation
from molewright.answer.judge import Judge, Judged
from molewright.answer.own_ratio import with_own_ratio
from molewright.answer.printed import Further
from molewright.answer.written import Reading
from molewright.chem.reaction import Reaction
from molewright.marking.answer_places import Place
from molewright.marking.further_answers import equation_of
from molewright.marking.returned_rows import Row


def judged_by_own_equation(
    judge: Judge, mine: Sequence[tuple[Row, Place]], readings: Mapping[int, Reading]
) -> dict[int, Judged]:
    """What each answer earns by the right ratio, or by the one of the pupil's own equation where that earns more."""
    best = judge.judge(readings)
    for row, place in mine:
        if not isinstance(place, Further) or place.equation is None:
            continue
        typed = equation_of(row, place.equation)
        if not isinstance(typed, Reaction) or judge_equation(place.equation.asked, typed).right:
            continue
        own = with_own_ratio(judge.question, place.equation, typed)
        if own is None:
            continue
        found = Judge(own, judge.facts).judge(readings)
        if _earned(found) > _earned(best):
            best = {number: _carried(one, place) for number, one in found.items()}
    return best


def _earned(judged: Mapping[int, Judged]) -> int:
    return sum(len(one.earned) for one in judged.values())


def _carried(one: Judged, place: Further) -> Judged:
    """A verdict by the pupil's own ratio: nothing is simply right any more."""
    told = (
        f"with the ratio of the equation in ({place.part})"
        if place.part
        else "with the ratio of the pupil's own equation"
    )
    verdict = "carried forward" if one.verdict == "right" else one.verdict
    return replace(one, verdict=verdict, note="; ".join(filter(None, (one.note, told))))
