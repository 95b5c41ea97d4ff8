"""A question and a slip come in; whether the slip can be made in it, and whether an answer would tell, goes out."""

from __future__ import annotations

from molewright.derivation.worked import base_factor
from molewright.question.check import Question
from molewright.question.prepared import Prepared
from molewright.slips.mistaken_route import SlipAnswer
from molewright.slips.wrong_answers import APART, distance

SMALL_APART = APART / 10  # the same of a slip that is small by nature and of the others


def can_be_made(question: Question, slip: str) -> bool:
    """Whether the route of the question has a step in which the slip can be made."""
    return has_room(question.prepared, slip)


def has_room(prepared: Prepared, slip: str) -> bool:
    """Whether a route has a step in which the slip can be made, whatever numbers are drawn for it."""
    return any(one.slip.key == slip for one in prepared.slips.applied)


def shows(question: Question, slip: str) -> bool:
    """Whether the slip's wrong answer lies apart from the right one and from what every other slip gives."""
    singles = question.mistakes.single
    right = float(question.worked.exact)
    accepted = question.worked.accepted
    factor = float(base_factor(question.worked.answer))
    logarithmic = accepted.type == "logarithm"
    for one in singles:
        slip_made, gives = one.slips[0], float(one.exact)
        if slip_made.key != slip:
            continue
        if slip_made.near:
            hidden = float(accepted.low.number) <= gives * factor <= float(accepted.high.number)
        else:
            hidden = distance(gives, right, logarithmic) < APART
        least = SMALL_APART if slip_made.near else APART
        others = (other for other in singles if other.slips[0].key != slip and not _same_mistake(one, other))
        if not hidden and not any(_close(gives, float(other.exact), least, logarithmic) for other in others):
            return True
    return False


def _same_mistake(one: SlipAnswer, other: SlipAnswer) -> bool:
    """Whether two slips are one mistake under two names (a ratio ignored, two protons ignored): same kind, number and marks."""
    return one.exact == other.exact and one.lost == other.lost and one.slips[0].kind == other.slips[0].kind


def _close(one: float, other: float, least: float, logarithmic: bool) -> bool:
    if one == other or not one or not other:
        return one == other
    return min(distance(one, other, logarithmic), distance(other, one, logarithmic)) <= least
