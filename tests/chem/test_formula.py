"""Formulae as a person types them: their atoms, charge and every written form, held to chemistry's own rules."""

from __future__ import annotations

from collections import Counter

import periodictable
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from molewright.chem.formula import ELEMENTS, PLACEHOLDERS, parse_formula
from molewright.chem.formula_scripts import mhchem, spoken, unicode_text, with_scripts
from molewright.chem.formula_tree import Script, write
from molewright.errors import Mistake
from shared.for_each import for_each

# ---------------------------------------------------------------- generated formulae, counted by the test itself

BRACKETS = {"(": ")", "[": "]"}
atoms = st.tuples(st.sampled_from(ELEMENTS), st.integers(1, 40))
groups = st.recursive(
    st.lists(atoms, min_size=1, max_size=3),
    lambda inner: st.lists(
        st.one_of(atoms, st.tuples(inner, st.integers(1, 9), st.sampled_from("(["))), min_size=1, max_size=3
    ),
    max_leaves=6,
)


def typed(pieces):
    """The text of a generated tree, written independently of the code under test."""
    text = ""
    for piece in pieces:
        if isinstance(piece[0], str):
            symbol, count = piece
            text += symbol + (str(count) if count > 1 else "")
        else:
            inner, count, opening = piece
            text += opening + typed(inner) + BRACKETS[opening] + (str(count) if count > 1 else "")
    return text


def counted(pieces):
    """The atoms of a generated tree, counted independently of the code under test."""
    total = Counter()
    for piece in pieces:
        if isinstance(piece[0], str):
            total[piece[0]] += piece[1]
        else:
            for symbol, count in counted(piece[0]).items():
                total[symbol] += count * piece[1]
    return total


@given(groups, st.integers(-6, 6), st.integers(0, 30))
def test_any_tree_written_as_text_is_read_back_with_its_atoms_charge_and_water(pieces, charge, water):
    text, expected = typed(pieces), counted(pieces)
    if water:
        text += f".{water if water > 1 else ''}H2O"
        expected += Counter({"H": 2 * water, "O": water})
    if charge:
        text += f"^{abs(charge)}{'+' if charge > 0 else '-'}"
    assume(len(text) <= 80)
    formula = parse_formula(text)
    assert dict(formula.atoms) == expected
    assert (formula.charge, formula.water) == (charge, water)
    assert parse_formula(formula.text) == formula  # the one spelling is stable
    assert parse_formula(str(formula)) == formula  # and what a pupil reads is read back as the same


@given(st.text(alphabet="CaOHNxMe0123456789()[].+-^ ₂²⁻·\x00é", max_size=90))
def test_any_text_is_either_read_or_refused_as_a_mistake(text):
    try:
        formula = parse_formula(text)
    except Mistake:
        return
    assert parse_formula(formula.text) == formula


def test_a_control_character_never_reaches_a_message():
    with pytest.raises(Mistake) as caught:
        parse_formula("Ca\x1b[31mCO3\x00")
    assert str(caught.value).isprintable()


@for_each("text", ["CaCO3", "Mg(OH)2", "(NH4)2Fe(SO4)2", "KHC8H4O4", "K4Fe(CN)6", "Ca3(PO4)2", "CH3COOH"])
def test_atoms_agree_with_the_reader_of_an_independent_library(text):
    known = periodictable.formula(text)  # P. Kienzle, periodictable
    assert dict(parse_formula(text).atoms) == {atom.symbol: count for atom, count in known.atoms.items()}


def test_symbols_are_the_118_of_the_periodic_table():
    # IUPAC, Periodic Table of the Elements, 4 May 2022; read here from an independent library
    assert list(ELEMENTS) == [element.symbol for element in periodictable.elements if element.number > 0]


# ---------------------------------------------------------------- what a person types


@for_each(
    ("text", "charge"),
    [
        ("SO4^2-", -2),
        ("Fe^2+", 2),
        ("Na+", 1),
        ("Cl-", -1),
        ("MnO4-", -1),
        ("NH4+", 1),
        ("Hg2^2+", 2),
        ("CO₃²⁻", -2),
        ("Cl⁻", -1),
        ("Fe³⁺", 3),
        ("[Fe(H2O)6]^3+", 3),
        ("Ag(CN)2-", -1),
        ("I3-", -1),
        ("N3^-", -1),
        ("SO4^2−", -2),
    ],
)
def test_charge_is_read_as_chemists_write_it(text, charge):
    assert parse_formula(text).charge == charge


def test_atoms_stand_in_order_of_first_appearance_with_water_included():
    assert parse_formula("Na2CO3.10H2O").atoms == (("Na", 2), ("C", 1), ("O", 13), ("H", 20))


@pytest.mark.parametrize("text", ["Na2CO3.10H2O", "Na2CO3·10H2O", "Na₂CO₃·10H₂O", "Na2CO3 . 10H2O", " Na2CO3•10H2O "])
def test_every_dot_that_a_person_types_makes_the_same_hydrate(text):
    assert parse_formula(text) == parse_formula("Na2CO3.10H2O")
    assert parse_formula(text).water == 10


