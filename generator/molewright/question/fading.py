"""A question comes in; the question as it is set in a series that fades goes out: an example, or with its first steps worked."""

from __future__ import annotations

from dataclasses import replace

from molewright.question.check import Question

OPEN_SHARE = 3  # of so many steps one is left open where only the last are


def as_example(question: Question) -> Question:
    """The question as an example: everything is worked out for the pupil, and nothing is left to earn a mark."""
    return replace(question, further_parts=(), added=0, shown=question)


def with_last_steps_open(question: Question) -> Question:
    """The question with all but about the last third of its steps worked out, and what is read before them."""
    points = len(question.points)
    return _with_done(question, points - max(1, round(points / OPEN_SHARE)))


def with_first_step_given(question: Question) -> Question:
    """The question with one step worked out: what is read before the calculation, or the first step after the mean titre.

    One is left open in any case.
    """
    if any(part.first for part in question.further_parts):
        return _with_done(question, 0)
    means = sum(not point.steps for point in question.points)
    return _with_done(question, min(len(question.points) - 1, means + 1))


def _with_done(question: Question, number: int) -> Question:
    """The question with so many of its mark points worked out for the pupil; those that are left count from 1."""
    worked = question.worked
    return replace(
        question,
        worked=replace(
            worked, points=tuple(replace(one, number=one.number - number) for one in worked.points[number:])
        ),
        further_parts=tuple(part for part in question.further_parts if not part.first),
        done=worked.points[:number],
        read=tuple(part for part in question.further_parts if part.first),
    )
