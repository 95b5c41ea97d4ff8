"""Two bottles of one solute in one vessel: each amount has a name of its own, and any one quantity may be the hidden one."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.bank.readers.whole_bank import read_bank
from molewright.bench.perform import perform
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.experiment.relations.relating import relate
from molewright.question.check import Questions
from molewright.question.prepared import molar_masses
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_text, solve
from shared.for_each import for_each
from shared.quantities import q

Read = Callable[[str], Experiment]

# 25.0 cm³ of 3.00 mol dm⁻³ (75.0 mmol) and 300 cm³ of 0.400 mol dm⁻³ (120 mmol): 195 mmol, 325 cm³ of 0.600 mol dm⁻³ alkali
NUMBERS = {
    q("concentration of strong"): "concentration: 3.00 mol dm-3",
    q("volume of strong"): "volume: 25.0 cm3",
    q("concentration of weak"): "concentration: 0.400 mol dm-3",
    q("volume of weak"): "volume: 300 cm3",
    q("concentration of NaOH"): "concentration: 0.600 mol dm-3",
    q("titre of NaOH"): "titre: 325 cm3",
}
EXACT = {
    q("concentration of strong"): Fraction(3),
    q("volume of strong"): Fraction(25),
    q("concentration of weak"): Fraction("0.4"),
    q("volume of weak"): Fraction(300),
    q("concentration of NaOH"): Fraction("0.6"),
    q("titre of NaOH"): Fraction(325),
}


@pytest.fixture(scope="module")
def read(bank: Bank) -> Read:
    chemicals = Chemicals(substances=bank.substances, reactions=bank.reactions)
    return lambda text: build_experiment(parse_tree(text, "mixed.yaml"), chemicals)


def _mixed(hidden: str) -> str:
    told = {name: "" if name == hidden else f", {number}" for name, number in NUMBERS.items()}
    return f"""\
procedure:
  - measure: {{solution: HCl, bottle: strong{told[q("concentration of strong")]}{told[q("volume of strong")]}}}
  - measure: {{solution: HCl, bottle: weak{told[q("concentration of weak")]}{told[q("volume of weak")]}}}
  - titrate: {{with: NaOH, vessel: flask{told[q("concentration of NaOH")]}{told[q("titre of NaOH")]}}}
asked: {hidden}
"""


@for_each("hidden", NUMBERS)
def test_every_quantity_of_a_mixture_of_two_bottles_is_found_again(hidden: str, read: Read) -> None:
    assert solve(read(_mixed(hidden)), Plans("none", None)).exact == EXACT[hidden]


def test_amount_is_named_by_its_bottle_only_where_another_brings_the_same(read: Read) -> None:
    names = read(_mixed(q("titre of NaOH"))).system.variables.keys()
    assert {q("amount of HCl from strong added in flask"), q("amount of HCl from weak added in flask")} <= names
    assert q("amount of HCl total in flask") in names
    assert q("amount of HCl added in flask") not in names
    apart = read(
        _mixed(q("titre of NaOH")).replace("bottle: weak", "bottle: weak, into: beaker")
    ).system.variables.keys()
    assert q("amount of HCl added in flask") in apart
    assert q("amount of HCl from strong added in flask") not in apart


def test_bench_and_relations_call_the_amounts_alike(read: Read) -> None:
    experiment = read(_mixed(q("titre of NaOH")))
    worked = solve(experiment, Plans("none", None))
    truth = {name: quantity.in_base for name, quantity in experiment.given.items()}
    seen = perform(experiment.described.procedure, truth | molar_masses(experiment.system, experiment.masses)).amounts
    found = {step.variable.name: step.exact for step in worked.steps}
    for bottle in ("strong", "weak"):
        name = q(f"amount of HCl from {bottle} added in flask")
        assert seen[name] == found[name] > 0


THREE = """\
procedure:
  - measure: {solution: HCl, bottle: a, concentration: 1.00 mol dm-3, volume: 10.0 cm3}
  - measure: {solution: HCl, bottle: b, concentration: 2.00 mol dm-3, volume: 20.0 cm3}
  - measure: {solution: HCl, bottle: c, volume: 30.0 cm3}
  - take aliquot: 15.0 cm3
  - titrate: {with: NaOH, concentration: 1.00 mol dm-3, titre: 35.00 cm3}
asked: concentration of c
"""


def test_portion_of_three_bottles_is_a_share_of_their_amounts_and_of_their_volumes(read: Read) -> None:
    # 35.00 mmol in 15.0 of 60.0 cm³: 140 mmol, of which 10.0 and 40.0 are known; 90.0 mmol in 30.0 cm³
    worked = solve(read(THREE), Plans("none", None))
    assert worked.exact == 3
    assert {step.variable.name: step.exact for step in worked.steps}[q("total volume in flask")] == 60


def test_mixing_to_a_strength_shows_two_equations_without_a_number_below_zero(read: Read) -> None:
    text = """\
