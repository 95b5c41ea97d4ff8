"""A wrong answer's explanation and the mark points that it stands for come in; what it surely keeps and loses, and what waits, go out.

A slip that gives just what is written keeps its marks. Where other slips are as near, the marks that only some of them keep are
pending; where nothing gives what is written, all but one: the working, which was not typed, may earn them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from molewright.answer.printed import SlipFacts, Slips
from molewright.answer.recognise import Explained

UNKNOWN = "no known slip gives it"
_TOLD = 2  # of what it may be, with their marks


@dataclass(frozen=True, slots=True)
class Kept:
    """Mark points surely earned, surely lost, and pending; what the teacher is told about those."""

    earned: frozenset[int]
    lost: frozenset[int]
    pending: frozenset[int]
    note: str = ""


def kept_marks(
    explained: Explained, facts: Mapping[str, SlipFacts], group: frozenset[int], last: frozenset[int]
) -> Kept:
    """What a wrong answer keeps of the mark points of `group`; `last` is its own, lost where nothing says which other is."""
    if explained.found == "none":
        waiting = group - last
        told = f"{UNKNOWN}; its working may earn {_up_to(len(waiting))}, for the teacher to settle" if waiting else ""
        return Kept(frozenset(), last, waiting, told)
    if not explained.exact:
        gone = frozenset({max(explained.loses & group or last)})
        waiting = group - gone
        return Kept(frozenset(), gone, waiting, _may_be(explained, facts, group, last) if waiting else "")
    single = [one for one in (*explained.slips, *explained.near) if len(one.keys) == 1]
    losses = [explained.loses & group or last, *(_loses(one, group, last) for one in single)]
    most, least = max(losses, key=len), min(losses, key=len)
    ordered = [*sorted(most - least), *sorted(most & least)]
    waiting = frozenset(ordered[: len(most) - len(least)])
    return Kept(group - most, most - waiting, waiting, _may_be(explained, facts, group, last) if waiting else "")


def _loses(one: Slips, group: frozenset[int], last: frozenset[int]) -> frozenset[int]:
    return one.loses & group or last


def _may_be(explained: Explained, facts: Mapping[str, SlipFacts], group: frozenset[int], last: frozenset[int]) -> str:
    """The likeliest two, with the marks that each would keep."""
    told = dict.fromkeys(
        f"{_names(one.keys, facts)} ({_marks(len(group - _loses(one, group, last)))})"
        for one in (*explained.slips, *explained.near)
    )
    return f"for the teacher to settle: perhaps {', or '.join(list(told)[:_TOLD])}"


def _names(keys: Sequence[str], facts: Mapping[str, SlipFacts]) -> str:
    return " and ".join((facts[key].name if key in facts else "") or key for key in keys)


def _up_to(marks: int) -> str:
    return f"up to {_marks(marks)}"


def _marks(count: int) -> str:
    return "1 mark" if count == 1 else f"{count} marks"
