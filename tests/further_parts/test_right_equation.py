"""The equation of a reaction as a pupil may write it: in ions, without spectators, with what may stand instead."""

from __future__ import annotations

import pytest

from molewright.chem.reaction import parse_reaction, require_balance
from molewright.further_parts.equations.right_equation import ionic_equation, right_equation
from shared.banks import built_in

BANK = built_in()


@pytest.mark.parametrize(
    ("whole", "ionic"),
    [
        ("H2SO4(aq) + 2NaOH(aq) -> Na2SO4(aq) + 2H2O(l)", "H⁺(aq) + OH⁻(aq) → H₂O(l)"),
        ("CaCO3(s) + 2HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)", "CaCO₃(s) + 2H⁺(aq) → Ca²⁺(aq) + CO₂(g) + H₂O(l)"),
        ("CH3COOH(aq) + NaOH(aq) -> CH3COONa(aq) + H2O(l)", "CH₃COOH(aq) + OH⁻(aq) → CH₃COO⁻(aq) + H₂O(l)"),
        ("Ag^+(aq) + Cl^-(aq) -> AgCl(s)", None),
    ],
)
def test_spectator_ions_are_left_out_and_weak_acids_and_solids_stay_whole(whole: str, ionic: str | None) -> None:
    made = ionic_equation(BANK, parse_reaction(whole))
    assert (None if made is None else str(made)) == ionic


def test_every_ionic_equation_of_the_banks_balances() -> None:
    for entry in BANK.reactions:
        made = ionic_equation(BANK, entry.reaction)
        if made is not None:
            require_balance(made)


def test_an_equation_printed_in_ions_may_be_written_with_others_beside_them() -> None:
    made = right_equation(BANK, parse_reaction("Ag^+(aq) + Cl^-(aq) -> AgCl(s)"), "full", 2)
    assert "NO3-" in made.beside
    assert not right_equation(BANK, parse_reaction("HCl + NaOH -> NaCl + H2O"), "full", 2).beside


def test_nearly_every_species_of_a_reaction_has_a_name_and_none_has_two() -> None:
    """One without a name is told by its formula."""
    species = {one.formula.text for entry in BANK.reactions for one in (*entry.reaction.left, *entry.reaction.right)}
    nameless = species - BANK.substances.keys() - BANK.equations.names.keys()
    assert len(nameless) * 10 < len(species), nameless
    assert not BANK.equations.names.keys() & BANK.substances.keys()
