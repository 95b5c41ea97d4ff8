"""Equations of open textbooks and pharmacopoeias: read, counted, balanced and combined as they are printed there."""

from __future__ import annotations

import re
import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.chem.half_equations import put_together
from molewright.chem.reaction import Reaction, balanced, parse_reaction, require_balance
from molewright.errors import Mistake
from shared.for_each import for_each

LETTERS = frozenset({"M", "R", "Y"})

# As printed in the source, states left out.
PRINTED = [
    ("HCl + NaOH -> NaCl + H2O", "OpenStax Chemistry 2e, 4.5"),
    ("5H2C2O4 + 2MnO4- + 6H+ -> 10CO2 + 2Mn^2+ + 8H2O", "OpenStax Chemistry 2e, 4.5"),
    ("2Cl- + Hg^2+ -> HgCl2", "OpenStax Chemistry 2e, 4.5"),
    ("H2C2O4 + 2NaOH -> Na2C2O4 + 2H2O", "OpenStax Chemistry 2e, 4.5"),
    ("H3PO4 + 2KOH -> K2HPO4 + 2H2O", "OpenStax Chemistry 2e, 4.5"),
    ("Cr2O7^2- + 6Fe^2+ + 14H+ -> 2Cr^3+ + 6Fe^3+ + 7H2O", "OpenStax Chemistry 2e, 19.1"),
    ("2CN- + Ag+ -> Ag(CN)2-", "OpenStax Chemistry 2e, 19.2"),
    ("PCl3 + 3H2O -> H3PO3 + 3HCl", "OpenStax Chemistry 2e, 18.8"),
    ("H+ + OH- -> H2O", "OpenStax Chemistry 2e, 18.8"),
    ("CH3COOH + NaOH -> CH3COONa + H2O", "OpenStax Chemistry 2e, 14.7"),
    ("Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O", "Talbot 1920, problem 8"),
    ("M2CO3 + 2H+ -> 2M+ + CO2 + H2O", "Talbot 1920, problem 20"),
    ("2KHCO3 + H2SO4 -> K2SO4 + 2CO2 + 2H2O", "Talbot 1920, problem 15"),
    ("NH4+ + OH- -> NH3 + H2O", "Talbot 1920, problem 22"),
    ("CO3^2- + H+ -> HCO3-", "Talbot 1920, problem 25"),
    ("KHC4H4O6 + NaOH -> KNaC4H4O6 + H2O", "Talbot 1920, problem 28"),
    ("CaCO3 + 2HCl -> CaCl2 + CO2 + H2O", "Talbot 1920, problem 30"),
    ("6FeSO4 + 2HNO3 + 3H2SO4 -> 3Fe2(SO4)3 + 2NO + 4H2O", "Talbot 1920, problem 33"),
    ("2Fe^3+ + Sn^2+ -> 2Fe^2+ + Sn^4+", "Talbot 1920, problem 43"),
    ("MnO4- + 5Fe^2+ + 8H+ -> Mn^2+ + 5Fe^3+ + 4H2O", "Talbot 1920, problem 46"),
    ("2MnO4- + 5SO2 + 2H2O -> 2Mn^2+ + 5SO4^2- + 4H+", "Talbot 1920, problem 53"),
    ("I2 + 2S2O3^2- -> 2I- + S4O6^2-", "Talbot 1920, problem 60"),
    ("As2O3 + 2I2 + 2H2O -> As2O5 + 4HI", "Talbot 1920, problem 60"),
    ("KIO3 + 5KI + 3H2SO4 -> 3K2SO4 + 3I2 + 3H2O", "Talbot 1920, problem 61"),
    ("MnO2 + 4HCl -> MnCl2 + Cl2 + 2H2O", "Talbot 1920, problem 64"),
    ("MnO2 + 4H+ + 2I- -> Mn^2+ + I2 + 2H2O", "Talbot 1920, problem 69"),
    ("Ag+ + SCN- -> AgSCN", "Talbot 1920, problem 70"),
    ("KHC2O4.H2C2O4.2H2O + 3NaOH -> KNaC2O4 + Na2C2O4 + 5H2O", "Palacky University Olomouc, problem 3.3"),
    ("Bi^3+ + H2Y^2- -> BiY- + 2H+", "Palacky University Olomouc, problem 3.43"),
    ("BrO3- + 6I- + 6H+ -> Br- + 3I2 + 3H2O", "Palacky University Olomouc, problem 3.73"),
    ("Zr^4+ + H2Y^2- -> ZrY + 2H+", "LMU Munich, basic analytical course B6"),
    ("Al(OH)3 + 3HCl -> AlCl3 + 3H2O", "LibreTexts Chemistry, worksheets: stoichiometry"),
    ("2NH3 + H2SO4 -> (NH4)2SO4", "Northern Ireland SR 1991/540, method 5"),
    ("HOC6H4COOH + NaOH -> HOC6H4COONa + H2O", "Czech Pharmacopoeia, salicylic acid"),
    ("2MnO4- + 5C2O4^2- + 16H+ -> 2Mn^2+ + 10CO2 + 8H2O", "USP, 0.1 N potassium permanganate"),
    ("KIO3 + 5KI + 6HCl -> 6KCl + 3I2 + 3H2O", "British Pharmacopoeia 2012"),
    ("ClO- + 2I- + 2H+ -> Cl- + I2 + H2O", "USP29, sodium hypochlorite solution"),
    ("H2O2 + 2I- + 2H+ -> I2 + 2H2O", "Czech Pharmacopoeia, oxidising substances"),
    ("RCOOH + KOH -> RCOOK + H2O", "European Pharmacopoeia 2.5.1, acid value"),
    ("As2O3 + 3H2O -> 2H3AsO3", "Czech Pharmacopoeia, arsenic(III) oxide"),
    ("KHC8H4O4 + NaOH -> KNaC8H4O4 + H2O", "Eurachem/CITAC CG4, example A2"),
    ("BaSO4 + Y^4- -> BaY^2- + SO4^2-", "Harvey, Analytical Chemistry 2.1, chapter 9"),
    ("H3C6H5O7 + 3NaOH -> Na3C6H5O7 + 3H2O", "Harvey, Analytical Chemistry 2.1, chapter 9"),
    ("Ba(OH)2 + 2HCl -> BaCl2 + 2H2O", "Treatise on Applied Analytical Chemistry, vol. 1"),
]
# J. S. Reichert et al., Ind. Eng. Chem. Anal. Ed. 11 (1939) 194: peroxide can also lose oxygen by itself
PERMANGANATE_PEROXIDE = "2MnO4- + 5H2O2 + 6H+ -> 2Mn^2+ + 5O2 + 8H2O"


