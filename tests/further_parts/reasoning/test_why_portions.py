"""Why portions are taken, and what is found where liquid stays behind: held against an experiment that really leaves it behind."""

from __future__ import annotations

from fractions import Fraction

from molewright.chem.quantity import half_up
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.question.check import Questions
from shared.for_each import for_every

KEYS = ("drawn-portions-kept", "made-up-portions-kept")


@for_every(seed=range(3), key=KEYS)
def test_what_would_be_found_is_what_less_acid_in_the_flask_leads_to(key: str, seed: int, questions: Questions) -> None:
    question = questions.make(questions.bank.archetypes[key], Stream(f"kept {seed}"))
    kinds = [part.kind for part in question.further_parts]
    assert kinds == ["why portions", "kept liquid", "kept answer"]
    _, kept, answer = question.further_parts
    draw = question.draw
    (reagent,) = draw.variant.procedure.reagents
    exact = {step.variable.name: step.exact for step in question.worked.steps}
    over = exact[quantities.amount(reagent.solution.species, "flask", "left over")]
    lost = dict(kept.demand.slots)["kept"].exact / draw.given[reagent.volume].exact
    missing, found = kept.points[-1].answer, answer.points[-1].answer
    assert half_up(over * lost, missing.places) == missing.number  # type: ignore[union-attr]
    # forward by hand: what is missing counts as if twice as much acid as carbonate had reacted with it
    material = draw.variant.roles["analyte"]
    carbonate = exact[quantities.substance_amount(material, draw.variant.material.name)]  # type: ignore[union-attr]
    more = Fraction(question.worked.exact) * (carbonate + over * lost / 2) / carbonate
    assert half_up(more, found.places) == found.number  # type: ignore[union-attr]
    assert answer.accepted is not None
    assert answer.accepted[0] > question.worked.answer.number
