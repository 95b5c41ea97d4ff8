"""Relative masses, held to the published table of standard atomic weights and to the values of school data sheets."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import periodictable
import pytest

from molewright.chem.conventions import CONVENTIONS
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.masses import atomic_mass, mass_sum, relative_mass
from molewright.errors import Mistake
from shared.for_each import for_each

# CIAAW, Standard atomic weights 2021 (T. Prohaska et al., Pure Appl. Chem. 94 (2022) 573); the file names its source
PUBLISHED = json.loads((Path(__file__).parents[1] / "reference" / "atomic_masses.json").read_text(encoding="utf-8"))
ROWS = {row["element"]: row for row in PUBLISHED["rows"]}


def test_reference_table_holds_sixty_elements():
    assert len(ROWS) == 60


@for_each("element", ROWS)
def test_atomic_mass_is_the_published_one_rounded_half_up(element):
    row = ROWS[element]
    assert str(atomic_mass(element, "one place")) == row["one_place"]
    assert str(atomic_mass(element, "two places")) == row["two_places"]
    assert atomic_mass(element, "unrounded") == Decimal(row["single_value"])


@pytest.mark.parametrize("trap", PUBLISHED["traps"], ids=lambda trap: f"{trap['element']}-{trap['dp']}")
def test_a_mass_that_ends_on_a_half_is_rounded_up(trap):
    convention = {1: "one place", 2: "two places"}[trap["dp"]]
    assert str(atomic_mass(trap["element"], convention)) == trap["half_up"]


def test_the_traps_catch_other_ways_of_rounding():
    assert any(trap["half_even"] != trap["half_up"] for trap in PUBLISHED["traps"])
    assert any(trap["float_round"] != trap["half_up"] for trap in PUBLISHED["traps"])


def test_one_place_gives_the_values_of_school_data_sheets():
    # common practice of data sheets for 16-18 year-olds
    usual = (
        "H 1.0 C 12.0 N 14.0 O 16.0 Na 23.0 Mg 24.3 Al 27.0 P 31.0 S 32.1 Cl 35.5 K 39.1 Ca 40.1 Cr 52.0 Mn 54.9 "
        "Fe 55.8 Co 58.9 Ni 58.7 Cu 63.5 Zn 65.4 Br 79.9 Ag 107.9 I 126.9 Ba 137.3 Pb 207.2"
    )
    for symbol, mass in re.findall(r"([A-Z][a-z]?) ([\d.]+)", usual):
        assert str(atomic_mass(symbol, "one place")) == mass


def test_whole_numbers_keep_the_half_of_chlorine_and_copper_only():
    # common practice of data sheets for 14-16 year-olds
    usual = (
        "H 1 C 12 N 14 O 16 Na 23 Mg 24 S 32 Cl 35.5 K 39 Ca 40 Mn 55 Fe 56 Cu 63.5 "
        "Zn 65 Br 80 Ag 108 I 127 Ba 137 Pb 207"
    )
    for symbol, mass in re.findall(r"([A-Z][a-z]?) ([\d.]+)", usual):
        assert str(atomic_mass(symbol, "whole")) == mass


@for_each("symbol", ["Ag", "Br", "C", "Ca", "Cl", "Fe", "H", "I", "K", "Li", "Mg", "Mn", "N", "Na", "O", "S"])
def test_masses_of_1920_to_one_place_are_those_of_today(symbol):
    # H. P. Talbot, An Introductory Course of Quantitative Chemical Analysis, 6th ed. (1920), table of atomic weights.
    # Cu 63.6, Al 27.1 and Ba 137.4 have moved since.
    weights_1920 = {"Ag": "107.9", "Br": "79.9", "C": "12.0", "Ca": "40.1", "Cl": "35.5", "Fe": "55.8", "H": "1.0"}
    weights_1920 |= {"I": "126.9", "K": "39.1", "Li": "6.9", "Mg": "24.3", "Mn": "54.9", "N": "14.0", "Na": "23.0"}
    weights_1920 |= {"O": "16.0", "S": "32.1"}
    assert str(atomic_mass(symbol, "one place")) == weights_1920[symbol]


# ---------------------------------------------------------------- formula masses

ONE_PLACE = {  # sums of one-place values as school papers print them
    "CaCO3": "100.1", "MgCO3": "84.3", "Na2CO3": "106.0", "NaHCO3": "84.0", "Mg(OH)2": "58.3", "Ca(OH)2": "74.1",
    "Al(OH)3": "78.0", "NaOH": "40.0", "HCl": "36.5", "H2SO4": "98.1", "CH3COOH": "60.0", "C6H8O7": "192.0",
    "H2C2O4.2H2O": "126.0", "FeSO4.7H2O": "277.9", "(NH4)2Fe(SO4)2.6H2O": "392.0", "K2Cr2O7": "294.2",
    "KIO3": "214.0", "Na2S2O3.5H2O": "248.2", "CuSO4.5H2O": "249.6", "AgNO3": "169.9", "NaCl": "58.5",
    "C6H8O6": "176.0", "BaCl2.2H2O": "244.3", "ZnO": "81.4", "Na2CO3.10H2O": "286.0",
    "KHC8H4O4": "204.1", "C9H8O4": "180.0",
}  # fmt: skip


@for_each("formula", ONE_PLACE)
def test_relative_formula_mass_to_one_place_is_the_usual_one(formula):
    assert str(relative_mass(formula, "one place")) == ONE_PLACE[formula]


@for_each(
    ("formula", "amount", "printed"),
    [
        ("Al", "0.1", "2.698"),  # Czech Pharmacopoeia 1997, 2.5.11: 1 mL of 0.1 mol/L edetate in mg of the metal
        ("Bi", "0.1", "20.90"),
        ("Ca", "0.1", "4.008"),
        ("Pb", "0.1", "20.72"),
        ("HOC6H4COOH", "0.1", "13.81"),  # Czech Pharmacopoeia, salicylic acid: 1 mL of 0.1 mol/L alkali
        ("Na2C2O4", "0.05", "6.700"),  # USP, 0.1 N permanganate, two equivalents a mole
        ("NaClO", "0.05", "3.722"),  # USP29, hypochlorite assay, two equivalents a mole
    ],
)
def test_unrounded_mass_gives_the_factor_printed_in_a_pharmacopoeia(formula, amount, printed):
    factor = relative_mass(formula, "unrounded") * Decimal(amount)
    half_a_figure = Decimal(5).scaleb(Decimal(printed).as_tuple().exponent - 1)
    assert abs(factor - Decimal(printed)) <= half_a_figure


def test_molar_mass_of_the_primary_standard_lies_within_the_published_uncertainty():
    # Eurachem/CITAC Guide CG4, example A2: potassium hydrogenphthalate 204.2212 g/mol, u = 0.0038
    assert abs(relative_mass("KHC8H4O4", "unrounded") - Decimal("204.2212")) < Decimal("0.0038")


@for_each("formula", ["CaCO3", "(NH4)2Fe(SO4)2", "KHC8H4O4", "K4Fe(CN)6", "Ca3(PO4)2", "KIO3"])
def test_unrounded_mass_agrees_with_the_sum_of_an_independent_library(formula):
    assert float(relative_mass(formula, "unrounded")) == pytest.approx(periodictable.formula(formula).mass, rel=1e-12)


def test_charge_does_not_change_a_mass():
    assert relative_mass("SO4^2-", "one place") == relative_mass("SO4", "one place") == Decimal("96.1")


def test_mass_is_the_same_from_text_and_from_a_formula():
    assert (
        relative_mass(parse_formula("CaCO3"), "two places") == relative_mass("CaCO3", "two places") == Decimal("100.09")
    )


def test_two_chlorines_by_whole_numbers_are_written_without_a_nought():
    assert str(relative_mass("MgCl2", "whole")) == "95"
    assert str(relative_mass("NaCl", "whole")) == "58.5"


# ---------------------------------------------------------------- the sum as written


@for_each(
    ("formula", "convention", "working"),
    [
        ("CaCO3", "one place", "40.1 + 12.0 + (3 × 16.0) = 100.1"),
        ("CaCO3", "two places", "40.08 + 12.01 + (3 × 16.00) = 100.09"),
        ("CaCO3", "whole", "40 + 12 + (3 × 16) = 100"),
        ("Mg(OH)2", "one place", "24.3 + 2 × (16.0 + 1.0) = 58.3"),
        ("Na2CO3.10H2O", "one place", "(2 × 23.0) + 12.0 + (3 × 16.0) + (10 × 18.0) = 286.0"),
        ("CuSO4.H2O", "one place", "63.5 + 32.1 + (4 × 16.0) + 18.0 = 177.6"),
        ("CH3COOH", "one place", "12.0 + (3 × 1.0) + 12.0 + (2 × 16.0) + 1.0 = 60.0"),
        ("[Fe(CN)6]^4-", "one place", "55.8 + 6 × (12.0 + 14.0) = 211.8"),
        ("(NH4)2SO4", "one place", "2 × (14.0 + (4 × 1.0)) + 32.1 + (4 × 16.0) = 132.1"),
        ("H2O", "one place", "(2 × 1.0) + 16.0 = 18.0"),
        ("O2", "one place", "2 × 16.0 = 32.0"),
        ("Na+", "one place", "23.0"),
        ("MgCl2", "whole", "24 + (2 × 35.5) = 95"),
    ],
)
def test_working_of_a_mass_is_written_as_a_pupil_writes_it(formula, convention, working):
    assert mass_sum(formula, convention) == working


def evaluated(sum_text: str) -> Fraction:
    """A sum of decimals, products and brackets, evaluated by the test's own two rules."""
    text = sum_text.replace(" ", "")
    while "(" in text:
        text = re.sub(r"\(([^()]*)\)", lambda inner: str(evaluated(inner[1])), text)
    total = Fraction(0)
    for term in text.split("+"):
        product = Fraction(1)
        for number in term.split("×"):
            product *= Fraction(number)
        total += product
    return total


