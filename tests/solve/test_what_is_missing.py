"""What is said where an experiment cannot be worked out: the number or the line that is missing, in the words of the description."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import build_experiment
from molewright.derivation.plans import Plans
from molewright.derivation.worked import Worked
from molewright.errors import Mistake
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve


@pytest.fixture(scope="module")
def work(bank: Bank) -> Callable[[str], Worked]:
    chemicals = chemicals_of(bank)
    return lambda text: solve(build_experiment(parse_tree(text, "by hand"), chemicals), Plans("none", None))


CHALK = """\
procedure:
  - weigh: {sample: chalk, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in chalk
"""


@pytest.mark.parametrize(
    ("left_out", "put_in", "told"),
    [
        ("  - react: {excess: HCl}\n", "CaCO3|C12H22O11", "it reacts with; expected .* Write '- react: {excess: HCl}' under line 3"),
        ("  - react: {excess: HCl}\n", "add excess|measure", "HCl is added, and nothing says what it reacts with"),
        (", mass: 1.264 g", "", "one more number: the mass of chalk. Write 'mass: ...' at 'weigh' on line 2"),
        (", volume: 50.0 cm3, concentration: 1.00 mol dm-3", "",
         "two more numbers: the volume of HCl and the concentration of HCl. Write 'volume: ...' at 'add excess' on line 3"),
        (" 250 cm3", "volume: 50.0 cm3, concentration: 1.00 mol dm-3|volume: 50.0 cm3",
         "the concentration of HCl and the made-up volume|the made-up volume and the concentration of HCl"),
    ],
)  # fmt: skip
def test_missing_line_or_number_is_told(left_out: str, put_in: str, told: str, work: Callable[[str], Worked]) -> None:
    text = CHALK.replace(left_out, "")
    if put_in:
        text = text.replace(*put_in.split("|"))
    if left_out == " 250 cm3":
        text = text.replace("make up:", "make up")
    with pytest.raises(Mistake, match=told):
        work(text)


def test_everything_that_is_read_off_is_asked_for_at_once(work: Callable[[str], Worked]) -> None:
    text = CHALK.replace(", mass: 1.264 g", "").replace(", volume: 50.0 cm3, concentration: 1.00 mol dm-3", "")
    with pytest.raises(
        Mistake, match="3 more numbers: the mass of chalk, the volume of HCl and the concentration of HCl"
    ):
        work(text)


def test_quantity_that_nothing_ties_to_the_rest_is_told_with_what_could_be_asked(work: Callable[[str], Worked]) -> None:
    text = """
procedure:
  - measure: {solution: HCl, volume: 25.0 cm3}
  - measure: {solution: NaCl, volume: 25.0 cm3}
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: concentration of NaCl
"""
    with pytest.raises(Mistake, match="no equation of this procedure ties it") as refused:
        work(text)
    assert "concentration of HCl" in refused.value.do


def test_element_of_a_pure_mixture_is_worked_out(work: Callable[[str], Worked]) -> None:
    # on paper: 1.060 g of Na2CO3 and 1.382 g of K2CO3, 10 mmol of each, 40 mmol of HCl; 20 mmol of sodium is 0.460 g
    worked = work("""
procedure:
  - weigh: {sample: mix, contains: [Na2CO3, K2CO3], pure: yes, elements: Na, mass: 2.442 g}
  - titrate: {with: HCl, concentration: 1.00 mol dm-3, titre: 40.00 cm3}
asked: mass of Na in mix
""")
    assert str(worked.answer.number) == "0.460"


def test_element_in_both_parts_of_a_mixture_is_refused(work: Callable[[str], Worked]) -> None:
    with pytest.raises(Mistake, match="NH4NO3 in mix holds it too"):
        work("""
procedure:
  - weigh: {sample: mix, contains: [NH4Cl, NH4NO3], pure: yes, elements: N, mass: 1.000 g}
  - titrate: {with: AgNO3, concentration: 0.100 mol dm-3, titre: 40.00 cm3, reaction: NH4Cl + AgNO3 -> AgCl + NH4NO3}
asked: mass of N in mix
""")
