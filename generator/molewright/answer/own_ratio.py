"""A printed question and a pupil's own equation come in; the question as it would be with the ratio of that equation goes out.

So an error in an equation is carried forward: what follows from the pupil's own ratio is right. The chain is worked again, and what
is accepted at its end is found as for any answer.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from molewright.answer.accepted import Accepted, accepted, answer_number
from molewright.answer.equations import ratio_in
from molewright.answer.printed import PrintedEquation, PrintedQuestion, Slips, Step
from molewright.answer.spans import one_value, rounded_runs
from molewright.chem.quantity import Quantity
from molewright.chem.reaction import Reaction


def with_own_ratio(question: PrintedQuestion, equation: PrintedEquation, typed: Reaction) -> PrintedQuestion | None:
    """The question with the ratio of this equation in its chain; None where that is the same, or cannot be followed."""
    chain = tuple(_with_ratio(step, equation, typed) for step in question.chain)
    if chain == question.chain or any(step.relation is None for step in chain):
        return None
    values = dict(question.known)
    worked: list[Step] = []
    for step in chain:
        value = one_value(step, values)
        if value is None or (value <= 0 < step.exact):
            return None
        values[step.finds] = value
        worked.append(replace(step, exact=value))
    made = replace(question, chain=tuple(worked))
    right = _accepted(made, values)
    return replace(made, accepted=right, slips=_slips(question, right)) if right is not None else None


def _with_ratio(step: Step, equation: PrintedEquation, typed: Reaction) -> Step:
    for use in equation.uses:
        ratio, right = ratio_in(typed, use.of, use.per), ratio_in(equation.asked.reaction, use.of, use.per)
        if step.relation is None or ratio is None or right is None:
            continue
        shares = dict(step.relation.quantities)
        if shares.keys() == {use.first, use.second} and step.relation.form == "product":
            factor = ratio if shares[use.first] == -1 else 1 / ratio
            return replace(step, relation=replace(step.relation, factor=factor))
        shared = step.relation.form == "sum" and {use.first, use.second} < shares.keys()
        if shared and shares[use.second] == -shares[use.first] * right:  # what a part takes of the whole
            shares[use.second] = -shares[use.first] * ratio
            return replace(step, relation=replace(step.relation, quantities=tuple(shares.items())))
    return step


def _accepted(question: PrintedQuestion, values: dict[str, Fraction]) -> Accepted | None:
    """What is right at the end of the chain as it is now."""
    before = question.accepted
    exact = values[question.asked] / before.answer.unit.factor
    if not exact:
        return None
    number = answer_number(before.type, exact, before.answer.figures, before.answer.places)
    answer = Quantity(number, before.answer.unit, before.answer.scientific)
    runs = (run[question.asked] for run in rounded_runs(question.chain, question.known) if question.asked in run)
    return accepted(before.type, [exact, *(value / before.answer.unit.factor for value in runs)], answer)


def _slips(question: PrintedQuestion, now: Accepted) -> tuple[Slips, ...]:
    """The slips beside the other ratio, where nothing but products lies between; none where anything else does."""
    if any(step.relation is not None and step.relation.form != "product" for step in question.chain):
        return ()
    factor = now.exact / question.accepted.exact
    return tuple(replace(one, gives=one.gives * factor) for one in question.slips)
