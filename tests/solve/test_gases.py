"""A gas that is driven over, its volume, and what is counted by a factor, in every way that somebody writes them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.derivation.plans import Plans
from molewright.derivation.worked import Worked
from molewright.errors import Mistake
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve

Work = Callable[[str], tuple[Experiment, Worked]]


@pytest.fixture(scope="module")
def work(bank: Bank) -> Work:
    chemicals, plans = chemicals_of(bank), Plans(bank.fingerprint, None)

    def one(text: str) -> tuple[Experiment, Worked]:
        experiment = build_experiment(parse_tree(text, "by hand"), chemicals)
        return experiment, solve(experiment, plans)

    return one


def told(worked: Worked) -> str:
    return worked.told.replace("\N{NO-BREAK SPACE}", " ")


FLOUR = """
procedure:
  - weigh: {{sample: flour, contains: {0}, mass: 1.25 g}}
{1}
  - titrate: {{with: NaOH, concentration: 0.200 mol dm-3, titre: 23.4 cm3}}
asked: percentage of nitrogen in flour
"""
ACID = "H2SO4, volume: 50.0 cm3, concentration: 0.100 mol dm-3"
TAKEN_UP = "  - react: 2NH3 + H2SO4 -> (NH4)2SO4"


@pytest.mark.parametrize(
    ("contains", "lines"),
    [
        ("N", f"  - react: N -> NH3\n  - drive over: {{gas: NH3, into: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - react: N + 3H+ + 3e- -> NH3\n  - drive over: {{gas: NH3, into: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - drive over: {{species: NH3, into: receiver, solution: {ACID}}}"),
        ("N", f"  - drive over: NH3\n  - add excess: {{solution: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - add excess: {{solution: {ACID}}}\n  - drive over: NH3\n{TAKEN_UP}"),
        ("N", f"  - add excess: {{solution: {ACID}, into: receiver}}\n  - drive over: {{species: NH3, into: receiver}}\n{TAKEN_UP}"),
        ("NH3", f"  - add excess: {{solution: {ACID}}}\n{TAKEN_UP}"),
        ("NH3", f"  - add excess: {{solution: {ACID}}}"),
        ("(NH4)2SO4", f"  - drive over: NH3\n  - add excess: {{solution: {ACID}}}\n  - react: {{excess: H2SO4}}"),
    ],
)  # fmt: skip
def test_nitrogen_that_is_driven_over_as_ammonia_is_found(contains: str, lines: str, work: Work) -> None:
    """On paper: 5.00 − 2.34 = 2.66 mmol of acid took up 5.32 mmol of ammonia; 0.07448 g of nitrogen in 1.25 g: 5.96 %."""
    assert told(work(FLOUR.format(contains, lines))[1]) == "5.96 %"


def test_ammonia_caught_in_boric_acid_is_titrated_itself(work: Work) -> None:
    """On paper: 2.00 mmol of HCl, 28.0 mg of nitrogen in 1.25 g."""
    text = FLOUR.format("N", "  - drive over: {gas: NH3, into: H3BO3}")
    text = text.replace(
        "NaOH, concentration: 0.200 mol dm-3, titre: 23.4", "HCl, concentration: 0.100 mol dm-3, titre: 20.0"
    )
    assert told(work(text)[1]) == "2.24 %"


def test_everything_that_a_line_lacks_or_has_too_much_is_told_at_once(work: Work) -> None:
    with pytest.raises(Mistake) as refused:
        work(FLOUR.format("N", "  - drive over: {gass: NH3, too: receiver, speed: slow}"))
    assert all(key in str(refused.value) for key in ("'species'", "drive over: {species: NH3, into: receiver}"))
    with pytest.raises(Mistake) as refused:
        work(FLOUR.format("N", "  - drive over: {gas: NH3, too: receiver, speed: slow}"))
    assert all(f"the key {key} is not known here" in str(refused.value) for key in ("'too'", "'speed'"))
    with pytest.raises(Mistake) as refused:
        work("experiment: Nothing\nprocedur: []\n")
    assert "the key 'procedure' is missing" in str(refused.value)
    assert "the key 'asked' is missing" in str(refused.value)


def test_a_reagent_in_excess_without_a_line_for_its_reaction_reacts_as_the_banks_say_and_that_is_told(
    work: Work,
) -> None:
    experiment, _ = work(FLOUR.format("NH3", f"  - add excess: {{solution: {ACID}}}"))
    assert any("no line says what H2SO4 reacts with" in note for note in experiment.described.notes)