def stripped(text: str) -> str:
    """The equation without its coefficients."""
    return " ".join(re.sub(r"^\d+", "", word) for word in text.split())


@for_each(("text", "source"), PRINTED)
def test_printed_equation_balances_and_is_read_as_printed(text, source):
    reaction = parse_reaction(text, LETTERS)
    require_balance(reaction)
    assert reaction.text == text


@for_each(("text", "source"), PRINTED)
def test_balancing_the_bare_formulae_gives_the_printed_coefficients(text, source):
    assert balanced(parse_reaction(stripped(text), LETTERS)).text == text


@for_each(("text", "source"), [pair for pair in PRINTED if any(ch.isdigit() for ch in pair[0].split()[-1])])
def test_one_more_molecule_puts_an_equation_out_of_balance(text, source):
    reaction = parse_reaction(text, LETTERS)
    last = reaction.right[-1]
    more = type(last)(last.coefficient + 1, last.formula, last.state)
    with pytest.raises(Mistake, match="does not balance"):
        require_balance(Reaction(reaction.left, (*reaction.right[:-1], more)))


# ---------------------------------------------------------------- reading

CARBONATE = "CaCO3(s) + 2HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"


@pytest.mark.parametrize(
    "text",
    [
        CARBONATE,
        "CaCO3(s) + 2 HCl(aq) → CaCl2(aq) + CO2(g) + H2O(l)",
        "CaCO3 (s) + 2HCl (aq) = CaCl2(aq) + CO2(g) + H2O(l)",
        "  CaCO₃(s)  +  2HCl(aq)->CaCl₂(aq) + CO₂(g) + H₂O(l)\n",
    ],
)
def test_every_way_of_typing_an_equation_gives_one_reaction(text):
    assert parse_reaction(text) == parse_reaction(CARBONATE)
    assert parse_reaction(text).text == CARBONATE


def test_equation_as_text_is_what_a_pupil_reads():
    assert str(parse_reaction(CARBONATE)) == "CaCO₃(s) + 2HCl(aq) → CaCl₂(aq) + CO₂(g) + H₂O(l)"