def test_unknown_water_is_left_out_of_the_atoms():
    formula = parse_formula("Na2CO3.xH2O")
    assert formula.unknown_water
    assert formula.water == 0
    assert formula.atoms == (("Na", 2), ("C", 1), ("O", 3))


def test_each_dotted_part_has_its_own_leading_count():
    formula = parse_formula("KHC2O4.H2C2O4.2H2O")  # potassium tetraoxalate dihydrate, KH3(C2O4)2.2H2O
    assert dict(formula.atoms) == dict(parse_formula("KH3(C2O4)2.2H2O").atoms)
    assert formula.water == 2
    assert parse_formula("CaCO3.3Ca3(PO4)2").count("Ca") == 10


def test_water_alone_is_not_water_of_crystallisation():
    assert parse_formula("H2O").water == 0


def test_count_of_an_absent_element_is_nought():
    assert parse_formula("CaCO3").count("O") == 3
    assert parse_formula("CaCO3").count("H") == 0


def test_electron_has_a_charge_and_no_atoms():
    electron = parse_formula("e-")
    assert electron.is_electron
    assert (electron.atoms, electron.charge, str(electron)) == ((), -1, "e⁻")


def test_placeholder_counts_as_an_atom_only_where_it_is_given():
    carbonate = parse_formula("M2CO3", frozenset({"M"}))
    assert carbonate.count("M") == 2
    assert carbonate.placeholders == {"M"}
    with pytest.raises(Mistake, match="unknown element 'M'"):
        parse_formula("M2CO3")


def test_y_is_yttrium_unless_it_is_given_as_a_placeholder():
    assert parse_formula("Y2O3").placeholders == frozenset()
    assert parse_formula("H2Y^2-", frozenset({"Y"})).placeholders == {"Y"}


def test_two_letter_symbols_win_over_a_placeholder():
    assert parse_formula("MgX2", frozenset({"M", "X"})).atoms == (("Mg", 1), ("X", 2))


def test_a_placeholder_outside_the_agreed_letters_is_refused():
    with pytest.raises(Mistake, match="Q cannot stand for"):
        parse_formula("QCl", frozenset({"Q"}))


# ---------------------------------------------------------------- refusals


@for_each(
    ("text", "found"),
    [
        ("", "is empty"),
        ("C" * 81, "has 81 characters"),
        ("Xq", r"unknown element 'Xq' \(at character 1\)"),
        ("CaCO3Jj", r"unknown element 'Jj' \(at character 6\)"),
        ("Ca(OH", r"bracket \( that is never closed \(at character 3\)"),
        ("[Fe(H2O]6", r"\] where \) must close"),
        ("CaOH)2", r"'\)' \(at character 5\)"),
        ("Ca()2", "nothing where a symbol must stand"),
        ("H0", "the count '0'"),
        ("H02", "the count '02'"),
        ("C1000", "the count '1000'"),
        ("2HCl", "starts with a number"),
        ("NaCl..H2O", "nothing where a symbol must stand"),
        ("NaCl.", "nothing where a symbol must stand"),
        ("CaSO4.0.5H2O", "the count '0'"),
        ("Na2CO3.xNaCl", "x before something that is not H2O"),
        ("co2", "small letter 'c'"),
        ("Ca CO3", r"has ' ' \(at character 3\)"),
        ("H2+O2", r"\+ in the middle"),
        ("SO4^-2", "cannot be read"),
        ("Fe^0+", "charge from 1 to 99"),
        ("^2-", "nothing where a symbol must stand"),
        ("e+", "small letter 'e'"),
    ],
)
def test_a_faulty_formula_is_refused_with_its_fault(text, found):
    with pytest.raises(Mistake, match=found):
        parse_formula(text)


@pytest.mark.parametrize(
    ("text", "do"),
    [("Fe2+", "Fe^2+"), ("O2-", "O^2-"), ("SO42-", "SO4^2-"), ("Cr2O72-", "Cr2O7^2-"), ("SO₄2-", "SO4^2-")],
)
def test_a_charge_with_two_readings_is_refused_and_both_are_told(text, do):
    with pytest.raises(Mistake, match="two ways") as caught:
        parse_formula(text)
    assert f"Write {do} for a charge" in str(caught.value)


def test_edta_ion_without_a_raised_charge_is_refused():
    with pytest.raises(Mistake, match="two ways"):
        parse_formula("H2Y2-", frozenset({"Y"}))


def test_a_capital_slipped_into_a_symbol_names_the_symbol_that_was_meant():
    with pytest.raises(Mistake) as caught:
        parse_formula("NaCL")
    assert caught.value.near[0] == "Cl"


def test_a_count_of_999_is_the_largest():
    assert parse_formula("C999").count("C") == 999


# ---------------------------------------------------------------- writing


