"""How many questions a second are drawn, performed, derived and checked; against sympy asked anew for every question.

Run: python tests/speed/bench_questions.py [questions | --small]. One core, in processor time, planned once beforehand. Prints ratios.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from fractions import Fraction

import sympy

from molewright.bank.readers.whole_bank import read_bank
from molewright.bench.perform import perform
from molewright.derivation.derive import _equation, _symbols, derive
from molewright.derivation.plans import Plans
from molewright.derivation.worked import work_out
from molewright.draw.chosen import choose
from molewright.draw.draw import draw
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from molewright.question.put_back import confirm
from molewright.slips.wrong_answers import require_apart

BASELINE = 12


def timed(label: str, count: int, seconds: float) -> float:
    """Print and return a rate."""
    print(f"{label:63} {count / seconds:10.0f} a second")
    return count / seconds


def by_sympy(question: Question) -> Fraction | None:
    """The same answer by asking sympy for it from the relations and putting the numbers in; None where it finds none or several."""
    system, plan = question.system, question.prepared.plan
    symbols = _symbols(system)
    used = [system.relations[step.relation] for step in plan.steps]
    unknown = [symbols[step.target] for step in plan.steps]
    every = sympy.solve([_equation(relation, symbols) for relation in used], unknown, dict=True)
    if len(every) != 1:
        return None
    numbers = {
        symbols[name]: sympy.Rational(value.numerator, value.denominator) for name, value in question.given.items()
    }
    found = every[0][symbols[plan.asked]].subs(numbers)
    return Fraction(int(found.p), int(found.q)) if found.is_Rational else None


def that_sympy_solves(made: Sequence[Question], count: int) -> list[Question]:
    """The first so many questions of products and sums alone, of which sympy is asked the whole; its answers are looked at."""
    found: list[Question] = []
    for question in made:
        steps, relations = question.prepared.plan.steps, question.system.relations
        if any(step.together is not None or not relations[step.relation].plain for step in steps):
            continue
        answer = by_sympy(question)
        if answer is None:
            continue
        assert answer == question.worked.exact, f"sympy and the chain disagree: {question.draw.archetype.key}"
        found.append(question)
        if len(found) == count:
            break
    return found


def main() -> None:
    """Print the figures."""
    small = "--small" in sys.argv
    count = 20 if small else int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    bank = read_bank()
    questions = Questions(bank, Plans(bank.fingerprint, None))
    archetypes = [archetype for archetype in bank.archetypes.values() if not bank.topic_of(archetype).only_by_name]
    kinds = archetypes[:: len(archetypes) // 12] if small else archetypes * 4
    chosen = [(archetype, choose(archetype, Stream(f"bench/{n}"))) for n, archetype in enumerate(kinds)]
    made = [questions.make(archetype, Stream(f"warm/{n}"), one) for n, (archetype, one) in enumerate(chosen)]
    asked = that_sympy_solves(made, BASELINE)

    start = time.process_time()
    done = 0
    number = 0
    while done < count:  # draw, bench, derive, check: a question without slips and other routes
        archetype, one = chosen[number % len(chosen)]
        number += 1
        try:
            a_draw = draw(archetype, one, Stream(f"plain/{number}"), questions.fixed(one.variant))
            prepared = questions.prepare(archetype, a_draw)
            given = {name: quantity.in_base for name, quantity in a_draw.given.items()}
            given.update(questions.fixed(one.variant))
            worked = work_out(prepared.system, prepared.plan, given, a_draw.ask)
            confirm(one.variant.procedure, worked, given, prepared.hidden_values(given))
            done += 1
        except Refusal:
            continue
    plain = timed("draw + bench + derive + check", count, time.process_time() - start)

    start = time.process_time()
    judged = passed = 0
    while passed < count:  # without further parts; what is refused is drawn again, as for a paper
        archetype, one = chosen[passed % len(chosen)]
        judged += 1
        try:
            questions.attempt(draw(archetype, one, Stream(f"whole/{judged}"), questions.fixed(one.variant)))
            passed += 1
        except Refusal:
            continue
    seconds = time.process_time() - start
    timed("candidates with routes, range, slips, plausibility, refused too", judged, seconds)
    timed("questions that pass all that", passed, seconds)

    start = time.process_time()
    for number in range(count):
        question = made[number % len(made)]
        prepared = question.prepared
        worked = work_out(prepared.system, prepared.plan, question.given, question.draw.ask, routes=prepared.routes)
        try:
            require_apart(prepared.slips, question.draw, worked, question.given)
        except Refusal:
            continue
    timed("steps, routes, range, slips and separation alone", count, time.process_time() - start)

    start = time.process_time()
    for question in asked:
        by_sympy(question)
    slow = timed("sympy solve and subs for every question", len(asked), time.process_time() - start)

    start = time.process_time()
    for number in range(count):
        question = made[number % len(made)]
        derive(question.system, question.prepared.plan, question.given)
    quick = timed("derivation alone, planned once", count, time.process_time() - start)

    replayed = [(question.draw.variant.procedure, question.replayed) for question in made]
    start = time.process_time()
    for number in range(count):
        perform(*replayed[number % len(made)])
    timed("bench alone", count, time.process_time() - start)
    print(f"{'derivation planned once against sympy each time':63} {quick / slow:10.0f} times")
    print(f"{'draw + bench + derive + check against sympy each time':63} {plain / slow:10.0f} times")


if __name__ == "__main__":
    main()
