"""A pupil's marked answers come in; the one slip to work on next goes out, and a line of feedback in plain words. No numbers drawn."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil
from molewright.marking.table import name_of, place_words

_OFTEN = {"high": 2, "medium": 1, "low": 0}
_OPEN = "Answer the questions that are still open."
_MOST_SHARE = (9, 10)  # of the marks, from which a pupil without a recognised slip is stretched


@dataclass(frozen=True, slots=True)
class Focus:
    """What a pupil works on next: a slip by its key ("" for none), the answer that shows it best, and how often it was seen."""

    slip: str
    shown: MarkedAnswer | None
    times: int


def focus(pupil: MarkedPupil, marked: MarkedClass) -> Focus:
    """The slip seen most often, a sure one before a possible one, then the one that cost most, then the commonest in general."""
    weight: Counter[str] = Counter()
    first: dict[str, MarkedAnswer] = {}
    times: Counter[str] = Counter()
    for one in pupil.answers:
        if one.explained.found == "none":
            continue
        sure = one.explained.found == "unique"
        for key in one.explained.keys[0]:
            often = marked.slips[key].often if key in marked.slips else "medium"
            weight[key] += (1000 if sure else 600) + 10 * one.lost + _OFTEN[often]
            times[key] += 1
            first.setdefault(key, one)
    if weight:
        best = max(sorted(weight), key=lambda key: weight[key])
        return Focus(best, first[best], times[best])
    lost = [one for one in pupil.answers if one.lost]
    worst = max(lost, key=lambda one: one.lost, default=None)
    return Focus("", worst, 0)


def excels(pupil: MarkedPupil, marked: MarkedClass) -> bool:
    """Whether a pupil without a slip is ready for something more demanding."""
    if any(one.verdict in ("not read", "wrong", "slip") and one.pending for one in pupil.answers):
        return False
    whole = sum(marked.out_of.values()) - pupil.waiting
    return focus(pupil, marked).slip == "" and whole > 0 and pupil.total * _MOST_SHARE[1] >= whole * _MOST_SHARE[0]


def feedback(pupil: MarkedPupil, marked: MarkedClass) -> str:
    """One line for the pupil; marks that are pending are told as that."""
    said = next_step(pupil, marked)
    if not pupil.waiting:
        return said
    return f"{marks_told(pupil, marked)}. {said}".strip()


def marks_told(pupil: MarkedPupil, marked: MarkedClass) -> str:
    """The marks of a pupil in words: "12 of 24, 3 pending"."""
    pending = f", {pupil.waiting} pending" if pupil.waiting else ""
    return f"{pupil.total} of {sum(marked.out_of.values())}{pending}"


def next_step(pupil: MarkedPupil, marked: MarkedClass) -> str:
    """What to do next, without the marks."""
    chosen = focus(pupil, marked)
    if chosen.slip and chosen.shown is not None:
        facts = marked.slips.get(chosen.slip)
        said = facts.feedback if facts else ""
        where = place_words(chosen.shown)
        if chosen.shown.explained.found != "unique":
            return f"In {where} it may be: {name_of(marked, chosen.slip)}. Check your working there. {said}".strip()
        again = f" (seen {chosen.times} times)" if chosen.times > 1 else ""
        return f"In {where}: {name_of(marked, chosen.slip)}{again}. {said}".strip()
    if excels(pupil, marked):
        return "Well done: go on to a more demanding question."
    if chosen.shown is not None:
        if chosen.shown.verdict in ("rounded too far", "nearly right"):
            return f"In {place_words(chosen.shown)}: carry calculator values and give three significant figures."
        if chosen.shown.verdict == "no answer":
            return f"Try {place_words(chosen.shown)} with the worked solution covered, one line at a time."
        return f"Compare your working in {place_words(chosen.shown)} with the worked solution, line by line."
    unread = next((one for one in pupil.answers if one.verdict == "not read" and one.pending), None)
    if unread is not None:
        return f"In {place_words(unread)}: write one number with its unit, so that it can be read."
    return "" if pupil.waiting and pupil.marks.keys() == marked.out_of.keys() else _OPEN