def test_the_plus_of_a_charge_does_not_part_two_species():
    reaction = parse_reaction("H+(aq) + OH-(aq) -> H2O(l)")
    assert [species.formula.charge for species in reaction.left] == [1, -1]
    assert len(parse_reaction("Fe^2+ + MnO4- -> Fe^3+ + Mn^2+").left) == 2
    assert parse_reaction("Ag+ + Cl-->AgCl").left[1].formula.text == "Cl-"


def test_states_are_kept():
    reaction = parse_reaction(CARBONATE)
    assert [species.state for species in (*reaction.left, *reaction.right)] == ["s", "aq", "aq", "g", "l"]


def test_ratio_is_exact_and_from_the_coefficients():
    reaction = parse_reaction("MnO4- + 5Fe^2+ + 8H+ -> Mn^2+ + 5Fe^3+ + 4H2O")
    assert reaction.ratio("Fe^2+", "MnO4-") == 5
    assert reaction.ratio("MnO4-", "Fe²⁺") == Fraction(1, 5)
    assert reaction.coefficient("H2O") == 4
    assert reaction.has("MnO4^-")
    assert not reaction.has("Fe")


def test_absent_species_names_the_near_ones():
    with pytest.raises(Mistake, match="Na2CO3 is not in") as caught:
        parse_reaction(CARBONATE).coefficient("Na2CO3")
    assert "CaCO3" in caught.value.near
    assert "CaCl2" in caught.value.expected


def test_species_on_both_sides_has_no_coefficient():
    with pytest.raises(Mistake, match="both sides"):
        parse_reaction("H2O + NaOH + HCl -> NaCl + 2H2O").coefficient("H2O")


def test_species_written_twice_on_one_side_counts_together():
    assert parse_reaction("HCl + CaCO3 + HCl -> CaCl2 + CO2 + H2O").coefficient("HCl") == 2


@for_each(
    ("text", "found"),
    [
        ("CaCO3 + 2HCl", "has no arrow"),
        ("CaCO3 -> CaO -> CO2", "has 2 arrows"),
        ("-> CaO + CO2", "nothing on the left"),
        ("CaCO3 ->", "nothing on the right"),
        ("CaCO3(x) -> CaO + CO2", r"state symbol \(x\) in the term 'CaCO3\(x\)'"),
        ("CaCO3(S) -> CaO + CO2", r"state symbol \(S\)"),
        ("CaCO3(solid) -> CaO + CO2", r"state symbol \(solid\)"),
        ("H2 + ½O2 -> H2O", "not a whole number"),
        ("H2 + 1/2 O2 -> H2O", "not a whole number"),
        ("H2 + 0.5O2 -> H2O", "not a whole number"),
        ("H2 + 0O2 -> H2O", "coefficient '0'"),
        ("H2 + 1000O2 -> H2O", "coefficient '1000'"),
        ("H2 + 1234567890123O2 -> H2O", "coefficient '12345678901…' in the term '1234567890123O2'"),
        ("Ca(OH + HCl -> CaCl2", r"in the term 'Ca\(OH': .* never closed"),
        ("M2CO3 -> M2O + CO2", "in the term 'M2CO3': .* unknown element 'M'"),
        ("H2 +  + O2 -> H2O", "nothing between two plus signs"),
        ("(aq) + HCl -> NaCl", r"in the term '\(aq\)': the formula is empty"),
        ("C" * 301, "301 characters"),
    ],
)
def test_a_faulty_equation_is_refused_with_its_fault(text, found):
    with pytest.raises(Mistake, match=found):
        parse_reaction(text)


def test_plus_without_spaces_is_refused_with_what_to_do():
    with pytest.raises(Mistake) as caught:
        parse_reaction("CaCO3+2HCl -> CaCl2 + CO2 + H2O")
    assert "a space on each side of a +" in caught.value.do


@given(st.text(alphabet="CaHO2+-> =().sglq^½\n", max_size=40))
def test_any_text_is_either_read_or_refused_as_a_mistake(text):
    try:
        reaction = parse_reaction(text)
    except Mistake:
        return
    assert parse_reaction(reaction.text) == reaction


# ---------------------------------------------------------------- balance


def test_imbalance_names_each_element_both_counts_and_the_balanced_equation():
    with pytest.raises(Mistake) as caught:
        require_balance(parse_reaction("CaCO3(s) + HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"))
    message = str(caught.value)
    assert "H 1 on the left and 2 on the right" in message
    assert "Cl 1 on the left and 2 on the right" in message
    assert "O 3" not in message
    assert CARBONATE in caught.value.do


