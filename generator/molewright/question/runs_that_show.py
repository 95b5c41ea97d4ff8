"""A draw and its judge come in; what is judged of it goes out, with other burette readings where its own hide a mistake."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias, TypeVar

from molewright.draw.chosen import Draw
from molewright.draw.draw import with_other_runs
from molewright.draw.refusal import Refusal

MOST_RUNS = 16

Judged = TypeVar("Judged")
WithRuns: TypeAlias = Callable[[Callable[[Draw], tuple[Draw, float]], Draw], tuple[Draw, float]]
"""Has a draw judged, perhaps with other readings: the draw that was taken, and how far apart its slips are."""


def judged_with_runs(judge: Callable[[Draw], Judged], made: Draw, runs: int | None) -> Judged:
    """Judge a draw; where only its burette readings hide a slip, or are not as many as `runs`, judge it with others. Raises Refusal."""
    other: Judged | None = None
    for attempt in range(MOST_RUNS):
        try:
            judged = judge(made)
            if runs in (None, len(made.runs)) or not made.runs:
                return judged
            other = other or judged
        except Refusal as refusal:
            if refusal.rule != "readings" or (attempt == MOST_RUNS - 1 and other is None):
                raise
        made = with_other_runs(made, attempt)
    assert other is not None
    return other
