"""A calculation and the bank of faults come in; a part goes out with a list of what somebody did, in which two lines are mistakes.

Every line is a step that this experiment has, told rightly or as its fault. What each mistake does to the answer is computed by
performing the experiment with it, as in `effect.py`; a step with no effect is never one of the two.
"""

from __future__ import annotations

from itertools import groupby

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.draw.refusal import Refusal
from molewright.further_parts.faults.effect import EFFECT_WORDS, effect, possible_faults, told
from molewright.further_parts.faults.titre_to_answer import Direction
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Named,
    Piece,
    Rows,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)

MISTAKES = 2
MOST_LINES = 7
LEAST_LINES = 5  # with fewer, guessing would pay


def ask_method(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Two mistakes in a list of steps: which, what instead, and what each does to the answer."""
    if len(calculation.draw.variant.procedure.titrations) != 1:
        raise Refusal("method", "with several titrations nobody could tell which of them a line is about")
    steps = _steps(calculation)
    moving = {step.key: way for step in steps if (way := _way(calculation, step)) != "none"}
    if len(steps) < LEAST_LINES or len(moving) < MISTAKES:
        raise Refusal("method", "too few steps of this experiment can go wrong")
    stream = calculation.stream
    wrong = stream.shuffled(sorted(moving))[:MISTAKES]
    others = [step.key for step in steps if step.key not in wrong]
    kept = {*wrong, *stream.shuffled(others)[: MOST_LINES - MISTAKES]}
    lines = [step for step in steps if step.key in kept]
    return (_part(calculation, lines, {key: moving[key] for key in wrong}),)


def _steps(calculation: Calculation) -> list[LaboratoryFault]:
    """One fault for each step that this experiment has, in the order of the work."""
    found = sorted((one for one in possible_faults(calculation) if one.rightly), key=lambda one: one.step)
    return [calculation.stream.pick(list(same)) for _, same in groupby(found, key=lambda one: one.step)]


def _way(calculation: Calculation, step: LaboratoryFault) -> Direction:
    """Which way the answer goes with the mistake; "none" too where the experiment could not be done with it."""
    try:
        return effect(calculation, step).answer
    except BenchFault:
        return "none"


def _part(calculation: Calculation, lines: list[LaboratoryFault], ways: dict[str, Direction]) -> FurtherPart:
    asked = Named(calculation.worked.plan.asked)
    rows: list[tuple[Piece, ...]] = []
    points: list[FurtherPoint] = []
    harmless: list[Said] = []
    for number, step in enumerate(lines, 1):
        mistaken = step.key in ways
        clause = told(calculation, step.told if mistaken else step.rightly)
        rows.append((said("line number", number=str(number)), said("method line", clause=clause)))
        if step.told == step.rightly:  # it looks like a mistake and is none
            harmless.append(said("guide method water", number=str(number), cause=told(calculation, step.cause)))
        if mistaken:
            points += _points(calculation, number, step, ways[step.key], asked)
    points[0] = FurtherPoint(points[0].lines, points[0].answer, (*points[0].guidance, *harmless))
    return FurtherPart(
        kind="method",
        demand=said("method", quantity=asked),
        points=tuple(points),
        space=tuple(
            space
            for number in range(1, MISTAKES + 1)
            for space in (
                Space(height_mm=2.0, rule_mm=20.0, label=said("method label", number=str(number))),
                writing_lines(1),
            )
        ),
        shown=(
            Rows(
                heading=(said("line head"), said("method head")),
                rows=tuple(rows),
                widths=(0.08, 0.92),
                summary=said("method summary"),
            ),
        ),
        hint=said("hint method"),
    )


def _points(
    calculation: Calculation, number: int, step: LaboratoryFault, way: Direction, asked: Named
) -> tuple[FurtherPoint, FurtherPoint]:
    rightly, cause = told(calculation, step.rightly, should=True), told(calculation, step.cause)
    return (
        FurtherPoint(
            (said("method right", number=str(number), rightly=rightly),), f"line {number}", (said("guide method line"),)
        ),
        FurtherPoint(
            (said("fault answer", quantity=asked, effect=Strong(EFFECT_WORDS[way])),),
            f"answer {EFFECT_WORDS[way]}",
            (said("guide method cause", cause=cause),),
        ),
    )