procedure:
  - measure: {solution: HCl, bottle: strong, concentration: 3.00 mol dm-3}
  - measure: {solution: HCl, bottle: weak, concentration: 0.400 mol dm-3, volume: 300 cm3}
  - tell strength: {solution: HCl, bottle: mixed, made in: flask, concentration: 0.600 mol dm-3}
asked: volume of strong
"""
    experiment = read(text)
    told = as_text(experiment, solve(experiment, Plans("none", None)))
    assert "(1) −x + y = 0.12" in told
    assert "= −" not in told
    assert "total volume in flask = 333.3x + 300" in told
    assert "volume of strong = (7.500 × 10⁻² × 1000) / 3.00 = 25.00 cm³" in told.replace("\N{NO-BREAK SPACE}", " ")


def test_same_bottle_twice_in_one_vessel_is_refused_and_told_what_to_do(read: Read) -> None:
    with pytest.raises(Mistake, match="HCl is measured into 'flask' twice") as refused:
        read(_mixed(q("titre of NaOH")).replace("bottle: strong, ", "").replace("bottle: weak, ", "").replace("0.400", "3.00")
             .replace("300 cm3", "25.0 cm3"))  # fmt: skip
    assert "bottle: second HCl" in refused.value.do


def test_sum_that_is_taken_twice_has_two_names(read: Read) -> None:
    text = """\
procedure:
  - measure: {solution: HCl, bottle: a, concentration: 1.00 mol dm-3, volume: 10.0 cm3}
  - measure: {solution: HCl, bottle: b, concentration: 2.00 mol dm-3, volume: 20.0 cm3}
  - titrate: {with: NaOH, vessel: flask, concentration: 1.00 mol dm-3, name: one}
  - measure: {solution: HCl, bottle: c, concentration: 3.00 mol dm-3, volume: 30.0 cm3}
  - measure: {solution: HCl, bottle: d, concentration: 1.00 mol dm-3, volume: 10.0 cm3}
  - titrate: {with: NaOH, vessel: flask, name: two}
asked: titre of NaOH, two
"""
    experiment = read(text)
    names = relate(experiment.described.procedure).variables.keys()
    assert {q("amount of HCl total in flask"), q("amount of HCl total in flask, again")} <= names
    assert solve(experiment, Plans("none", None)).exact == 100  # 90 and 10 mmol


# ------------------------------------------------------------------ a kind of question with two bottles

ENTRY = """\
- key: two-bottles
  title: Two bottles of one acid
  topic: direct titration
  demand: 2
  variants:
    - {analyte: HCl, titrant: NaOH}
  procedure:
    - measure: {solution: analyte, bottle: strong, concentration: fit 0.1400 to 0.300 mol dm-3 by 0.0005, volume: 10.0 cm3}
    - measure: {solution: analyte, bottle: weak, concentration: 0.0400 to 0.0800 mol dm-3 by 0.0005, volume: 20.0 cm3}
    - titrate: {with: titrant, vessel: flask, concentration: 0.0900 to 0.115 mol dm-3 by 0.0005}
  titre: 18 to 42 cm3
  ask:
    - {quantity: concentration of strong, weight: 1}
  source: common practice, no source
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    folder = tmp_path / "my-entries"
    (folder / "archetypes").mkdir(parents=True)
    (folder / "archetypes" / "bottles.yaml").write_text(ENTRY, "utf-8")
    return folder


def test_questions_on_two_bottles_are_right_when_worked_from_the_printed_numbers(own: Path, tmp_path: Path) -> None:
    both = read_bank(own=(own,), whole=False)
    maker = Questions(both, Plans(both.fingerprint, tmp_path))
    for number in range(10):
        question = maker.make(both.archetypes["two-bottles"], Stream(f"bottles/{number}"))
        given = {name: quantity.exact for name, quantity in question.draw.given.items()}
        titrant = given[q("titre of NaOH")] * given[q("concentration of NaOH")]
        weak = given[q("volume of weak")] * given[q("concentration of weak")]
        assert question.worked.exact == (titrant - weak) / given[q("volume of strong")]


def test_sheets_tell_the_two_bottles_apart(own: Path, tmp_path: Path) -> None:
    order = ["paper", "two-bottles", "--questions", "1", "--level", "scaffolded", "--seed", "7", "--form", "text"]
    assert main([*order, "--entries", str(own), "--to", str(tmp_path / "out")]) == 0
    sheets = {path.stem.rpartition("-")[2]: path.read_text("utf-8") for path in (tmp_path / "out").glob("*.txt")}
    asked = " ".join(sheets["questions"].split())
    assert re.search(r"20\.0 cm³ of 0\.0\d+ mol dm⁻³ hydrochloric acid was added", asked)
    assert re.search(r"the amount of HCl in 20\.0 cm³ of 0\.0\d+ mol dm⁻³ hydrochloric acid", asked)
    assert "the amount of HCl in 10.0 cm³ of the" in asked  # the scene's word for the bottle that is asked for
    assert "n(HCl weak) =" in asked
    assert "Take what is known away from the total." in asked
    assert "n(HCl strong) = " in sheets["solutions"]
