"""A published uncertainty budget, from the limits of its inputs to the result, each number to the figure printed.

published_uncertainties.json holds the numbers and their source. Eurachem/CITAC CG4 divides the half width of limits by the root of
three where any value between them is as likely as any other (rectangular), by the root of six where the middle is likelier
(triangular); JCGM 100:2008 does the same (4.3.7 and 4.3.9).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.operations import read_operations
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.chem.formula import parse_formula
from molewright.chem.quantity import half_up
from molewright.derivation.derive import plan
from molewright.derivation.evaluated import evaluate
from molewright.derivation.sensitivity import expression_weights
from molewright.experiment.quantities import Name
from molewright.experiment.relations.relating import relate
from molewright.further_parts.uncertainty.budget import LIMITS, square_root
from molewright.reading.yaml_text import parse_tree
from shared.quantities import q

PUBLISHED: dict[str, Any] = json.loads((Path(__file__).parent / "published_uncertainties.json").read_text("utf-8"))
SHAPES = {"rectangular": LIMITS, "triangular": 2 * LIMITS}
REPEATABILITY = "repeatability"
Input = Name | str  # a quantity of the procedure, or the repeatability
INPUTS: dict[Input, tuple[Fraction, Fraction]] = {
    row["quantity"] if row["quantity"] == REPEATABILITY else q(row["quantity"]): (
        Fraction(row["value"]),
        Fraction(row["standard uncertainty"]),
    )
    for row in PUBLISHED["inputs"]
}
ATOMS = parse_formula(PUBLISHED["molar mass"]["formula"])
ELEMENTS = {row["element"]: (Fraction(row["mass"]), Fraction(row["limits"])) for row in PUBLISHED["atomic masses"]}

PROCEDURE = """
- weigh: {sample: phthalate, contains: KHC8H4O4}
- dissolve
- titrate: {with: NaOH, vessel: flask}
"""


def _printed(exact: Fraction, printed: str) -> bool:
    """Whether a number is the printed one when rounded half up to as many places."""
    places = -int(Decimal(printed).as_tuple().exponent)
    return half_up(exact, places) == Decimal(printed)


def _standard(half_width: Fraction, shape: str) -> Fraction:
    return square_root(half_width**2 / SHAPES[shape])


def _combined(weights: Mapping[Any, Fraction], relative: Mapping[Any, Fraction]) -> Fraction:
    """A relative standard uncertainty from those of the inputs, in quadrature."""
    return square_root(sum(((weights[name] * share) ** 2 for name, share in relative.items()), Fraction(0)))


def _molar_mass(masses: Mapping[str, Fraction]) -> Fraction:
    return sum((masses[element] * ATOMS.count(element) for element in ELEMENTS), Fraction(0))


def _molar_mass_with_uncertainty() -> tuple[Fraction, Fraction]:
    """The molar mass and its standard uncertainty, an element's atoms all out by the same."""
    masses = {element: mass for element, (mass, _) in ELEMENTS.items()}
    relative = {element: _standard(limits, "rectangular") / mass for element, (mass, limits) in ELEMENTS.items()}
    summed = ("+", *(("*", ("number", ATOMS.count(element)), ("word", element)) for element in ELEMENTS))
    whole = _molar_mass(masses)
    return whole, whole * _combined(expression_weights(summed, masses), relative)


def _concentration(bank: Bank, inputs: Mapping[Input, tuple[Fraction, Fraction]]) -> tuple[Fraction, Fraction]:
    """The concentration in mol dm⁻³ from the one-line expression of the experiment, and its relative standard uncertainty."""
    so_far = ReadSoFar(Chemicals(substances=bank.substances, reactions=bank.reactions), {})
    system = relate(read_operations(parse_tree(PROCEDURE, "A2"), so_far).procedure)
    known = [name for name in inputs if isinstance(name, Name) and name not in system.fixed]
    expression = plan(system, known, q("concentration of NaOH")).expression
    whole = ("*", expression, ("word", REPEATABILITY))
    values: dict[Any, Fraction] = {name: value for name, (value, _) in inputs.items()}
    relative = {name: uncertainty / value for name, (value, uncertainty) in inputs.items()}
    found = evaluate(expression, values) * values[REPEATABILITY]
    return found, _combined(expression_weights(whole, values), relative)


@pytest.mark.parametrize("row", PUBLISHED["limits"], ids=lambda row: row["of"])
def test_limits_become_the_printed_standard_uncertainty(row: dict[str, str]) -> None:
    assert _printed(_standard(Fraction(row["half width"]), row["shape"]), row["printed"])
    other = "triangular" if row["shape"] == "rectangular" else "rectangular"
    assert not _printed(_standard(Fraction(row["half width"]), other), row["printed"])


@pytest.mark.parametrize("row", PUBLISHED["in quadrature"], ids=lambda row: row["of"])
def test_parts_of_an_input_combine_in_quadrature_as_printed(row: dict[str, Any]) -> None:
    parts = [Fraction(part) for part in row["parts"]]
    assert _printed(square_root(sum((part**2 for part in parts), Fraction(0))), row["printed"])
    assert not _printed(sum(parts, Fraction(0)), row["printed"])


def test_molar_mass_is_computed_from_the_published_atomic_masses() -> None:
    assert [ATOMS.count(element) for element in ("C", "H", "O", "K")] == [8, 5, 4, 1]
    assert _molar_mass_with_uncertainty()[0] == Fraction(PUBLISHED["molar mass"]["printed"])


def test_uncertainty_of_the_molar_mass_is_computed_from_those_of_the_elements() -> None:
    _, uncertainty = _molar_mass_with_uncertainty()
    assert _printed(uncertainty, PUBLISHED["molar mass"]["standard uncertainty"])
    each = {element: _standard(limits, "rectangular") for element, (_, limits) in ELEMENTS.items()}
    by_hand = sum(((ATOMS.count(element) * u) ** 2 for element, u in each.items()), Fraction(0))
    assert abs(square_root(by_hand) - uncertainty) < Fraction(1, 10**12)
    apart = sum((ATOMS.count(element) * u**2 for element, u in each.items()), Fraction(0))
    assert not _printed(
        square_root(apart), PUBLISHED["molar mass"]["standard uncertainty"]
    )  # atoms out each on its own


def test_concentration_and_its_uncertainty_are_the_printed_ones(bank: Bank) -> None:
    found, relative = _concentration(bank, INPUTS)
    result = PUBLISHED["result"]
    assert _printed(found, result["concentration"])  # mol/L
    assert _printed(relative, result["relative"])
    assert _printed(found * relative, result["standard uncertainty"])  # mol/L


def test_computed_molar_mass_leads_to_the_same_result_as_the_printed_one(bank: Bank) -> None:
    found, relative = _concentration(bank, {**INPUTS, q("molar mass of KHC8H4O4"): _molar_mass_with_uncertainty()})
    assert _printed(found, PUBLISHED["result"]["concentration"])
    assert _printed(relative, PUBLISHED["result"]["relative"])


def test_uncertainties_of_the_inputs_merely_added_would_not_be_the_printed_one() -> None:
    added = sum((uncertainty / value for value, uncertainty in INPUTS.values()), Fraction(0))
    assert not _printed(added, PUBLISHED["result"]["relative"])
