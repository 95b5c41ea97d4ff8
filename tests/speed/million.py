"""A million questions over all archetypes, every one put back on the bench. Not part of the test run.

Run: python tests/speed/million.py [questions] [workers], or --small for a few of a few kinds.
Each archetype gets the same share. What is wrong is printed with the
seed that draws it again; the exit code is then 1.

Of every question it is asked, apart from the tool's own check of itself:
- performed with the derived answer, the bench gives every printed titre and every told quantity exactly;
- the printed answer is the exact one rounded half up, and lies in its accepted range, as the exact one does;
- the answer is near the truth that the numbers were drawn from: a titre is read to 0.05 cm3, no closer;
- no common wrong answer that the scheme lists lies in the accepted range, and none keeps all the marks;
- the marks of calculation and further parts add up, and every further part has a mark.
"""

from __future__ import annotations

import os
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.readers.whole_bank import read_bank
from molewright.bench.perform import perform
from molewright.chem.quantity import half_up, simplest_ratio, to_figures
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.machine import places
from molewright.question.check import Question, Questions

MILLION = 1_000_000
LOT = 250  # questions of one archetype that a worker makes in one go
NEAR = Fraction(1, 10)  # to the truth, relatively: readings of a small difference of two titres are worth no more
_makers: dict[int, Questions] = {}


@dataclass(frozen=True)
class Lot:
    """What became of a lot: how many were made, how many draws were refused, and what was wrong."""

    key: str
    made: int
    refused: int
    wrong: tuple[str, ...]
    seconds: float


def maker() -> Questions:
    """The question maker of this process."""
    if os.getpid() not in _makers:
        bank = read_bank()
        _makers[os.getpid()] = Questions(bank, Plans(bank.fingerprint, places.plans()))
    return _makers[os.getpid()]


def faults(question: Question) -> Iterator[str]:
    """What is wrong with a question; nothing for a right one."""
    draw, worked = question.draw, question.worked
    known = {**question.replayed}
    readings = perform(draw.variant.procedure, known)
    for titration in draw.variant.procedure.titrations:
        name = titration.titre
        if readings.titres[name] != known[name]:
            yield f"the {name} comes out as {readings.titres[name]}, printed {known[name]}"
    known = {**{step.variable.name: step.exact for step in worked.steps}, **known}
    told = {name: value for name, value in readings.told.items() if name in known}
    if worked.steps and not told and not draw.variant.procedure.titrations and not readings.meters:
        yield "the bench tells nothing that an answer could be compared with"
    for name, value in told.items():
        if value != known[name]:
            yield f"the {name} comes out as {value}"
    yield from _faults_of_the_answer(question)
    yield from _faults_of_the_marks(question)


def _faults_of_the_answer(question: Question) -> Iterator[str]:
    draw, worked = question.draw, question.worked
    asked = draw.ask.quantity
    answer, accepted = worked.answer.number, worked.accepted
    shown = worked.exact / worked.answer.unit.factor
    last = worked.steps[-1].variable
    if last.simple:  # told as the simplest ratio of whole numbers
        shown = simplest_ratio(shown)
    places = 0 if last.whole else -int(answer.as_tuple().exponent)  # a pH has its figures after the point
    rounded = half_up(shown, places) if last.whole or last.logarithmic else to_figures(shown, draw.ask.figures)
    if asked.kind != "titre" and Decimal(rounded) != answer:
        yield f"{float(shown):.9g} is printed as {answer}"
    if not accepted.low.number <= answer <= accepted.high.number:
        yield f"{answer} is not accepted ({accepted.low} to {accepted.high})"
    truth = draw.truth.get(asked)
    if truth is not None and abs(worked.exact / truth - 1) > NEAR:
        yield f"the truth was {float(truth):.6g}, the answer is {float(worked.exact):.6g}"


def _faults_of_the_marks(question: Question) -> Iterator[str]:
    worked, accepted = question.worked, question.worked.accepted
    for wrong in question.mistakes.wrong:
        if not wrong.hidden and accepted.low.number <= wrong.answer.number <= accepted.high.number:
            yield f"the wrong answer {wrong.answer} is accepted"
        if wrong.most >= worked.marks:
            yield f"the wrong answer {wrong.answer} keeps {wrong.most} of {worked.marks} marks"
    if (
        question.marks != len(question.points) + sum(part.marks for part in question.further_parts)
        or not question.marks
    ):
        yield f"{question.marks} marks in all"
    if any(not part.points for part in question.further_parts):
        yield "a part without a mark"


def make_lot(key: str, first: int, count: int) -> Lot:
    """Make and judge some questions of an archetype."""
    questions = maker()
    archetype = questions.bank.archetypes[key]
    start, refused = time.process_time(), questions.tally.refused.total()
    wrong: list[str] = []
    for number in range(first, first + count):
        seed = f"million/{key}/{number}"
        try:
            wrong += [f"{seed}: {fault}" for fault in faults(questions.make(archetype, Stream(seed)))]
        except Exception as broken:
            wrong.append(f"{seed}: {type(broken).__name__}: {broken}")
    spent = time.process_time() - start
    return Lot(key, count, questions.tally.refused.total() - refused, tuple(wrong), spent)


def main() -> int:
    """Make them all and print what came of it."""
    small = "--small" in sys.argv
    wanted = 10 if small else int(sys.argv[1]) if len(sys.argv) > 1 else MILLION
    workers = 1 if small else int(sys.argv[2]) if len(sys.argv) > 2 else os.cpu_count() or 1
    keys = sorted(read_bank(whole=False).archetypes)[:: 50 if small else 1]
    each = -(-wanted // len(keys))
    lots = [(key, first, min(LOT, each - first)) for first in range(0, each, LOT) for key in keys]
    made: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    seconds: Counter[str] = Counter()
    wrong: list[str] = []
    start = time.perf_counter()
    with ProcessPoolExecutor(workers) as pool:
        for done, lot in enumerate(pool.map(make_lot, *zip(*lots, strict=True)), 1):
            made[lot.key] += lot.made
            refused[lot.key] += lot.refused
            seconds[lot.key] += lot.seconds  # type: ignore[assignment]
            wrong += lot.wrong
            for fault in lot.wrong[:5]:
                print(fault)
            if done % len(keys) == 0:
                print(f"{made.total():>9} made, {len(wrong)} wrong, {time.perf_counter() - start:.0f} s", flush=True)
    width = max(map(len, keys))
    for key in keys:
        share = refused[key] / (refused[key] + made[key])
        print(
            f"{key.ljust(width)} {made[key]:6} made, {share:4.0%} of draws refused, {made[key] / seconds[key]:6.0f} a second"
        )
    spent = time.perf_counter() - start
    print(f"{made.total()} questions of {len(keys)} archetypes, {len(wrong)} wrong; {spent:.0f} s, {workers} workers")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
