"""The uncertainty of a described experiment's answer from the tolerances of its readings, against sums on paper."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import build_experiment
from molewright.chem.quantity import half_up
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve
from molewright.solve.uncertainty import Uncertainty, uncertainty, uncertainty_told

DIRECT = """
tolerances: {titre of NaOH: 0.10 cm3, volume of HCl: 0.06 cm3}
procedure:
  - measure: {solution: HCl, volume: 25.00 cm3}
  - titrate: {with: NaOH, concentration: 0.1000 mol dm-3, titre: 20.00 cm3}
asked: concentration of HCl
"""
# 50.0 mmol less 10 x 2.500 mmol: 25.0 mmol of HCl react, so one per cent of the titre is one per cent of the answer the other way
BACK = """
tolerances: {titre of NaOH: 0.10 cm3, mass of chalk: 2 mg, volume of aliquot: 0.06 cm3}
procedure:
  - weigh: {sample: chalk, contains: CaCO3, mass: 1.600 g}
  - add excess: {solution: HCl, volume: 50.00 cm3, concentration: 1.000 mol dm-3}
  - react: {excess: HCl}
  - make up: 250.0 cm3
  - take aliquot: 25.00 cm3
  - titrate: {with: NaOH, concentration: 0.1000 mol dm-3, titre: 25.00 cm3}
asked: percentage of CaCO3 in chalk
"""

Found = Callable[[str], tuple[Uncertainty, str]]


@pytest.fixture(scope="module")
def found(bank: Bank) -> Found:
    def one(text: str) -> tuple[Uncertainty, str]:
        experiment = build_experiment(parse_tree(text, "by hand"), chemicals_of(bank))
        worked = solve(experiment, Plans("none", None))
        made = uncertainty(experiment, worked)
        assert made is not None
        return made, uncertainty_told(experiment, worked).replace("\N{NO-BREAK SPACE}", " ")

    return one


def test_percentages_of_the_readings_are_added(found: Found) -> None:
    made, told = found(DIRECT)  # 0.10 of 20.00 is 0.5 %, 0.06 of 25.00 is 0.24 %; 0.74 % of 0.0800 is 0.000592
    assert [share.percent for share in made.shares] == [Fraction("0.5"), Fraction("0.24")]
    # (0.25 + 0.0576)/3 is 0.1025, of which the root is 0.32
    assert told.endswith("Added ± 0.74 %, ± 0.00059 mol dm⁻³; standard uncertainty 0.32 %")


def test_a_reading_counts_as_often_as_the_answer_changes_with_it(found: Found) -> None:
    made, _ = found(BACK)
    assert [half_up(share.percent, 3) for share in made.shares] == [
        half_up(Fraction(one), 3) for one in ("0.4", "0.125", "0.24")
    ]


@pytest.mark.parametrize(
    ("tolerances", "told"),
    [
        ("concentration of HCl: 0.1 mol dm-3", "is not given"),
        ("titre of NaOH: 0.1 g", "less, in a unit of its kind"),
        ("titre of NaOH: 30 cm3", "less, in a unit of its kind"),
        ("titration: 0.1 cm3", "no quantity 'titration'"),
    ],
)
def test_tolerance_of_nothing_is_refused(tolerances: str, told: str, found: Found) -> None:
    with pytest.raises(Mistake, match=told):
        found(DIRECT.replace("titre of NaOH: 0.10 cm3, volume of HCl: 0.06 cm3", tolerances))
