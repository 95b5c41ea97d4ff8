"""A substance is found by each name and formula that it has, and printed by one."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.errors import Mistake
from molewright.solve.described import as_text, solve_file
from molewright.survey.listing import list_bank
from shared.banks import built_in

EXPERIMENT = """\
experiment: The acid of grapes
procedure:
  - measure: {{solution: {acid}, volume: 25.0 cm3}}
  - titrate: {{with: NaOH, concentration: 0.100 mol dm-3, titre: 20.00 cm3}}
asked: concentration of {acid}
"""
SEVERAL = [one for one in built_in().substances.values() if one.also_called]


@pytest.mark.parametrize(
    "call", ["tartaric acid", "C4H6O6", "H2C4H4O6", "(CHOHCOOH)2", "2,3-dihydroxybutanedioic acid"]
)
def test_tartaric_acid_is_found_by_its_names_and_formulae(call: str, bank: Bank, tmp_path: Path) -> None:
    path = tmp_path / "experiment.yaml"
    path.write_text(EXPERIMENT.format(acid=f'"{call}"').replace(f'of "{call}"', f"of {call}"), "utf-8")
    told = as_text(*solve_file(path, bank))
    assert "0.0400" in told  # 2.000 mmol of alkali, 1.000 mmol of a dibasic acid in 25.0 cm3
    assert call in ("(CHOHCOOH)2", "tartaric acid") or call not in told


def test_an_equation_may_name_it_by_another_formula(bank: Bank, tmp_path: Path) -> None:
    path = tmp_path / "experiment.yaml"
    told = EXPERIMENT.format(acid="C4H6O6")
    equation = "reaction: C4H6O6 + 2NaOH -> Na2C4H4O6 + 2H2O, "
    path.write_text(told.replace("with: NaOH, ", f"with: NaOH, {equation}"), "utf-8")
    assert "0.0400" in as_text(*solve_file(path, bank))


def test_no_name_stands_for_two_substances() -> None:
    calls = [call for one in built_in().substances.values() for call in dict.fromkeys(one.calls)]
    shared = {call for call in calls if calls.count(call) > 1}
    assert not shared & {call for one in SEVERAL for call in one.also_called}
    assert len(SEVERAL) >= 4


def test_other_names_are_listed() -> None:
    lines = list(list_bank(built_in(), "substances"))
    assert "(CHOHCOOH)₂: 2,3-dihydroxybutanedioic acid (also tartaric acid, C4H6O6, H2C4H4O6)" in lines


OWN: dict[str, tuple[str, str]] = {
    "a name of the banks": (
        "formula: H3PO2\n  name: phosphinic acid\n  also called: [oxalic acid]",
        "is that of H2C2O4 in the banks",
    ),
    "a formula of the banks": (
        "formula: HCOOCH3\n  name: methyl methanoate\n  also called: [CH3COOH]",
        "has an entry of its own in the banks",
    ),
    "a formula of something else": (
        "formula: H3PO2\n  name: phosphinic acid\n  also called: [H3PO3]",
        "H3PO3 is another substance than H3PO2",
    ),
    "called so already": (
        "formula: H2C4H4O6\n  name: my acid",
        "the formula 'H2C4H4O6' of H2C4H4O6 is that of (CHOHCOOH)2 in the banks",
    ),
}


@pytest.mark.parametrize("what", OWN)
def test_ones_own_substance_takes_no_name_of_the_banks(what: str, tmp_path: Path) -> None:
    entry, said = OWN[what]
    (tmp_path / "substances.yaml").write_text(f"- {entry}\n", "utf-8")
    with pytest.raises(Mistake) as caught:
        read_bank(own=(tmp_path,))
    assert said in str(caught.value)


def test_a_misspelt_name_is_answered_with_the_nearest_of_all(bank: Bank, tmp_path: Path) -> None:
    path = tmp_path / "experiment.yaml"
    path.write_text(EXPERIMENT.format(acid="oxalik acid"), "utf-8")
    with pytest.raises(Mistake, match="oxalic acid"):
        solve_file(path, bank)
