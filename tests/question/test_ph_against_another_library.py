"""The pH of drawn questions against a geochemical library that knows no titration.

It is told what was poured together and the constants, once without activity coefficients, as everything here, and once with its own: a
real flask of 0.1 mol dm⁻³ lies up to 0.16 off, which is why a pKa that a school finds is not that of the tables.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import phreeqpython
import pytest

from molewright.bank.definitions import Bank
from molewright.chem.powers import minus_log
from molewright.draw.stream import Stream
from molewright.experiment import acidity
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import Measure, Titrate
from molewright.experiment.quantities import concentration
from molewright.experiment.solution import Solution
from molewright.question.check import Question, Questions
from molewright.question.put_back import MOST_APART_PH

EACH = 8  # questions of a kind
READ_TO = 0.01  # what numbers of few figures may shift a pH by
WITH_ACTIVITIES = 0.16
GAMMA = {True: "-gamma 1e8 0", False: ""}  # an ion of that size feels no others: a coefficient of 1
SPECIES = """
SOLUTION_SPECIES
H+ = H+
  {gamma}
H2O = OH- + H+
  log_k -14.0
  {gamma}
SOLUTION_MASTER_SPECIES
  Weaka Weaka{charge} 0 59 59
SOLUTION_SPECIES
  Weaka{charge} = Weaka{charge}
  log_k 0
  {gamma}
  H+ + Weaka{charge} = HWeaka{more}
  log_k {pka:.5f}
  {gamma}
SOLUTION 1
  temp 25
  units mol/kgw
  pH 7 charge
  Na {sodium:.9f}
  Cl {chloride:.9f}
  Weaka {weak:.9f}
END
"""


def kinds(bank: Bank) -> list[str]:
    """The kinds of question in which one pH is read, and nothing dissolves."""
    return [key for key, one in bank.archetypes.items() if one.variants[0].procedure.meters and one.calculated]


def poured(question: Question, act: ReadPH) -> Iterator[tuple[Solution, float]]:
    """Every bottle that came into the meter's vessel before it was read, with the cm³ of it."""
    procedure, values = question.draw.variant.procedure, {**question.draw.truth, **question.given}
    for one in procedure.operations[: procedure.operations.index(act)]:
        if isinstance(one, Measure) and one.vessel == act.vessel:
            yield one.solution, float(values[one.volume])
        elif isinstance(one, Titrate) and one.vessel == act.vessel:
            yield one.titrant, float(values[one.titre])


def by_the_library(question: Question, bank: Bank, ideal: bool) -> float:
    """The pH of what was poured together, by the library."""
    (act,) = question.draw.variant.procedure.meters
    truth = question.draw.truth
    constant = truth.get(acidity.acid_constant(act.family))
    pka = float(truth.get(acidity.pka(act.family)) or (minus_log(constant) if constant else Fraction(5)))
    ions = {one: bank.solutes[one].gives if one in bank.solutes else ((1, one),) for one, _ in _bottles(question, act)}
    volume = sum(cm3 for _, cm3 in poured(question, act))
    weak = alkali = 0.0
    for solution, cm3 in poured(question, act):
        amount = cm3 * float(truth[concentration(solution.name)]) / volume
        strong = sum(count * bank.ions[ion].protons for count, ion in ions[solution.species])
        weak += amount if not strong else 0.0
        alkali -= amount * strong
    if any(isinstance(one, Titrate) and one.vessel == act.vessel for one in _before(question, act)) and not act.half:
        alkali = weak if alkali > 0 else -weak  # a titre is read to 0.05 cm³: there is the end point, and not beside it
    base = bool(act.family) and act.family.endswith("+")
    library = phreeqpython.PhreeqPython()
    library.ip.run_string(
        SPECIES.format(
            gamma=GAMMA[ideal],
            charge="" if base else "-",
            more="+" if base else "",
            pka=pka,
            sodium=max(alkali, 0) + 1e-9,
            chloride=max(-alkali, 0) + 1e-9,
            weak=weak + 1e-12,
        )
    )
    return float(library.get_solution(1).pH)


def _before(question: Question, act: ReadPH) -> tuple[object, ...]:
    operations = question.draw.variant.procedure.operations
    return operations[: operations.index(act)]


def _bottles(question: Question, act: ReadPH) -> list[tuple[str, float]]:
    return [(solution.species, cm3) for solution, cm3 in poured(question, act)]


@pytest.mark.parametrize("ideal", [True, False])
def test_a_drawn_ph_is_that_of_the_library(questions: Questions, bank: Bank, ideal: bool) -> None:
    tried = 0
    for key in kinds(bank):
        for seed in range(EACH if ideal else 3):
            question = questions.make(bank.archetypes[key], Stream(f"library {key} {seed}"))
            (act,) = question.draw.variant.procedure.meters
            name = acidity.ph_in(act.vessel)
            found = question.worked.exact if name == question.draw.ask.quantity else question.given[name]
            most = MOST_APART_PH + READ_TO if ideal else WITH_ACTIVITIES
            assert abs(float(found) - by_the_library(question, bank, ideal)) < most, (key, seed)
            tried += 1
    assert tried >= (100 if ideal else 40)
