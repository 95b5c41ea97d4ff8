"""Descriptions of a preparation: the marks follow the procedure, and every reason has the direction that the bench finds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal

import pytest

from molewright.bank.definitions import LaboratoryFault
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Weigh
from molewright.further_parts.describing.standard_solution import ask_preparation, balance_step
from molewright.further_parts.faults.effect import effect
from molewright.further_parts.faults.faulty_standard import preparation, strength_with
from molewright.further_parts.pieces import Calculation, FurtherPart, Piece, Said, Strong
from shared.for_each import for_each, for_every

Calculate = Callable[..., Calculation]

# Worked out by hand: the concentration is the amount in the flask divided by its volume.
BY_HAND = {
    "F18": "too dilute",  # more water in the flask
    "F19": "too concentrated",  # less water in the flask
    "F20": "too dilute",  # the portion holds less
    "F21": "too dilute",  # less solid in the beaker
    "F22": "too dilute",  # solution left in the beaker
}
FROM_SOLID = (
    "mass-for-a-standard",
    "strength-of-a-standard",
    "standard-solution",
    "direct-purity",
    "manganate-standardised",
)
FROM_STOCK = ("stock-to-dilute", "diluted-liquid")


def described(calculation: Calculation) -> FurtherPart:
    (part,) = ask_preparation(calculation)
    return part


def keys(part: FurtherPart) -> list[str]:
    """The wording of each mark point."""
    return [line.key for point in part.points for line in point.lines if isinstance(line, Said)]


def guidance(part: FurtherPart) -> Iterator[Said]:
    for point in part.points:
        yield from point.guidance


def slot(line: Said, name: str) -> Piece:
    return dict(line.slots)[name]


def direction(calculation: Calculation, fault: LaboratoryFault) -> str:
    found = preparation(calculation.draw.variant.procedure)
    assert found is not None
    return strength_with(calculation, found, fault)


def fault_of(calculation: Calculation, key: str) -> LaboratoryFault:
    return next(fault for fault in calculation.bank.faults if fault.key == key)


# ------------------------------------------------------------------ the steps


@for_each("key", FROM_SOLID)
def test_a_solid_is_weighed_dissolved_transferred_rinsed_made_up_and_mixed(key: str, calculate: Calculate) -> None:
    assert keys(described(calculate(key))) == [
        "describe weigh", "describe dissolve", "describe transfer", "describe washings", "describe make up", "describe invert",
    ]  # fmt: skip


@for_each("key", FROM_STOCK)
def test_a_dilution_names_the_apparatus_of_the_procedure(key: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    tool = next(op.apparatus for op in calculation.draw.variant.procedure.operations if isinstance(op, Measure))
    assert tool == ("burette" if key == "stock-to-dilute" else "pipette")
    assert keys(described(calculation)) == [
        f"describe rinse {tool}", f"describe fill {tool}", f"describe deliver {tool}", "describe make up", "describe invert",
    ]  # fmt: skip


@pytest.mark.parametrize("key", ["direct-solutions", "back-portions", "back-portions-ammonium", "total-hardness"])
def test_without_a_solution_made_up_with_water_there_is_no_part(key: str, calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_preparation(calculate(key))


def test_the_mass_is_the_calculated_one_where_it_is_asked_for_and_else_the_printed_one(calculate: Calculate) -> None:
    calculated, printed = calculate("mass-for-a-standard"), calculate("standard-solution")
    weighed = next(op for op in printed.draw.variant.procedure.operations if isinstance(op, Weigh))
    for calculation, mass in (
        (calculated, calculated.worked.answer),
        (printed, printed.draw.given[quantities.mass(weighed.sample)]),
    ):
        (line,) = described(calculation).points[0].lines
        assert isinstance(line, Said)
        assert slot(line, "mass") == Strong(mass)
    assert described(calculated).demand.key == "describe solid calculated"
    assert "mass" not in dict(described(calculated).demand.slots)  # it would tell the answer
    assert described(printed).demand.key == "describe solid"


def test_a_volume_that_is_asked_for_is_not_told_in_the_demand(calculate: Calculate) -> None:
    part = described(calculate("stock-to-dilute"))
    assert part.demand.key == "describe stock calculated"
    assert not any(isinstance(piece, Quantity) for name, piece in part.demand.slots if name != "volume")


def test_a_mass_that_nobody_is_asked_to_calculate_cannot_be_described(calculate: Calculate) -> None:
    calculation = calculate("mass-for-a-standard")
    alone = replace(calculation.draw, archetype=replace(calculation.draw.archetype, calculated=False))
    with pytest.raises(Refusal):
        ask_preparation(replace(calculation, draw=alone))


@for_each("key", FROM_SOLID)
def test_the_water_to_dissolve_in_leaves_room_for_the_washings(key: str, calculate: Calculate) -> None:
    (line,) = described(calculate(key)).points[1].lines
    assert isinstance(line, Said)
    water, flask = slot(line, "water"), slot(line, "flask")
    assert isinstance(water, Quantity)
    assert isinstance(flask, Quantity)
    assert 0 < water.exact <= flask.exact / 2
    assert water.number % 10 == 0


def test_the_solvent_is_that_of_the_procedure(calculate: Calculate) -> None:
    (line,) = described(calculate("manganate-standardised")).points[1].lines
    assert isinstance(line, Said)
    assert slot(line, "solvent") == "dilute sulfuric acid"


@pytest.mark.parametrize(
    ("mass", "step"), [("5.87 g", "0.01"), ("10.2 g", "0.01"), ("2.227 g", "0.001"), ("0.81234 g", "0.001")]
)
def test_the_balance_shows_every_place_of_the_mass_if_one_does(mass: str, step: str, calculate: Calculate) -> None:
    found = balance_step(calculate("mass-for-a-standard"), parse_quantity(mass))
    assert found.number == Decimal(step)


def test_more_than_a_burette_holds_is_not_measured_with_it(calculate: Calculate) -> None:
    calculation = calculate("stock-to-dilute")
    small = tuple(
        replace(one, capacity=Quantity(Decimal(5), Unit.CM3)) if one.kind == "burette" else one
        for one in calculation.bank.apparatus
    )
    with pytest.raises(Refusal):
        ask_preparation(replace(calculation, bank=replace(calculation.bank, apparatus=small)))


# ------------------------------------------------------------------ the reasons


@for_every(key=FROM_SOLID, fault=BY_HAND)
def test_the_direction_of_a_reason_is_the_one_worked_out_by_hand(key: str, fault: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    assert direction(calculation, fault_of(calculation, fault)) == BY_HAND[fault]


@for_every(key=FROM_STOCK, fault=["F18", "F19", "F20"])
def test_so_is_it_for_a_dilution(key: str, fault: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    assert direction(calculation, fault_of(calculation, fault)) == BY_HAND[fault]


@for_every(key=["direct-purity", "standard-solution", "manganate-standardised"], fault=BY_HAND)
def test_a_reason_agrees_with_the_effect_of_the_same_fault_on_the_titre(
    key: str, fault: str, calculate: Calculate
) -> None:
    calculation = calculate(key)
    titre = effect(calculation, fault_of(calculation, fault)).titre
    assert (
        direction(calculation, fault_of(calculation, fault))
        == {"lower": "too dilute", "higher": "too concentrated"}[titre]
    )


def test_the_direction_turns_with_the_fault(calculate: Calculate) -> None:
    calculation = calculate("mass-for-a-standard")
    heavier = LaboratoryFault(key="X", told="", cause="", changes=(("weighed mass", Decimal("1.03")),))
    nothing = LaboratoryFault(key="X", told="", cause="", changes=())
    assert direction(calculation, heavier) == "too concentrated"
    assert direction(calculation, nothing) == ""


@pytest.mark.parametrize("key", [*FROM_SOLID, *FROM_STOCK])
def test_every_printed_cause_stands_beside_its_own_direction(key: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    causes = {fault_of(calculation, number).cause: told for number, told in BY_HAND.items()}
    seen = 0
    for line in guidance(described(calculation)):
        cause = dict(line.slots).get("cause")
        if isinstance(cause, Said) and cause.written:
            assert slot(line, "effect") == causes[cause.key]
            seen += 1
    assert seen == (5 if key in FROM_SOLID else 3)


@for_each("key", FROM_STOCK)
def test_a_wet_pipette_or_burette_makes_the_dilute_solution_too_dilute(key: str, calculate: Calculate) -> None:
    (line,) = (one for one in described(calculate(key)).points[0].guidance if one.key == "guide reason")
    assert slot(line, "effect") == "too dilute"


def test_a_bank_without_faults_gives_the_same_marks_without_reasons(calculate: Calculate) -> None:
    calculation = calculate("standard-solution")
    bare = described(replace(calculation, bank=replace(calculation.bank, faults=())))
    assert keys(bare) == keys(described(calculation))
    assert not any("cause" in dict(line.slots) for line in guidance(bare))


# ------------------------------------------------------------------ hydrates


def test_a_hydrate_is_warned_of_its_water_and_an_anhydrous_solid_is_not(calculate: Calculate) -> None:
    hydrate = described(calculate("standard-solution", analyte="H2C2O4.2H2O"))
    found = [line for line in guidance(hydrate) if line.key == "guide weighed hydrate"]
    assert [slot(line, "effect") for line in found] == ["too dilute"]
    plain = described(calculate("standard-solution", analyte="Na2CO3"))
    assert not any(line.key == "guide weighed hydrate" for line in guidance(plain))


def test_crystals_of_unknown_water_are_described_without_a_formula(calculate: Calculate) -> None:
    part = described(calculate("soda-water"))
    assert not any(line.key == "guide weighed hydrate" for line in guidance(part))
    assert keys(part)[0] == "describe weigh"


def test_a_description_is_left_to_the_teacher(calculate: Calculate) -> None:
    for key in (*FROM_SOLID, *FROM_STOCK):
        part = described(calculate(key))
        assert part.accepted is None
        assert all(space.ruled for space in part.space)
        assert part.space[0].height_mm >= 14 * part.marks