@for_each(
    ("text", "shown", "latex", "said"),
    [
        ("CaCO3", "CaCO₃", "CaCO3", "C a C O 3"),
        ("SO4^2-", "SO₄²⁻", "SO4^2-", "S O 4, 2 minus charge"),
        ("MnO4-", "MnO₄⁻", "MnO4-", "M n O 4, minus charge"),
        ("Na+", "Na⁺", "Na+", "N a, plus charge"),
        ("Na2CO3.10H2O", "Na₂CO₃·10H₂O", "Na2CO3.10H2O", "N a 2 C O 3 dot 10 H 2 O"),
        ("Na2CO3.xH2O", "Na₂CO₃·xH₂O", "Na2CO3.$x$H2O", "N a 2 C O 3 dot x H 2 O"),
        ("CuSO4.H2O", "CuSO₄·H₂O", "CuSO4.H2O", "C u S O 4 dot H 2 O"),
        ("Mg(OH)2", "Mg(OH)₂", "Mg(OH)2", "M g open bracket O H close bracket 2"),
        (
            "[Fe(H2O)6]^3+",
            "[Fe(H₂O)₆]³⁺",
            "[Fe(H2O)6]^3+",
            "open square bracket F e open bracket H 2 O close bracket 6 close square bracket, 3 plus charge",
        ),
        ("e-", "e⁻", "e-", "electron"),
        ("M2CO3", "M₂CO₃", "M2CO3", "M 2 C O 3"),
    ],
)
def test_one_formula_in_three_scripts(text, shown, latex, said):
    # mhchem's manual (M. Hensel, mhchem bundle, version 4): \ce{CrO4^2-}, \ce{H+}, \ce{KCr(SO4)2.12H2O}
    assert (unicode_text(text), mhchem(text), spoken(text)) == (shown, latex, said)


def test_a_script_of_ones_own_says_how_each_piece_is_written():
    tagged = Script(
        subscript=lambda count: f"<sub>{count}</sub>",
        superscript=lambda charge: f"<sup>{charge}</sup>",
        dot="&middot;",
        unknown="<i>x</i>",
    )
    assert write(parse_formula("SO4^2-"), tagged) == "SO<sub>4</sub><sup>2-</sup>"
    assert write(parse_formula("CuSO4.xH2O"), tagged) == "CuSO<sub>4</sub>&middot;<i>x</i>H<sub>2</sub>O"


def test_a_formula_as_text_is_what_a_pupil_reads():
    assert str(parse_formula("(NH4)2Fe(SO4)2.6H2O")) == "(NH₄)₂Fe(SO₄)₂·6H₂O"


def test_one_spelling_is_kept_for_the_ways_of_typing_a_charge():
    assert parse_formula("CO₃²⁻").text == parse_formula("CO3^2-").text == "CO3^2-"
    assert parse_formula("Na^1+").text == parse_formula("Na^+").text == parse_formula("Na⁺").text == "Na+"
    assert parse_formula("N3^-").text == "N3^-"  # without ^ it would have two readings


def test_spelling_does_not_depend_on_which_placeholders_are_given():
    assert parse_formula("BaY^2-").text == parse_formula("BaY^2-", PLACEHOLDERS).text
    assert parse_formula("H2Y2^-").text == parse_formula("H2Y2^-", PLACEHOLDERS).text


@pytest.mark.parametrize("typed", ["RCOOR\N{PRIME}", "RCOOR'", "RCOOR\N{RIGHT SINGLE QUOTATION MARK}"])
def test_a_second_group_is_told_from_the_first_by_a_prime(typed):
    formula = parse_formula(typed, PLACEHOLDERS)
    assert formula.text == "RCOOR\N{PRIME}"
    assert dict(formula.atoms) == {"R": 1, "C": 1, "O": 2, "R\N{PRIME}": 1}
    assert formula.placeholders == {"R", "R\N{PRIME}"}
    assert (str(formula), spoken(typed), mhchem(typed)) == ("RCOOR\N{PRIME}", "R C O O R prime", "RCOOR$'$")


def test_an_element_has_no_prime():
    with pytest.raises(Mistake, match="unknown element"):
        parse_formula("Na'Cl", PLACEHOLDERS)


@for_each(
    ("words", "read"),
    [
        ("The molar mass of an unknown acid H2A", "The molar mass of an unknown acid H₂A"),
        ("ascorbic acid (vitamin C) (C6H8O6); a reason", "ascorbic acid (vitamin C) (C₆H₈O₆); a reason"),
        ("propanedioic acid (CH2(COOH)2)", "propanedioic acid (CH₂(COOH)₂)"),
        ("metal hydroxide M(OH)2: irritates", "metal hydroxide M(OH)₂: irritates"),
        ("Fe^2+ and SO4^2-. CuSO4.5H2O.", "Fe²⁺ and SO₄²⁻. CuSO₄·5H₂O."),
        ("2-hydroxybutanedioic acid, Set B2b of group 2", "2-hydroxybutanedioic acid, Set B2b of group 2"),
        ("X-ray, iron(III), pH 4.9, 0.1 mol", "X-ray, iron(III), pH 4.9, 0.1 mol"),
    ],
)
def test_formulae_among_words_get_their_scripts(words: str, read: str) -> None:
    assert with_scripts(words) == read
