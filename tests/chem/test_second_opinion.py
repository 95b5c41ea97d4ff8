"""Molar masses, balances and answers held to chempy, a general library of chemistry with tables and a parser of its own."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import read_experiment
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Formula
from molewright.chem.masses import relative_mass
from molewright.chem.reaction import Reaction, Species, balanced
from molewright.derivation.plans import Plans
from molewright.derivation.worked import base_factor
from molewright.errors import Mistake
from molewright.experiment.procedure import React, Titrate
from molewright.solve.described import solve
from shared.banks import built_in
from shared.for_each import for_each

# chempy 0.10: B. Dahlgren, J. Open Source Softw. 3 (2018) 565. Its dependencies may announce their own retirements.
chempy = pytest.importorskip("chempy")
pytestmark = [
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
    pytest.mark.filterwarnings("ignore::PendingDeprecationWarning"),
]

BANK = built_in()
EXAMPLES = Path(__file__).parents[1] / "reference" / "worked_examples"
WEIGHABLE = [
    text
    for text in BANK.substances
    if not (parsed := parse_formula(text, PLACEHOLDERS)).placeholders and not parsed.unknown_water
]
# No element of the banks is xenon or krypton: they stand for an unknown element, of which any balance is independent.
STAND_INS = {"M": "Xe", "A": "Kr", "X": "Kr", "R": "Rn", "R′": "Og"}


def _spelt(formula: Formula) -> str:
    """A formula as chempy reads it: SO4-2 for SO4^2-, and two dots before the water of a hydrate."""
    match = re.fullmatch(r"(.*?)(?:\^?([0-9]*)([+-]))?", formula.text) if formula.charge else None
    plain, count, sign = (match[1], match[2], match[3]) if match else (formula.text, "", "")
    if match and "^" not in formula.text:  # MnO4-: the 4 belongs to the oxygen
        plain, count = plain + count, ""
    for unknown in sorted(formula.placeholders, key=len, reverse=True):  # R′ before R
        plain = re.sub(f"{unknown}(?![a-z])", STAND_INS[unknown], plain)
    return plain.replace(".", "..") + sign + count


def _sides(reaction: Reaction) -> tuple[dict[str, int], dict[str, int]]:
    def side(members: tuple[Species, ...]) -> dict[str, int]:
        return {_spelt(member.formula): member.coefficient for member in members}

    return side(reaction.left), side(reaction.right)


def _atoms(side: dict[str, int]) -> Counter[int]:
    """Atoms by atomic number, and the charge as number 0, by chempy's parser."""
    found: Counter[int] = Counter()
    for text, coefficient in side.items():
        for element, count in chempy.Substance.from_formula(text).composition.items():
            found[element] += coefficient * count
    return Counter({element: count for element, count in found.items() if count})


def _reactions_of_examples() -> dict[str, Reaction]:
    chemicals = Chemicals(substances=BANK.substances, reactions=BANK.reactions)
    found: dict[str, Reaction] = {}
    for path in sorted(EXAMPLES.glob("*.yaml")):
        for act in read_experiment(path, chemicals).described.procedure.operations:
            if isinstance(act, React | Titrate):
                found |= {reaction.text: reaction for reaction in act.reactions}
    return found


def _in_one_way(reaction: Reaction) -> bool:
    try:
        balanced(reaction)
    except Mistake:
        return False
    return True


@cache
def reactions() -> dict[str, Reaction]:
    """The equations of the banks and of the published examples, by their texts."""
    return {entry.reaction.text: entry.reaction for entry in BANK.reactions} | _reactions_of_examples()


@cache
def unique() -> list[str]:
    """Those that balance in one way: not an ester hydrolysed and neutralised, nor peroxide, which may lose oxygen by itself."""
    return [text for text, reaction in reactions().items() if _in_one_way(reaction)]


def test_enough_is_compared():
    assert len(WEIGHABLE) > 60
    assert len(unique()) > 100
    assert len(reactions()) - len(unique()) < 12


@for_each("text", WEIGHABLE)
def test_molar_mass_of_a_substance_of_the_banks_is_that_of_chempy(text):
    theirs = chempy.Substance.from_formula(_spelt(parse_formula(text))).mass
    assert float(relative_mass(text, "unrounded")) == pytest.approx(theirs, rel=2e-4)


@pytest.mark.thorough
@for_each("text", unique)
def test_chempy_balances_the_equation_in_the_same_way(text):
    left, right = _sides(reactions()[text])
    theirs = chempy.balance_stoichiometry(set(left), set(right), underdetermined=False)
    assert (dict(theirs[0]), dict(theirs[1])) == (left, right)


