"""Equations are found in the banks, or as they are written, in whichever form a substance stands in them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.bank.readers.forms import Forms
from molewright.bank.readers.in_ions import in_ions
from molewright.chem.quantity import to_figures
from molewright.chem.reaction import parse_reaction, require_whole
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve
from shared.for_each import for_each


@pytest.fixture(scope="module")
def read(bank: Bank) -> Callable[[str], Experiment]:
    chemicals = chemicals_of(bank)
    return lambda text: build_experiment(parse_tree(text, "by hand"), chemicals)


def weighed(substance: str, titrant: str, equation: str = "", extra: str = "") -> str:
    written = f', reaction: "{equation}"' if equation else ""
    return f"""
procedure:
  - weigh: {{sample: salt, contains: {substance}, pure: yes{extra}}}
  - dissolve
  - titrate: {{with: {titrant}, concentration: 0.100 mol dm-3, titre: 20.00 cm3{written}}}
asked: amount of {substance} in salt
"""


@for_each(
    ("substance", "titrant", "equation", "mmol"),
    [
        ("NaCl", "AgNO3", "", "2.00"),
        ("NaCl", "AgNO3", "NaCl + AgNO3 -> AgCl + NaNO3", "2.00"),
        ("NaCl", "AgNO3", "Ag^+ + Cl^- -> AgCl", "2.00"),
        ("KBr", "AgNO3", "", "2.00"),
        ("MgCl2.6H2O", "AgNO3", "", "1.00"),
        ("BaCl2.2H2O", "AgNO3", "BaCl2 + 2AgNO3 -> 2AgCl + Ba(NO3)2", "1.00"),
        ("FeSO4.7H2O", "KMnO4", "", "10.0"),
        ("FeSO4.7H2O", "KMnO4",
         "10FeSO4 + 2KMnO4 + 8H2SO4 -> 5Fe2(SO4)3 + K2SO4 + 2MnSO4 + 8H2O", "10.0"),
        ("Na2C2O4", "KMnO4", "5C2O4^2- + 2MnO4^- + 16H^+ -> 10CO2 + 2Mn^2+ + 8H2O", "5.00"),
        ("KOH", "H2SO4", "H^+ + OH^- -> H2O", "4.00"),
        ("Na2CO3.10H2O", "HCl", "CO3^2- + 2H^+ -> CO2 + H2O", "1.00"),
        ("CsCl", "AgNO3", "CsCl + AgNO3 -> AgCl + CsNO3", "2.00"),
        ("RbBr", "AgNO3", "Ag^+ + Br^- -> AgBr", "2.00"),
    ],
)  # fmt: skip
def test_molecular_and_ionic_writing_are_one(
    substance: str, titrant: str, equation: str, mmol: str, read: Callable[[str], Experiment]
) -> None:
    worked = solve(read(weighed(substance, titrant, equation)), Plans("none", None))
    assert f"{to_figures(worked.exact * 1000, 3):f}" == mmol


def test_what_is_let_react_may_be_written_in_full(read: Callable[[str], Experiment]) -> None:
    # 0.1000 g / 214.0 g mol-1, three times as much iodine, twice that of thiosulfate in 28.00 cm3
    worked = solve(read("""
procedure:
  - weigh: {sample: iodate, contains: KIO3, pure: yes, mass: 0.1000 g}
  - add: potassium iodide and dilute sulfuric acid
  - react: KIO3 + 5KI + 3H2SO4 -> 3K2SO4 + 3I2 + 3H2O
  - titrate: {with: Na2S2O3, titre: 28.00 cm3, reaction: I2 + 2Na2S2O3 -> 2NaI + Na2S4O6}
asked: concentration of Na2S2O3
"""), Plans("none", None))  # fmt: skip
    assert f"{to_figures(worked.exact, 4)}" == "0.1001"


def test_what_the_description_says_it_gives_stands(read: Callable[[str], Experiment]) -> None:
    with pytest.raises(Mistake, match="finds nothing to react with"):
        read(weighed("NaCl", "AgNO3", "Ag^+ + Cl^- -> AgCl", ", gives: 1 NaCl"))


TWO_PORTIONS = """
procedure:
  - measure: {{solution: {0}, volume: 25.0 cm3}}
  - take aliquot: {{volume: 10.0 cm3, into: one}}
  - titrate: {{with: {1}, vessel: one, name: one, concentration: 0.1 mol dm-3, titre: 9 cm3, reaction: "{2}"}}
  - take aliquot: {{from: flask, volume: 10.0 cm3, into: two}}
  - titrate: {{with: {1}, vessel: two, name: two, reaction: "{3}"}}
