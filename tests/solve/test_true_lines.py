"""Every printed line of every worked example is reckoned from its own numbers, and no number of it comes from nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.derivation.plans import Plans
from molewright.question.prepared import molar_masses
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_text, solve
from shared.for_each import for_each
from shared.printed_arithmetic import untrue

FILES = sorted((Path(__file__).parents[1] / "reference" / "worked_examples").rglob("*.yaml"))
NAMES = [path.stem for path in FILES]


@pytest.fixture(scope="module")
def chemicals(bank: Bank) -> Chemicals:
    return Chemicals(substances=bank.substances, reactions=bank.reactions)


@pytest.fixture(scope="module")
def plans(bank: Bank) -> Plans:
    return Plans(bank.fingerprint, None)


def paragraphs(experiment: Experiment, plans: Plans) -> Iterator[str]:
    title, *rest = as_text(experiment, solve(experiment, plans)).split("\n\n")
    assert experiment.title in " ".join(title.split())
    return iter(rest)


def exact(experiment: Experiment) -> set[Fraction]:
    told = {one.exact for one in experiment.given.values()} | {one.in_base for one in experiment.given.values()}
    return told | set(molar_masses(experiment.system, experiment.masses).values())


def faults(text: str, chemicals: Chemicals, plans: Plans) -> tuple[list[str], int]:
    experiment = build_experiment(parse_tree(text, "by hand"), chemicals)
    return untrue(paragraphs(experiment, plans), exact(experiment))


@pytest.mark.thorough
@for_each("name", NAMES)
def test_every_printed_line_is_true(name: str, chemicals: Chemicals, plans: Plans) -> None:
    found, lines = faults(FILES[NAMES.index(name)].read_text("utf-8"), chemicals, plans)
    assert not found
    assert lines


# ------------------------------------------------------------------ numbers in other units

IN_MILLIGRAMS = """
experiment: Vitamin C
procedure:
  - weigh: {sample: tablet, contains: C6H8O6, mass: 250 mg}
  - dissolve
  - add: starch
  - titrate: {with: I2, concentration: 5.00 mmol dm-3, titre: 0.0261 dm3, reaction: C6H8O6 + I2 -> C6H6O6 + 2HI}
asked: percentage of C6H8O6 in tablet
"""


def test_numbers_are_put_in_as_they_are_reckoned_and_the_change_is_told(chemicals: Chemicals, plans: Plans) -> None:
    experiment = build_experiment(parse_tree(IN_MILLIGRAMS, "by hand"), chemicals)
    text = as_text(experiment, solve(experiment, plans)).replace("\N{NO-BREAK SPACE}", " ")
    for line in (
        "5.00 mmol dm⁻³ = 0.00500 mol dm⁻³",
        "0.0261 dm³ = 26.1 cm³",
        "= (0.00500 × 26.1) / 1000",
        "250 mg = 0.250 g",
    ):
        assert line in text
    assert faults(IN_MILLIGRAMS, chemicals, plans)[0] == []


FERTILISER = """
experiment: Lawn fertiliser
procedure:
  - weigh: {sample: fertiliser, contains: (NH4)2SO4, mass: 1.500 g}
  - add excess: {solution: NaOH, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
  - react: (NH4)2SO4 + 2NaOH -> Na2SO4 + 2NH3 + 2H2O
  - titrate: {with: HCl, concentration: 0.250 mol dm-3, titre: 19.20 cm3, reaction: HCl + NaOH -> NaCl + H2O}
asked: percentage of (NH4)2SO4 in fertiliser
"""


def test_where_the_answer_needs_a_figure_more_the_numbers_that_it_is_made_of_show_it_too(
    chemicals: Chemicals, plans: Plans
) -> None:
    experiment = build_experiment(parse_tree(FERTILISER, "by hand"), chemicals)
    text = as_text(experiment, solve(experiment, plans)).replace("\N{NO-BREAK SPACE}", " ")
    assert "1.3342 / 1.500 × 100 = 88.947 %" in " ".join(text.split())
    assert faults(FERTILISER, chemicals, plans)[0] == []


@pytest.mark.parametrize(
    ("page", "told"),
    [
        (["= (5.00 × 26.1) / 1000 = 1.305 × 10⁻⁴ mol"], "is not"),
        (["= 0.1250 / 0.250 × 100 = 50.0 %"], "nothing says where 0.1250 comes from"),
        (["= 0.4447 / 0.5 × 100 = 88.947 %"], "88.947 has more than 4 figures"),
        (["250 mg = 2.50 g"], "250 is not 2.50 g"),
        (["(1) x + y = 0.500", "(2) 2x + y = 0.700", "(2) − (1):", "x = 0.700 − 0.500 = 0.250"], "not what is left"),
    ],
)
def test_line_that_is_not_true_is_found(page: list[str], told: str) -> None:
    given = {Fraction(one) for one in ("5", "26.1", "0.25", "250", "0.5", "0.7")}
    assert any(told in fault for fault in untrue(page, given)[0])
