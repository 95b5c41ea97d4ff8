"""How an indicator works: the ratio of its forms against the equilibria, and both colours."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.equilibrium import fractions
from molewright.chem.quantity import Quantity
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from shared.for_each import for_each


@for_each("seed", range(12))
def test_ratio_and_colours_are_those_of_the_equilibrium(questions: Questions, bank: Bank, seed: int) -> None:
    question = questions.make(bank.archetypes["indicator-forms"], Stream(f"forms {seed}"))
    why, ratio, colour = question.further_parts
    indicator = bank.indicators[question.draw.indicator]
    assert indicator.pk is not None
    at_ph = float(str(dict(ratio.demand.slots)["ph"]))
    base, acid = fractions((float(indicator.pk),), at_ph)
    answer = ratio.points[1].answer
    assert isinstance(answer, Quantity)
    assert float(answer.number) == pytest.approx(base / acid, rel=0.05)
    assert ratio.accepted is not None
    assert ratio.accepted[0] < answer.number < ratio.accepted[1]
    (wrong,) = ratio.wrong
    assert float(wrong.answer.number) == pytest.approx(acid / base, rel=0.05)
    seen = str(colour.points[0].answer)
    assert indicator.low is not None
    if indicator.acid_colour == "colourless" and seen == "colourless":
        assert at_ph <= float(indicator.low)  # further up it is seen, though most of it has no colour
    elif indicator.acid_colour == "colourless":
        assert seen == (indicator.base_colour if base > acid else f"pale {indicator.base_colour}")
        assert "ten times" not in str(colour.points[0].lines) or base > 10 * acid  # no form without a colour is seen
    elif base > 10 * acid:
        assert seen == indicator.base_colour
    elif acid > 10 * base:
        assert seen == indicator.acid_colour
    else:
        assert seen not in (indicator.acid_colour, indicator.base_colour)
    analyte = question.draw.variant.roles["analyte"]
    assert ("many" in str(why.points[1].answer)) == (analyte in ("HCl", "HNO3", "CH3COOH"))
