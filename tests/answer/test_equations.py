"""An equation is judged by balance and species: multiples and ions are right, and each mistake is named and paid as it should be."""

from __future__ import annotations

import pytest

from molewright.answer.equations import AskedEquation, Demand, judge_equation, ratio_in, salt_of
from molewright.chem.formula import parse_formula
from molewright.chem.reaction import parse_reaction
from molewright.further_parts.equations.right_equation import right_equation
from shared.banks import built_in

BANK = built_in()
ACID = "H2SO4(aq) + 2NaOH(aq) -> Na2SO4(aq) + 2H2O(l)"
GAS = "Na2CO3(aq) + 2HCl(aq) -> 2NaCl(aq) + CO2(g) + H2O(l)"
IRON = "MnO4^-(aq) + 8H^+(aq) + 5Fe^2+(aq) -> Mn^2+(aq) + 4H2O(l) + 5Fe^3+(aq)"
PEROXIDE = "2MnO4^-(aq) + 6H^+(aq) + 5H2O2(aq) -> 2Mn^2+(aq) + 8H2O(l) + 5O2(g)"
HALF = "MnO4^- + 8H^+ + 5e- -> Mn^2+ + 4H2O"


def asked(equation: str, demand: Demand, marks: int, states: bool = False) -> AskedEquation:
    return right_equation(BANK, parse_reaction(equation), demand, marks, states)


@pytest.mark.parametrize(
    ("equation", "demand", "written"),
    [
        (ACID, "full", "4NaOH + 2H2SO4 -> 4H2O + 2Na2SO4"),
        (ACID, "full", "H^+ + OH^- -> H2O"),
        (ACID, "full", "2H^+ + SO4^2- + 2Na^+ + 2OH^- -> 2Na^+ + SO4^2- + 2H2O"),
        (ACID, "full", "H3O^+ + OH^- -> 2H2O"),
        (GAS, "ionic", "2CO3^2- + 4H^+ -> 2H2O + 2CO2"),
        (IRON, "full", "2KMnO4 + 10FeSO4 + 8H2SO4 -> K2SO4 + 2MnSO4 + 5Fe2(SO4)3 + 8H2O"),
        (HALF, "half", "2MnO4^- + 16H^+ + 10e- -> 2Mn^2+ + 8H2O"),
    ],
)
def test_multiples_orders_and_ions_are_right(equation: str, demand: Demand, written: str) -> None:
    judged = judge_equation(asked(equation, demand, 2), parse_reaction(written))
    assert judged.right, judged
    assert judged.marks == 2


@pytest.mark.parametrize(
    ("equation", "demand", "written", "marks", "told"),
    [
        (ACID, "full", "H2SO4 + NaOH -> Na2SO4 + H2O", 1, "not balanced: H 3 on the left and 2 on the right"),
        (ACID, "full", "H2SO4 + NaOH -> NaHSO4 + H2O", 0, "a wrong product: NaHSO₄; missing on the right: Na₂SO₄"),
        (ACID, "full", "Na2SO4 + 2H2O -> H2SO4 + 2NaOH", 0, "the wrong way round"),
        (ACID, "full", "2NaOH -> Na2SO4 + 2H2O", 0, "missing on the left: H₂SO₄"),
        (GAS, "full", "Na2CO3 + 2HNO3 -> 2NaNO3 + CO2 + H2O", 0, "a wrong reactant: HNO₃"),
        (GAS, "ionic", "CO3^2- + 2H^+ + 2Na^+ -> 2Na^+ + CO2 + H2O", 1, "spectator ions are left in: Na⁺"),
        (GAS, "ionic", "Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O", 1, "not written as ions"),
        (GAS, "ionic", "CO3^2- + H^+ -> HCO3^-", 0, "a wrong product: HCO₃⁻"),
        (IRON, "full", "MnO4^- + 8H^+ + Fe^2+ -> Mn^2+ + 4H2O + Fe^3+", 1, "charge is not balanced: +9"),
        (IRON, "full", "MnO4^- + 8H^+ + 5e- + Fe^2+ -> Mn^2+ + 4H2O + Fe^3+ + e-", 1, "electrons are left over"),
        (PEROXIDE, "full", "2MnO4^- + 6H^+ + 3H2O2 -> 2Mn^2+ + 6H2O + 4O2", 1, "but not the electrons"),
        (PEROXIDE, "full", "2MnO4^- + 16H^+ + 5H2O2 -> 2Mn^2+ + 8H2O + 5O2 + 10H^+", 1, "not cancelled: H⁺"),
        (HALF, "half", "MnO4^- + 8H^+ -> Mn^2+ + 4H2O", 0, "missing on the left: e⁻"),
        (HALF, "half", "MnO4^- + 8H^+ -> Mn^2+ + 4H2O + 5e-", 0, "on the wrong side: e⁻"),
    ],
)
def test_a_mistake_is_named_and_keeps_the_mark_for_the_species_alone(
    equation: str, demand: Demand, written: str, marks: int, told: str
) -> None:
    judged = judge_equation(asked(equation, demand, 1 if demand == "half" else 2), parse_reaction(written))
    assert told in judged.told
    assert judged.marks == marks
    assert not judged.right


def test_states_count_only_where_they_are_asked_for() -> None:
    wrong = parse_reaction("Na2CO3(s) + 2HCl(aq) -> 2NaCl(aq) + CO2(g) + H2O(aq)")
    assert judge_equation(asked(GAS, "full", 2), wrong).right
    judged = judge_equation(asked(GAS, "full", 3, states=True), wrong)
    assert judged.marks == 2
    assert judged.told == "a wrong state symbol: Na₂CO₃(s) for (aq) and H₂O(aq) for (l)"
    without = parse_reaction("Na2CO3 + HCl -> NaCl + CO2 + H2O")
    assert judge_equation(asked(GAS, "full", 3, states=True), without).marks == 1


def test_the_ratio_of_an_equation_is_that_of_its_own_coefficients() -> None:
    wrong = parse_reaction("H2SO4 + NaOH -> Na2SO4 + H2O")
    assert ratio_in(wrong, "H2SO4", "NaOH") == 1
    assert ratio_in(parse_reaction("4NaOH + 2H2SO4 -> 4H2O + 2Na2SO4"), "NaOH", "H2SO4") == 2
    assert ratio_in(parse_reaction("H^+ + OH^- -> H2O"), "NaOH", "H2SO4") is None


def test_two_ions_make_a_salt() -> None:
    assert salt_of(parse_formula("Fe^3+"), parse_formula("SO4^2-")) == ("Fe2(SO4)3", ((2, "Fe^3+"), (3, "SO4^2-")))
    assert salt_of(parse_formula("K^+"), parse_formula("MnO4^-"))[0] == "KMnO4"
