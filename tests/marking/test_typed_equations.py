"""Equations are read in every usual writing, none as another than it means. `python tests/equations.py` types 10,000."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from molewright.answer.equations import AskedEquation, Demand, judge_equation
from molewright.answer.written import Unread
from molewright.chem.formula import PLACEHOLDERS
from molewright.chem.reaction import Reaction, parse_reaction
from molewright.further_parts.equations.right_equation import right_equation
from molewright.marking.typed_equations import read_equation
from shared.asked_equations import every_equation
from shared.banks import built_in
from shared.for_each import for_each
from shared.made_equations import made_equations, plain

BANK = built_in()
PUBLISHED = json.loads((Path(__file__).parent.parent / "reference/equations.json").read_text("utf-8"))["published"]
IRON = "MnO4^-(aq) + 8H^+(aq) + 5Fe^2+(aq) -> Mn^2+(aq) + 4H2O(l) + 5Fe^3+(aq)"
GAS = "Na2CO3(aq) + 2HCl(aq) -> 2NaCl(aq) + CO2(g) + H2O(l)"


def asked(equation: str, demand: Demand = "full") -> AskedEquation:
    letters = PLACEHOLDERS if equation.startswith("M2") else frozenset()
    return right_equation(BANK, parse_reaction(equation, letters), demand, 1 if demand in ("half", "numbers") else 2)


@for_each(
    "text",
    [
        "MnO4- + 8H+ + 5Fe2+ -> Mn2+ + 4H2O + 5Fe3+",
        "MnO4-+8H++5Fe2+->Mn2++4H2O+5Fe3+",
        "MnO₄⁻ + 8H⁺ + 5Fe²⁺ → Mn²⁺ + 4H₂O + 5Fe³⁺",
        "5 Fe^2+ + MnO4^- + 8 H^+ ⇌ 4 H2O + Mn^2+ + 5 Fe^3+",
        r"MnO_4^{-} + 8 H^{+} + 5 Fe^{2+} \rightarrow Mn^{2+} + 4 H_2O + 5 Fe^{3+}",
        "MnO4(-) + 8H(+) + 5Fe(2+) = Mn(2+) + 4H2O + 5Fe(3+)",
        "MnO4- + 8H+ + 5Fe+2 --> Mn+2 + 4H2O + 5Fe+3",
        "MnO4 - + 8 H+ + 5 Fe 2+ => Mn 2+ + 4 H2O + 5 Fe 3+".replace("MnO4 -", "MnO4-"),
        "MnO4- + 8H+ + 5Fe++ -> Mn++ + 4H2O + 5Fe+++",
        "1/5MnO4- + 1.6H+ + Fe2+ -> 0.2Mn2+ + 4/5H2O + Fe3+",
        "MnO<sub>4</sub><sup>-</sup> + 8H<sup>+</sup> + 5Fe<sup>2+</sup> &rarr; Mn<sup>2+</sup> + 4H<sub>2</sub>O + 5Fe<sup>3+</sup>",
        "MnO4- + 8 x H+ + 5 × Fe2+ gives Mn2+ + 4*H2O + 5·Fe3+",
    ],
)
def test_every_usual_writing_is_read(text: str) -> None:
    right = asked(IRON)
    read = read_equation(text, right)
    assert isinstance(read, Reaction), read
    assert judge_equation(right, read).right


@for_each(
    ("text", "told"),
    [
        ("n = cV", "is no formula"),
        ("0.0950", "no arrow"),
        ("one to two", "no arrow"),
        ("Na2CO3 -> 2HCl -> NaCl", "2 arrows"),
        ("V = I", "none of its formulae"),
        ("na2co3 + 2hcl -> 2nacl + co2 + h2o", "is no formula"),
        ("Na2CO3 + 2HCl -> 2NaCl + Co2 + H2O", "perhaps CO₂ is meant"),
        ("Na2CO3 + 2HCl -> 2NaCl + CO2 + H20", "perhaps H₂O is meant"),
        ("acid + carbonate -> salt + water + carbon dioxide", "is no formula"),
        ("Na2CO3 + 2HCl ->", "no formula"),
    ],
)
def test_what_is_no_equation_of_it_goes_to_the_teacher(text: str, told: str) -> None:
    found = read_equation(text, asked(GAS))
    assert isinstance(found, Unread), found
    assert told in found.why or found.why == "it is no equation"


def test_an_electron_may_be_subtracted_and_stand_before_an_arrow() -> None:
    right = asked("Fe^2+ -> Fe^3+ + e-", "half")
    for text in ("Fe2+ - e- -> Fe3+", "Fe²⁺→Fe³⁺+e⁻", "2Fe2+ = 2Fe3+ + 2e"):
        read = read_equation(text, right)
        assert isinstance(read, Reaction)
        assert judge_equation(right, read).right, text
    back = read_equation("Fe3++e--->Fe2+", right)
    assert isinstance(back, Reaction)
    assert judge_equation(right, back).told == "it is written the wrong way round"


def test_blanks_are_filled_by_numbers_or_by_the_whole_equation() -> None:
    right = asked(GAS, "numbers")
    for text in ("1, 2, 2, 1, 1", "2 4 4 2 2", "½; 1; 1; ½; ½", "Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O"):
        read = read_equation(text, right)
        assert isinstance(read, Reaction)
        assert judge_equation(right, read).right, text
    assert read_equation("1,2,2,1", right) == Unread("4 numbers for 5 blanks")
    wrong = read_equation("1 1 1 1 1", right)
    assert isinstance(wrong, Reaction)
    assert judge_equation(right, wrong).marks == 0


@pytest.mark.parametrize("one", PUBLISHED, ids=lambda one: one["printed"])
def test_a_published_equation_is_right_as_it_is_printed_and_a_misprint_is_not(one: dict[str, Any]) -> None:
    letters = PLACEHOLDERS if one["of"].startswith("M2") else frozenset()
    right = right_equation(BANK, parse_reaction(one["of"], letters), one.get("demand", "full"), 2)
    read = read_equation(one["printed"], right)
    assert isinstance(read, Reaction), read
    assert judge_equation(right, read).right == ("misprint" not in one)


def test_of_many_typed_equations_none_is_misjudged_and_every_right_one_is_read() -> None:
    for one in made_equations(every_equation(BANK), 700, seed=11):
        read = read_equation(one.text, one.asked)
        if isinstance(read, Reaction):
            assert judge_equation(one.asked, read).right == one.right, one
        else:
            assert not one.right, one


def test_what_balances_is_what_another_library_finds_to_balance() -> None:
    """Atoms and charges counted by chempy from the text of each formula, over right and wrong equations."""
    chempy = pytest.importorskip("chempy")
    checked = 0
    for one in made_equations([each for each in every_equation(BANK) if _readable(each)], 300, seed=5):
        read = read_equation(one.text, one.asked)
        if not isinstance(read, Reaction):
            continue
        sums: dict[int, Fraction] = {}
        sides = plain(read)
        for sign, side in ((1, sides.left), (-1, sides.right)):
            for count, formula, _ in side:
                made = chempy.Substance.from_formula(_for_chempy(formula)).composition if formula != "e-" else {0: -1}
                for element, number in made.items():
                    sums[element] = sums.get(element, Fraction(0)) + sign * count * Fraction(number)
        told = judge_equation(one.asked, read).told
        if one.right or "left out" not in one.mistake:
            assert any(sums.values()) == ("balanced" in told) or "the wrong way round" in told, (one, told, sums)
            checked += 1
    assert checked > 200


def _readable(asked_for: AskedEquation) -> bool:
    return not any(
        one.formula.placeholders or "R" in one.formula.text or "Y" in one.formula.text or "." in one.formula.text
        for one in asked_for.reaction.terms
    )


def _for_chempy(formula: str) -> str:
    body, caret, charge = formula.partition("^")
    if not caret:
        return formula
    return f"{body}{charge[-1]}{charge[:-1]}"