def test_imbalance_of_charge_alone_is_found():
    with pytest.raises(Mistake, match=r"does not balance: charge \+2 on the left and \+3 on the right"):
        require_balance(parse_reaction("Fe^2+ -> Fe^3+"))


def test_an_equation_that_nothing_can_balance_says_so():
    with pytest.raises(Mistake, match="does not balance") as caught:
        require_balance(parse_reaction("H2 + O2 -> N2"))
    assert "missing or misspelt" in caught.value.do


def test_all_coefficients_doubled_still_balance():
    require_balance(parse_reaction("2CaCO3 + 4HCl -> 2CaCl2 + 2CO2 + 2H2O"))


def test_unknown_water_cannot_be_balanced():
    with pytest.raises(Mistake, match="unknown amount of water"):
        require_balance(parse_reaction("Na2CO3.xH2O + 2HCl -> 2NaCl + CO2 + H2O"))
    with pytest.raises(Mistake, match="unknown amount of water"):
        balanced(parse_reaction("Na2CO3.xH2O + HCl -> NaCl + CO2 + H2O"))


def test_permanganate_and_peroxide_balance_in_more_than_one_way():
    reaction = parse_reaction(PERMANGANATE_PEROXIDE)
    require_balance(reaction)
    with pytest.raises(Mistake, match="more than one way"):
        balanced(parse_reaction(PERMANGANATE_PEROXIDE))


@pytest.mark.parametrize("text", ["H2 + O2 -> N2", "NaCl -> NaCl + H2O", "H2O -> H2O2", "Fe^2+ -> Fe^3+"])
def test_what_no_positive_coefficients_can_balance_is_refused(text):
    with pytest.raises(Mistake, match="cannot be balanced"):
        balanced(parse_reaction(text))


def test_balancing_ignores_the_coefficients_given_and_keeps_the_states():
    assert balanced(parse_reaction("7CaCO3(s) + HCl(aq) -> CaCl2(aq) + CO2(g) + 3H2O(l)")).text == CARBONATE