asked: titre of {1}, two
"""


def test_one_substance_written_whole_in_one_equation_and_in_ions_in_another_is_one(
    read: Callable[[str], Experiment],
) -> None:
    written = TWO_PORTIONS.format("NaCl", "AgNO3", "Ag^+ + Cl^- -> AgCl", "NaCl + AgNO3 -> AgCl + NaNO3")
    experiment = read(written)
    assert solve(experiment, Plans("none", None)).exact == 9
    first, second = (act.reactions[0] for act in experiment.described.procedure.titrations)
    assert first.text == "Ag+ + Cl- -> AgCl"
    assert second.is_like(first)


def test_two_ways_of_writing_what_is_not_in_ions_are_told(read: Callable[[str], Experiment]) -> None:
    written = TWO_PORTIONS.format("CH3COOH", "NaOH", "H^+ + OH^- -> H2O", "CH3COOH + NaOH -> CH3COONa + H2O")
    with pytest.raises(Mistake, match="one way of writing it"):
        read(written)


IRON_WIRE = """
procedure:
  - weigh: {{sample: iron wire, contains: Fe, mass: 1.340 g}}
  - {0}
  - react: {1}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {{with: K2Cr2O7, concentration: 0.0175 mol dm-3, titre: 21.8 cm3}}
  - react: {2}
asked: percentage of iron in iron wire
"""
WHOLE = "K2Cr2O7 + 6FeSO4 + 7H2SO4 -> Cr2(SO4)3 + 3Fe2(SO4)3 + K2SO4 + 7H2O"
IONIC = "Cr2O72- + 14H+ + 6Fe2+ -> 2Cr3+ + 6Fe3+ + 7H2O"


@pytest.mark.parametrize("acid", [
    "add excess: H2SO4", "dissolve: H2SO4", "add: dilute sulfuric acid", "add excess: {solution: H2SO4, volume: 200 cm3, "
    "concentration: 1.00 mol dm-3}",
])  # fmt: skip
@pytest.mark.parametrize("dissolving", ["Fe + H2SO4 -> FeSO4 + H2", "Fe + 2H+ -> Fe2+ + H2"])
@pytest.mark.parametrize("titrated", [WHOLE, IONIC])
def test_acid_that_only_helps_may_be_told_in_every_way(
    acid: str, dissolving: str, titrated: str, read: Callable[[str], Experiment]
) -> None:
    """On paper: 0.3815 mmol of dichromate(VI) in a portion, 6 times that of iron, 10 portions; 55.8 g mol-1 in 1.340 g: 95.3 %."""
    worked = solve(read(IRON_WIRE.format(acid, dissolving, titrated)), Plans("none", None))
    assert f"{to_figures(worked.exact, 4)}" == "95.32"


@pytest.mark.parametrize(
    ("written", "substance", "ionic"),
    [
        ("Fe + H2SO4 -> FeSO4 + H2", "FeSO4", "Fe + 2H+ -> Fe^2+ + H2"),
        ("2KMnO4 + 10FeSO4 + 8H2SO4 -> K2SO4 + 2MnSO4 + 5Fe2(SO4)3 + 8H2O", "FeSO4",
         "MnO4- + 5Fe^2+ + 8H+ -> Mn^2+ + 5Fe^3+ + 4H2O"),
        ("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O", "HCl", "CaCO3 + 2H+ -> Ca^2+ + CO2 + H2O"),
        ("CH3COOH + NaOH -> CH3COONa + H2O", "NaOH", "CH3COOH + OH- -> CH3COO- + H2O"),
        ("2NaOH(aq) + H2SO4(aq) -> Na2SO4(aq) + 2H2O(l)", "H2SO4", "OH-(aq) + H+(aq) -> H2O(l)"),
        ("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O", "NaCl", "CaCO3 + 2HCl -> CaCl2 + CO2 + H2O"),
    ],
)  # fmt: skip
def test_an_equation_in_ions_keeps_solids_weak_acids_and_no_spectators(
    written: str, substance: str, ionic: str, bank: Bank
) -> None:
    forms = chemicals_of(bank).forms
    assert forms is not None
    made = in_ions(parse_reaction(written), frozenset({substance}), forms)
    require_whole(made)
    assert made.text == ionic


def test_missing_equation_is_told_with_the_line_to_write(read: Callable[[str], Experiment]) -> None:
    with pytest.raises(Mistake) as refused:
        read(weighed("C6H12O6", "KMnO4"))
    assert "reaction: C6H12O6 + MnO4- -> ..." in refused.value.do


def test_salt_that_the_banks_do_not_hold_is_taken_apart_by_their_ions(bank: Bank) -> None:
    forms = Forms(substances=bank.substances, ions=bank.ions, solutes=bank.solutes, acids=bank.acids)
    assert forms.of("SrBr2") == ((1, "SrBr2"), (1, "Sr^2+"), (2, "Br-"))
    assert forms.of("C6H12O6") == ((1, "C6H12O6"),)
    assert (2, "H+") in forms.of("H2SO4")
