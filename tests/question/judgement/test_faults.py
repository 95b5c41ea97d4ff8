"""Faults: every direction that the bench computes is held against the directions teachers know, in three settings."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from generator.bank.definitions import Bank, LaboratoryFault
from generator.question.draw import Refusal
from generator.question.judgement.conditions import conditions
from generator.question.judgement.extras import Calculation
from generator.question.judgement.faults import ask_fault, effect, possible_faults
from generator.question.judgement.perturb import read_titre
from generator.question.procedure import titre

Calculate = Callable[..., Calculation]
WORDS = {"+": "higher", "-": "lower", "0": "none"}

# Directions checked by simulation, common practice, no source. Fault: titre in the direct and back settings, then the answer where the
# unknown is in the flask (a), in the burette (b), and of a back titration (c): + too high, - too low, 0 none, . not in this setting.
DIRECTIONS: dict[str, str] = {
    "F01": "+ +--", "F02": "- -++", "F03": "+ +--", "F04": "0 000", "F05": "0 000", "F06": "+ +--", "F07": "- -++", "F08": "- -++",
    "F09": "+ +--", "F10": "+ +--", "F11": "+ +--", "F12": "0 000", "F13": "- -++", "F14": "- -++", "F15": "+ +--", "F16": "+ +--",
    "F17": "- -++", "F18": "- -++", "F19": "+ +--", "F20": "- -.+", "F21": ". -+-", "F22": "- -++", "F23": "+ ..-", "F24": "- ..+",
    "F25": "- ..+", "F26": "+ ..-", "F27": "0 ..0", "F28": "+ +.-", "F29": "- ..+", "F30": "- ..+", "F31": ". +.+", "F32": ". -.-",
    "F33": "- .+.", "F36": "- -+.", "F37": "- -+.", "F38": "+ +--", "F39": "+ +..", "F40": "- -..", "F41": "- -..", "F42a": "- -..",
    "F42b": "+ +..", "F43a": "+ ..-", "F43b": "+ +..", "F43c": "- -..",
}  # fmt: skip
SETTINGS = ("direct-purity", "standard-solution", "back-portions")
ASKED = {"direct-purity": "percentage", "standard-solution": "concentration", "back-portions": "percentage"}


def fault(bank: Bank, key: str) -> LaboratoryFault:
    return next(one for one in bank.faults if one.key == key)


def test_all_forty_three_faults_are_in_the_bank(bank: Bank) -> None:
    numbers = {one.key[:3] for one in bank.faults}
    assert numbers == {f"F{number:02d}" for number in range(1, 44)}
    assert set(DIRECTIONS) | {"F34", "F35"} == {one.key for one in bank.faults}


@pytest.mark.parametrize(
    ("key", "setting"), [(key, at) for key, told in DIRECTIONS.items() for at in range(3) if told.split()[1][at] != "."]
)
def test_the_answer_moves_as_teachers_know(key: str, setting: int, bank: Bank, calculate: Calculate) -> None:
    archetype = SETTINGS[setting]
    seen = effect(calculate(archetype, ASKED[archetype]), fault(bank, key))
    assert seen.answer == WORDS[DIRECTIONS[key].split()[1][setting]]


@pytest.mark.parametrize("key", [key for key, told in DIRECTIONS.items() if told[0] != "."])
def test_the_titre_moves_as_teachers_know(key: str, bank: Bank, calculate: Calculate) -> None:
    for at, archetype in enumerate(SETTINGS):
        if DIRECTIONS[key].split()[1][at] != ".":
            seen = effect(calculate(archetype, ASKED[archetype]), fault(bank, key))
            assert seen.titre == WORDS[DIRECTIONS[key][0]], archetype


@pytest.mark.parametrize(("key", "moved"), [("F34", ("higher", "lower")), ("F35", ("lower", "higher"))])
def test_a_hydrate_that_lost_water_gives_a_small_x_and_a_damp_one_a_large_x(
    key: str, moved: tuple[str, str], bank: Bank, calculate_small: Calculate
) -> None:
    seen = effect(calculate_small("small-hydrate", "water"), fault(bank, key))
    assert (seen.titre, seen.answer) == moved


def test_a_reactive_impurity_lowers_the_back_titre_and_raises_the_direct_one(bank: Bank, calculate: Calculate) -> None:
    one = fault(bank, "F31")
    assert effect(calculate("back-portions", "percentage"), one).titre == "lower"
    assert effect(calculate("direct-purity", "percentage"), one).titre == "higher"


def test_stopping_half_way_halves_a_carbonate_and_doubles_an_acid(bank: Bank, calculate: Calculate) -> None:
    one = fault(bank, "F37")
    carbonate = calculate("direct-one-to-two", "concentration", analyte="Na2CO3")
    assert effect(carbonate, one).answer_exact == carbonate.worked.exact / 2
    acid = calculate("standard-solution", "concentration", analyte="Na2CO3")
    assert effect(acid, one).answer_exact == acid.worked.exact * 2


def test_the_same_fault_turns_round_where_the_unknown_is_in_the_burette(bank: Bank, calculate: Calculate) -> None:
    for key in ("F01", "F02", "F06", "F09", "F13", "F18"):
        flask = effect(calculate("direct-purity", "percentage"), fault(bank, key))
        burette = effect(calculate("standard-solution", "concentration"), fault(bank, key))
        assert flask.titre == burette.titre
        assert {flask.answer, burette.answer} == {"higher", "lower"}


def test_without_a_change_the_bench_reads_the_printed_titre(bank: Bank, calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    procedure = calculation.draw.variant.procedure
    there = {**calculation.given, calculation.worked.plan.asked: calculation.worked.exact}
    idle = LaboratoryFault("none", "", "", ())
    assert read_titre(procedure, there, idle) == calculation.given[titre(procedure.titrations[-1])]


def test_a_titrant_of_half_the_strength_doubles_the_answer(bank: Bank, calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    weak = LaboratoryFault("weak", "", "", (("titrant strength", Decimal("0.5")),))
    assert effect(calculation, weak).answer_exact == 2 * calculation.worked.exact


def test_a_fault_is_asked_only_where_it_can_be_made(bank: Bank, calculate: Calculate) -> None:
    direct = {one.key for one in possible_faults(calculate("direct-purity", "percentage"))}
    back = {one.key for one in possible_faults(calculate("back-portions", "percentage", analyte="CaCO3"))}
    zinc = {one.key for one in possible_faults(calculate("back-portions", "percentage", analyte="ZnO"))}
    standard = {one.key for one in possible_faults(calculate("standard-solution", "concentration"))}
    assert not {"F23", "F24", "F29", "F30", "F33", "F39"} & direct
    assert {"F24", "F26", "F29", "F32"} <= back
    assert not {"F24", "F26", "F28"} & zinc  # no gas, and zinc hydroxide comes down before phenolphthalein changes
    assert "F33" in standard
    assert not {"F28", "F31", "F32"} & standard
    assert not {"F34", "F35", "F40"} & (direct | back | standard)


def test_a_whole_sample_is_not_pipetted_and_has_no_rough_run(calculate: Calculate) -> None:
    held = conditions(calculate("back-whole").bank, calculate("back-whole").draw)
    assert not {"pipette", "made up", "several runs"} & held
    assert {"back", "weighed"} <= held


def test_manganate_faults_go_with_manganate(calculate_small: Calculate) -> None:
    iron = calculate_small("small-iron")
    assert {"manganate(VII) in burette", "iron(II) in flask"} <= conditions(iron.bank, iron.draw)


def test_nothing_can_be_asked_of_an_expected_titre(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_fault(calculate("direct-expected-titre", "titre"))


def test_a_fault_part_has_three_marks_and_says_both_effects(calculate: Calculate) -> None:
    (part,) = ask_fault(calculate("back-portions", "percentage"))
    assert part.marks == 3
    answers = [str(point.answer) for point in part.points]
    assert answers[0].startswith("titre ")
    assert answers[1].startswith("answer ")


def test_no_fault_of_the_bank_states_a_direction(bank: Bank) -> None:
    for one in bank.faults:
        words = f"{one.told} {one.cause}"
        assert not any(
            said in words for said in ("too high", "too low", "higher titre", "larger titre", "smaller titre")
        ), one.key


def test_every_change_of_the_bank_moves_something_or_nothing_on_purpose(bank: Bank, calculate: Calculate) -> None:
    still = {"F04", "F05", "F12", "F27"}
    calculation = calculate("back-portions", "percentage")
    for one in bank.faults:
        if one.key not in {*still, "F34"}:
            assert effect(calculation, one).titre_cm3 != calculation.given[calculation.slips.surroundings.titre], (
                one.key
            )


def test_faults_of_a_hydrate_and_of_iron_wait_for_their_questions(calculate_small: Calculate) -> None:
    hydrate = {one.key for one in possible_faults(calculate_small("small-hydrate", "water"))}
    iron = {one.key for one in possible_faults(calculate_small("small-iron"))}
    assert {"F34", "F35", "F37"} <= hydrate
    assert {"F39", "F40"} <= iron
    assert not {"F39", "F40", "F41", "F42a", "F43a"} & hydrate