def test_counting_a_balanced_equation_needs_no_sympy():
    code = (
        "import sys; from molewright.chem.reaction import *;"
        f"r = parse_reaction({CARBONATE!r}); require_balance(r);"
        "print('sympy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


# ---------------------------------------------------------------- half-equations

PERMANGANATE = "MnO4-(aq) + 8H+(aq) + 5e- -> Mn^2+(aq) + 4H2O(l)"


@for_each(
    ("oxidation", "reduction", "full"),
    [  # half-equations: OpenStax Chemistry 2e, appendix L; full equations as printed in the sources above
        ("Fe^2+ -> Fe^3+ + e-", "MnO4- + 8H+ + 5e- -> Mn^2+ + 4H2O", "MnO4- + 8H+ + 5Fe^2+ -> Mn^2+ + 4H2O + 5Fe^3+"),
        (
            "Fe^2+ -> Fe^3+ + e-",
            "Cr2O7^2- + 14H+ + 6e- -> 2Cr^3+ + 7H2O",
            "Cr2O7^2- + 14H+ + 6Fe^2+ -> 2Cr^3+ + 7H2O + 6Fe^3+",
        ),
        ("2S2O3^2- -> S4O6^2- + 2e-", "I2 + 2e- -> 2I-", "I2 + 2S2O3^2- -> 2I- + S4O6^2-"),
        (
            "H2C2O4 -> 2CO2 + 2H+ + 2e-",
            "MnO4- + 8H+ + 5e- -> Mn^2+ + 4H2O",
            "2MnO4- + 6H+ + 5H2C2O4 -> 2Mn^2+ + 8H2O + 10CO2",
        ),
        ("H2O2 -> O2 + 2H+ + 2e-", "MnO4- + 8H+ + 5e- -> Mn^2+ + 4H2O", "2MnO4- + 6H+ + 5H2O2 -> 2Mn^2+ + 8H2O + 5O2"),
        (
            "SO2 + 2H2O -> SO4^2- + 4H+ + 2e-",
            "MnO4- + 8H+ + 5e- -> Mn^2+ + 4H2O",
            "2MnO4- + 5SO2 + 2H2O -> 2Mn^2+ + 4H+ + 5SO4^2-",
        ),
    ],
)
def test_half_equations_combine_to_the_printed_equation(oxidation, reduction, full):
    combined = put_together(parse_reaction(oxidation), parse_reaction(reduction)).whole
    require_balance(combined)
    expected = parse_reaction(full)
    assert set(combined.left) == set(expected.left)
    assert set(combined.right) == set(expected.right)


def test_the_oxidising_agent_comes_first_and_states_are_kept():
    combined = put_together(parse_reaction("Fe^2+(aq) -> Fe^3+(aq) + e-"), parse_reaction(PERMANGANATE)).whole
    assert combined.text == "MnO4-(aq) + 8H+(aq) + 5Fe^2+(aq) -> Mn^2+(aq) + 4H2O(l) + 5Fe^3+(aq)"


def test_hydrogen_ions_cancel_though_one_half_leaves_their_state_out():
    combined = put_together(parse_reaction("H2O2 -> O2 + 2H+ + 2e-"), parse_reaction(PERMANGANATE)).whole
    assert combined.coefficient("H+") == 6
    assert "6H+(aq)" in combined.text


def test_half_equations_the_wrong_way_round_are_refused():
    with pytest.raises(Mistake, match=r"oxidation.*e- on the right"):
        put_together(parse_reaction(PERMANGANATE), parse_reaction("Fe^2+ -> Fe^3+ + e-"))
    with pytest.raises(Mistake, match=r"reduction.*e- on the left"):
        put_together(parse_reaction("Fe^2+ -> Fe^3+ + e-"), parse_reaction("2S2O3^2- -> S4O6^2- + 2e-"))


def test_a_half_equation_that_does_not_balance_is_refused():
    with pytest.raises(Mistake, match="does not balance"):
        put_together(parse_reaction("Fe^2+ -> Fe^3+ + 2e-"), parse_reaction(PERMANGANATE))


def test_combined_coefficients_share_no_factor():
    combined = put_together(parse_reaction("4Fe^2+ -> 4Fe^3+ + 4e-"), parse_reaction("2I2 + 4e- -> 4I-")).whole
    assert combined.text == "I2 + 2Fe^2+ -> 2I- + 2Fe^3+"


def test_a_couple_and_its_own_reverse_make_no_reaction():
    with pytest.raises(Mistake, match="undo each other"):
        put_together(parse_reaction("Fe^2+ -> Fe^3+ + e-"), parse_reaction("Fe^3+ + e- -> Fe^2+"))


def test_half_equations_are_told_with_how_often_each_is_taken():
    halves = put_together(parse_reaction("Fe^2+(aq) -> Fe^3+(aq) + e-"), parse_reaction(PERMANGANATE))
    assert (halves.oxidation_times, halves.reduction_times, halves.electrons) == (5, 1, 5)
    assert (halves.cancelled, halves.divisor) == ((), 1)
    halves = put_together(parse_reaction("H2O2 -> O2 + 2H+ + 2e-"), parse_reaction(PERMANGANATE))
    assert (halves.oxidation_times, halves.reduction_times, halves.electrons) == (5, 2, 10)
    assert halves.cancelled == ("H+",)


def test_iodate_and_iodide_are_divided_by_what_all_their_numbers_share():
    # 2IO3- + 12H+ + 10e- -> I2 + 6H2O and 5 times 2I- -> I2 + 2e- give 6I2: halved, the equation of the textbooks
    halves = put_together(parse_reaction("2I- -> I2 + 2e-"), parse_reaction("2IO3- + 12H+ + 10e- -> I2 + 6H2O"))
    assert (halves.oxidation_times, halves.reduction_times, halves.electrons, halves.divisor) == (5, 1, 10, 2)
    assert halves.whole.is_like(parse_reaction("IO3- + 5I- + 6H+ -> 3I2 + 3H2O"))


def test_the_order_of_terms_makes_no_other_reaction_but_a_state_or_a_coefficient_does():
    one = parse_reaction("IO3-(aq) + 5I-(aq) + 6H+(aq) -> 3I2(aq) + 3H2O(l)")
    assert one.is_like(parse_reaction("6H+(aq) + 5I-(aq) + IO3-(aq) -> 3H2O(l) + 3I2(aq)"))
    assert not one.is_like(parse_reaction("IO3-(aq) + 5I-(aq) + 6H+(aq) -> 3I2(s) + 3H2O(l)"))
    assert not one.is_like(parse_reaction("2IO3-(aq) + 10I-(aq) + 12H+(aq) -> 6I2(aq) + 6H2O(l)"))
