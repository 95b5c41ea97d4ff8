"""Descriptions of a portion and of a titration: what the procedure has is described, and each reason has the engine's direction."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from molewright.draw.refusal import Refusal
from molewright.further_parts.describing.portion_and_titration import ask_portion, ask_titration
from molewright.further_parts.faults.effect import effect
from molewright.further_parts.pieces import Bottle, Calculation, FurtherPart, Piece, Said
from shared.for_each import for_each

Calculate = Callable[..., Calculation]

# Worked out by hand for what is titrated in the flask: the titre is proportional to what is pipetted, and it is the final reading
# less the initial one.
BY_HAND = {
    "F01": "too large",  # a weaker titrant
    "F02": "too small",  # less in the portion
    "F03": "too large",
    "F06": "too large",
    "F08": "too small",
    "F14": "too small",
    "F15": "too large",
    "F16": "too large",
    "F17": "too small",
}
POURED = ("direct-solutions", "direct-purity", "back-portions", "moss-treatment")


def keys(part: FurtherPart) -> list[str]:
    return [line.key for point in part.points for line in point.lines if isinstance(line, Said)]


def slot(line: Said, name: str) -> Piece:
    return dict(line.slots)[name]


def causes(part: FurtherPart) -> dict[str, Piece]:
    """Every cause that the bank tells, with the effect that is printed beside it."""
    found: dict[str, Piece] = {}
    for point in part.points:
        for line in point.guidance:
            cause = dict(line.slots).get("cause")
            if isinstance(cause, Said) and cause.written:
                found[cause.key] = slot(line, "effect")
    return found


@for_each("key", POURED)
def test_a_portion_has_four_marks_and_its_own_volume(key: str, calculate: Calculate) -> None:
    (part,) = ask_portion(calculate(key))
    assert keys(part) == ["describe rinse pipette", "describe fill pipette", "describe run out", "describe last drop"]
    assert slot(part.demand, "volume") in calculate(key).draw.given.values()


@for_each("key", POURED)
def test_a_titration_goes_from_the_rinsing_to_the_mean(key: str, calculate: Calculate) -> None:
    (part,) = ask_titration(calculate(key))
    assert keys(part)[0] == "describe rinse burette"
    assert keys(part)[-1] == "describe repeat"
    assert part.marks == 6


@for_each("key", POURED)
def test_every_reason_has_the_direction_worked_out_by_hand(key: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    told = {fault.cause: BY_HAND[fault.key] for fault in calculation.bank.faults if fault.key in BY_HAND}
    found = {**causes(ask_portion(calculation)[0]), **causes(ask_titration(calculation)[0])}
    assert found == told


@pytest.mark.parametrize("key", [*POURED, "standard-solution"])
def test_every_reason_has_the_direction_of_the_fault_that_is_performed(key: str, calculate: Calculate) -> None:
    calculation = calculate(key)
    engine = {
        fault.cause: effect(calculation, fault).titre for fault in calculation.bank.faults if fault.key in BY_HAND
    }
    words = {"too large": "higher", "too small": "lower"}
    found = {**causes(ask_portion(calculation)[0]), **causes(ask_titration(calculation)[0])}
    assert found
    for cause, told in found.items():
        assert isinstance(told, str)
        assert words[told] == engine[cause]


def test_a_whole_sample_has_no_portion_and_is_not_repeated(calculate: Calculate) -> None:
    calculation = calculate("back-whole")
    with pytest.raises(Refusal):
        ask_portion(calculation)
    (part,) = ask_titration(calculation)
    assert "describe repeat" not in keys(part)
    assert part.marks == 5


def test_the_titrant_rinses_the_burette_and_the_solution_the_pipette(calculate: Calculate) -> None:
    calculation = calculate("direct-solutions")
    titrant = calculation.draw.variant.procedure.titrations[0].titrant.name
    (line,) = ask_titration(calculation)[0].points[0].lines
    assert isinstance(line, Said)
    assert slot(line, "bottle") == Bottle(titrant)
    (line,) = ask_portion(calculation)[0].points[0].lines
    assert isinstance(line, Said)
    assert slot(line, "bottle") != Bottle(titrant)


def test_the_top_of_the_meniscus_is_read_in_a_dark_solution_only(calculate: Calculate) -> None:
    def read(key: str) -> Piece:
        line = ask_titration(calculate(key))[0].points[2].lines[0]
        assert isinstance(line, Said)
        return slot(line, "point")

    assert read("moss-treatment") == "top"
    assert read("vitamin-tablets") == "top"
    assert read("direct-purity") == "bottom"


def test_two_end_points_are_not_described_as_one(calculate: Calculate) -> None:
    for ask in (ask_portion, ask_titration):
        with pytest.raises(Refusal):
            ask(calculate("hydroxide-and-carbonate"))


def test_nothing_is_described_where_nothing_is_titrated(calculate: Calculate) -> None:
    for ask in (ask_portion, ask_titration):
        with pytest.raises(Refusal):
            ask(calculate("mass-for-a-standard"))


def test_without_the_bank_of_faults_the_marks_stay(calculate: Calculate) -> None:
    calculation = calculate("direct-purity")
    bare = replace(calculation, bank=replace(calculation.bank, faults=()))
    for ask in (ask_portion, ask_titration):
        (part,) = ask(bare)
        assert keys(part) == keys(ask(calculation)[0])
        assert not causes(part)


def test_descriptions_are_left_to_the_teacher_with_lines_to_write_on(calculate: Calculate) -> None:
    for ask in (ask_portion, ask_titration):
        (part,) = ask(calculate("direct-purity"))
        assert part.accepted is None
        assert part.space[0].ruled
        assert part.space[0].height_mm == 16 * part.marks
