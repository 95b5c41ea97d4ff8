"""The indicator decides what a titration is: which equations count, by the computed curve; one that does not suit is told."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import build_experiment
from molewright.chem.quantity import to_figures
from molewright.derivation.plans import Plans
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import notes, solve
from shared.for_each import for_each

Solve = Callable[[str], tuple[str, str]]


@pytest.fixture(scope="module")
def solved(bank: Bank) -> Solve:
    """An experiment from its text: the answer to three figures, and everything that is said beside it."""
    chemicals, plans = chemicals_of(bank), Plans(bank.fingerprint, None)

    def one(text: str) -> tuple[str, str]:
        experiment = build_experiment(parse_tree(text, "by hand"), chemicals)
        worked = solve(experiment, plans)
        return f"{to_figures(worked.exact, 3):f}", "; ".join(notes(experiment, worked))

    return one


def ammonia(indicator: str = "") -> str:
    named = f", indicator: {indicator}" if indicator else ""
    return f"""
procedure:
  - measure: {{solution: NH3, volume: 25.0 cm3, concentration: 0.1 mol dm-3}}
  - add excess: {{solution: HCl, volume: 50.0 cm3, concentration: 0.1 mol dm-3}}
  - react: {{excess: HCl}}
  - titrate: {{with: NaOH, concentration: 0.1 mol dm-3{named}}}
asked: titre of NaOH
"""


@pytest.mark.parametrize("indicator", ["", "methyl red", "methyl orange"])
def test_back_titration_leaves_ammonium_alone(indicator: str, solved: Solve) -> None:
    assert solved(ammonia(indicator)) == ("25.0", "")


def test_what_phenolphthalein_does_to_ammonium_is_said(solved: Solve) -> None:
    answer, said = solved(ammonia("phenolphthalein"))
    assert answer == "25.0"
    assert "NH4Cl, which an earlier reaction made, is taken not to react" in said


def direct(flask: str, titrant: str, indicator: str, equation: str = "") -> str:
    written = f", reaction: {equation}" if equation else ""
    return f"""
procedure:
  - measure: {{solution: {flask}, volume: 25.0 cm3, concentration: 0.100 mol dm-3}}
  - titrate: {{with: {titrant}, concentration: 0.100 mol dm-3, indicator: {indicator}{written}}}
asked: titre of {titrant}
"""


@for_each(
    ("flask", "titrant", "indicator", "titre"),
    [
        ("Na2CO3", "HCl", "phenolphthalein", "25.0"),
        ("Na2CO3", "HCl", "methyl orange", "50.0"),
        ("Na2CO3", "H2SO4", "phenolphthalein", "12.5"),
        ("H3PO4", "NaOH", "methyl orange", "25.0"),
        ("H3PO4", "NaOH", "thymolphthalein", "50.0"),
        ("HBr", "KOH", "bromothymol blue", "25.0"),
        ("HBr", "Ba(OH)2", "Bromothymol Blue", "12.5"),
        ("K2CO3", "HNO3", "methyl orange", "50.0"),
    ],
)
def test_indicator_decides_the_ratio(flask: str, titrant: str, indicator: str, titre: str, solved: Solve) -> None:
    assert solved(direct(flask, titrant, indicator)) == (titre, "")


def test_two_end_points_need_no_equation(solved: Solve) -> None:
    # 1.25 mmol of carbonate to hydrogencarbonate; then that and 0.75 mmol more to carbon dioxide
    answer, said = solved("""
procedure:
  - measure: {solution: Na2CO3, volume: 25.0 cm3, beside: {solution: NaHCO3}}
  - titrate: {with: HCl, name: first, concentration: 0.100 mol dm-3, titre: 12.50 cm3, indicator: phenolphthalein}
  - titrate: {with: HCl, name: second, titre: 20.00 cm3, indicator: methyl orange}
asked: concentration of NaHCO3
""")
    assert (answer, said) == ("0.0300", "")


@pytest.mark.parametrize(
    ("case", "told"),
    [
        (("CH3COOH", "NaOH", "methyl orange"), "methyl orange does not show the end point of CH3COOH with NaOH"),
        (("CH3COOH", "NaOH", "litmus"), "the banks know no indicator 'litmus'"),
        (("CH3COOH", "NaOH", "starch"), "starch does not follow pH"),
        (("Na2CO3", "HCl", "phenolphthalein", "Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O"), "and the equation has 2"),
        (("NH4Cl", "NaOH", "phenolphthalein"), "phenolphthalein does not show the end point of NH4Cl"),
    ],
)
def test_indicator_that_does_not_suit_is_told_with_those_that_do(
    case: tuple[str, ...], told: str, solved: Solve
) -> None:
    _, said = solved(direct(*case))
    assert told in said
    if case[0] != "NH4Cl":
        assert "These show it: " in said


def test_product_that_is_titrated_too_is_told(solved: Solve) -> None:
    # as the first end point of phosphoric acid, in a flask that holds another acid: both are titrated to thymolphthalein
    _, said = solved("""
procedure:
  - measure: {solution: H3PO4, volume: 25.0 cm3, concentration: 0.100 mol dm-3}
  - titrate: {with: NaOH, name: first, concentration: 0.100 mol dm-3, indicator: methyl orange}
  - measure: {solution: HCl, volume: 10.0 cm3, concentration: 0.100 mol dm-3}
  - titrate: {with: NaOH, name: second, indicator: thymolphthalein}
asked: titre of NaOH, second
""")
    assert "NaOH also titrates NaH2PO4, which an earlier reaction made" in said