@pytest.mark.parametrize("convention", CONVENTIONS)
@for_each("formula", [*ONE_PLACE, "[Fe(H2O)6]^3+", "KHC2O4.H2C2O4.2H2O", "Al2(SO4)3.18H2O"])
def test_written_working_comes_to_the_total_beside_it(formula, convention):
    working, _, total = mass_sum(formula, convention).partition(" = ")
    assert evaluated(working) == Fraction(total) == Fraction(relative_mass(formula, convention))


# ---------------------------------------------------------------- refusals


def test_a_placeholder_has_no_mass():
    with pytest.raises(Mistake, match="M2CO3 has no relative formula mass"):
        relative_mass(parse_formula("M2CO3", PLACEHOLDERS), "one place")


def test_a_placeholder_y_is_never_weighed_as_yttrium():
    with pytest.raises(Mistake, match="no relative formula mass"):
        mass_sum(parse_formula("H2Y^2-", frozenset({"Y"})), "one place")


def test_unknown_water_has_no_mass():
    with pytest.raises(Mistake, match="without its water"):
        relative_mass("Na2CO3.xH2O", "one place")


def test_an_electron_has_no_mass():
    with pytest.raises(Mistake, match="electron"):
        relative_mass("e-", "one place")


def test_an_element_without_a_standard_mass_is_refused():
    # CIAAW 2021 gives technetium no standard atomic weight: it has no characteristic terrestrial composition
    with pytest.raises(Mistake, match="'Tc' has no standard atomic mass"):
        relative_mass("TcO4-", "one place")


def test_an_unknown_convention_names_the_nearest():
    with pytest.raises(Mistake) as caught:
        atomic_mass("Ca", "one places")  # type: ignore[arg-type]
    assert caught.value.near[0] == "one place"


def test_reading_the_modules_imports_no_heavy_library():
    code = (
        "import sys, molewright.chem.masses, molewright.chem.reaction;"
        "print([name for name in ('periodictable', 'sympy') if name in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