@for_each("text", reactions)
def test_chempy_counts_the_same_atoms_and_charge_on_both_sides(text):
    left, right = _sides(reactions()[text])
    assert _atoms(left) == _atoms(right)


def test_chempy_counts_a_missing_atom():
    assert _atoms({"CaCO3": 1, "HCl": 2}) != _atoms({"CaCl2": 1, "CO2": 1, "H2O": 2})


# ------------------------------------------------------------------ answers by chempy's masses and coefficients


def _mass(text: str) -> float:
    return float(chempy.Substance.from_formula(text).mass)


def _ratio(of: str, per: str, left: str, right: str) -> float:
    """How many of one go with one of the other, by chempy's balance of reactants and products."""
    found = chempy.balance_stoichiometry(set(left.split()), set(right.split()), underdetermined=False)
    both: dict[str, Any] = {**found[0], **found[1]}
    return float(both[of]) / float(both[per])


IRON_BY_DICHROMATE = ("Cr2O7-2 Fe+2 H+", "Cr+3 Fe+3 H2O")
BY_THIOSULFATE = ("I2 S2O3-2", "I- S4O6-2")

# amounts in mmol, masses in mg: the data stand in the described experiment, whose first lines name its source
BY_CHEMPY: dict[str, Callable[[], float]] = {
    "openstax-hcl-naoh": lambda: 35.23 * 0.250 * _ratio("HCl", "NaOH", "HCl NaOH", "NaCl H2O") / 50.00,
    "openstax-oxalic-permanganate": lambda: (
        23.24 * 0.09113 * _ratio("H2C2O4", "MnO4-", "H2C2O4 MnO4- H+", "CO2 Mn+2 H2O") / 20.00
    ),
    "openstax-iron-ore": lambda: (
        19.17 * 0.0100 * _ratio("Fe+2", "Cr2O7-2", *IRON_BY_DICHROMATE) * _mass("Fe") / 2500 * 100
    ),
    "libretexts-sulfuric-acid": lambda: (
        364 / _mass("Na2CO3") * _ratio("H2SO4", "Na2CO3", "Na2CO3 H2SO4", "Na2SO4 CO2 H2O") / 40.00
    ),
    "libretexts-aluminium-hydroxide": lambda: (
        5800 / _mass("Al(OH)3") * _ratio("HCl", "Al(OH)3", "Al(OH)3 HCl", "AlCl3 H2O") / 1.2
    ),
    "brno-2-alkali-by-oxalic": lambda: 10.00 * 0.0500 * _ratio("NaOH", "H2C2O4", "H2C2O4 NaOH", "Na2C2O4 H2O") / 9.88,
    "harvey-iron-ore": lambda: (
        36.92 * 0.02153 * _ratio("Fe+2", "Cr2O7-2", *IRON_BY_DICHROMATE) / 2 * _mass("Fe2O3") / 489.1 * 100
    ),
    "harvey-edta": lambda: 407.1 / _mass("CaCO3") * 50.00 / 500.0 / 42.63,
    "harvey-sulfanilamide": lambda: (
        48.13 * 0.1251 * _ratio("H2SO4", "NaOH", "H2SO4 NaOH", "Na2SO4 H2O") * _mass("C6H8N2O2S") / 513.6 * 100
    ),
    "iodate-factor": lambda: (
        0.1
        * _ratio("I2", "S2O3-2", *BY_THIOSULFATE)
        / _ratio("I2", "KIO3", "KIO3 KI HCl", "KCl I2 H2O")
        * _mass("KIO3")
    ),
    "hypochlorite-factor": lambda: (
        0.1
        * _ratio("I2", "S2O3-2", *BY_THIOSULFATE)
        / _ratio("I2", "ClO-", "ClO- I- H+", "Cl- I2 H2O")
        * _mass("NaClO")
    ),
    "oxalate-factor": lambda: 0.02 * _ratio("C2O4-2", "MnO4-", "MnO4- C2O4-2 H+", "Mn+2 CO2 H2O") * _mass("Na2C2O4"),
    "munich-zirconium": lambda: (10.00 * 0.0502 - 2.08 * 0.0540) * _mass("Zr"),
}


@for_each("name", BY_CHEMPY)
def test_answer_to_a_published_example_is_the_one_by_chempy(name):
    experiment = read_experiment(
        EXAMPLES / f"{name}.yaml", Chemicals(substances=BANK.substances, reactions=BANK.reactions)
    )
    worked = solve(experiment, Plans(BANK.fingerprint, None))
    assert float(worked.exact * base_factor(worked.answer)) == pytest.approx(BY_CHEMPY[name](), rel=2e-4)
