"""Faults: every direction that the bench computes is held against the directions teachers know, wherever a fault can be made."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest

from generator.bank.definitions import Bank, LaboratoryFault
from generator.question.check import Questions
from generator.question.draw import Refusal
from generator.question.judgement.conditions import conditions
from generator.question.judgement.extras import Calculation, ExtraPart, Said
from generator.question.judgement.faults import Effect, ask_fault, effect, possible_faults
from generator.question.judgement.perturb import read_titres
from generator.question.procedure import titre
from generator.question.stream import Stream

Calculate = Callable[..., Calculation]
WORDS = {"+": "higher", "-": "lower", "0": "none"}

# Directions checked by simulation, common practice, no source. Fault: titre in the direct and back settings, then the answer where the
# unknown is in the flask (a), in the burette (b), and of a back titration (c): + too high, - too low, 0 none, . not in this setting.
DIRECTIONS: dict[str, str] = {
    "F01": "+ +--", "F02": "- -++", "F03": "+ +--", "F04": "0 000", "F05": "0 000", "F06": "+ +--", "F07": "- -++", "F08": "- -++",
    "F09": "+ +--", "F10": "+ +--", "F11": "+ +--", "F12": "0 000", "F13": "- -++", "F14": "- -++", "F15": "+ +--", "F16": "+ +--",
    "F17": "- -++", "F18": "- -++", "F19": "+ +--", "F20": "- -++", "F21": ". -+-", "F22": "- -++", "F23": "+ ..-", "F24": "- ..+",
    "F25": "- ..+", "F26": "+ ..-", "F27": "0 ..0", "F28": "+ +.-", "F29": "- ..+", "F30": "- ..+", "F31": ". +.+", "F32": ". -.-",
    "F33": "- .+.", "F36": "- -+.", "F37": "- -+.", "F38": "+ +--", "F39": "+ +.-", "F39b": "+ +.-", "F40": "- -++", "F40b": "- -++",
    "F41": "- -++", "F41b": "- -++", "F42a": "- -++", "F42b": "+ +-.", "F43a": "+ ..-", "F43b": "+ +..", "F43c": "- -..",
    "F44": "+ +--",
}  # fmt: skip
SETTINGS = ("direct-purity", "standard-solution", "back-portions")
ASKED = {"direct-purity": "percentage", "standard-solution": "concentration", "back-portions": "percentage"}


def fault(bank: Bank, key: str) -> LaboratoryFault:
    return next(one for one in bank.faults if one.key == key)


def test_all_forty_three_faults_are_in_the_bank(bank: Bank) -> None:
    numbers = {one.key[:3] for one in bank.faults}
    assert numbers == {f"F{number:02d}" for number in range(1, 45)}  # the last is starch, beyond the forty-three
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
    last = titre(procedure.titrations[-1])
    assert read_titres(procedure, there, idle) == {last: calculation.given[last]}


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
    assert {"F39", "F39b", "F40", "F40b"} <= iron
    assert not {"F12", "F13"} & iron  # the top of the meniscus of manganate(VII) is read on purpose
    assert not {"F39", "F40", "F41", "F42a", "F43a"} & hydrate


# ------------------------------------------------------------------ wherever a fault is asked for

# Archetype: the column of DIRECTIONS (0 unknown in flask, 1 in burette, 2 back), then whether the amount that is found divides the
# mass (water of crystallisation: the answer turns round) and whether the sample alone is portioned before the reagent is added (a
# fault of the portion then moves the answer as in a direct titration, and the titre against it).
PLACES: dict[str, tuple[int, bool, bool]] = {
    "direct-solutions-fault": (0, False, False), "direct-purity-fault": (0, False, False), "standard-solution-fault": (1, False, False),
    "back-portions-fault": (2, False, False), "soda-water-fault": (0, True, False), "soda-water-back-fault": (2, True, False),
    "iron-tablets-fault": (0, False, False), "moss-treatment-fault": (0, False, False), "ethanedioic-fault": (0, False, False),
    "manganate-standardised-fault": (1, False, False), "manganese-dioxide-fault": (2, False, False), "bleach-fault": (0, False, False),
    "copper-alloy-fault": (0, False, False), "vitamin-back-fault": (2, False, False), "chloride-fault": (0, False, False),
    "silver-back-fault": (2, False, True), "total-hardness-fault": (0, False, False), "edta-back-fault": (2, False, True),
    "diluted-liquid-fault": (0, False, False),
}  # fmt: skip
TWO_TITRATIONS = {"back-blank-fault", "vinegar-stages-fault"}
OF_THE_PORTION = {"F02", "F03", "F16", "F17", "F18", "F19", "F20", "F22"}
OF_THE_SAMPLE = {"F31", "F32", "F21"}  # their titre turns round in a back titration; F34, F35 have a test of their own
TURNED = {"+": "-", "-": "+", "0": "0"}
DRAWS = 60


def asking(bank: Bank) -> list[str]:
    return [key for key, archetype in bank.archetypes.items() if "fault" in archetype.extras]


def number_of(part: ExtraPart) -> str:
    (named,) = part.explained
    assert isinstance(named, Said)
    return str(dict(named.slots)["number"])


def test_every_archetype_that_asks_for_faults_has_a_place_in_the_table(bank: Bank) -> None:
    assert set(asking(bank)) == set(PLACES) | TWO_TITRATIONS


def test_every_fault_of_the_bank_is_asked_for_somewhere(bank: Bank, questions: Questions) -> None:
    missing = {one.key for one in bank.faults}
    for key in asking(bank):
        for draw in range(DRAWS):
            question = questions.make(bank.archetypes[key], Stream(f"fault {key}/{draw}"))
            missing -= {number_of(part) for part in question.extras if part.kind == "fault"}
    assert not missing


def effects(key: str, calculate: Calculate, bank: Bank) -> tuple[tuple[str, Effect], ...]:
    calculation = calculate(key)
    return tuple((one.key, effect(calculation, one)) for one in possible_faults(calculation))


def expected(key: str, number: str) -> tuple[str, str]:
    column, divides, portioned = PLACES[key]
    moved, told = DIRECTIONS[number].split()
    titre_moves, answer_moves = moved, told[column]
    if portioned and number in OF_THE_PORTION:
        titre_moves, answer_moves = TURNED[moved], told[0]
    if number in OF_THE_SAMPLE:
        titre_moves = {"F31": "+", "F32": "-", "F21": "-"}[number]  # more of the analyte, less, less
        titre_moves = TURNED[titre_moves] if column == 2 else titre_moves
    return titre_moves, TURNED[answer_moves] if divides else answer_moves


@pytest.mark.parametrize("key", PLACES)
def test_every_direction_of_an_archetype_is_the_one_that_teachers_know(
    key: str, bank: Bank, calculate: Calculate
) -> None:
    found = effects(key, calculate, bank)
    assert len(found) > 10
    for number, seen in found:
        if number not in ("F34", "F35"):
            assert (seen.titre, seen.answer) == tuple(WORDS[sign] for sign in expected(key, number)), number


def of_their_own(bank: Bank, calculate: Calculate) -> Iterator[tuple[str, set[str]]]:
    for key in PLACES:
        yield key, {number for number, _ in effects(key, calculate, bank) if number > "F33"}


def test_faults_of_one_kind_of_titration_stay_with_it(bank: Bank, calculate: Calculate) -> None:
    found = dict(of_their_own(bank, calculate))
    assert found["soda-water-fault"] == {"F34", "F35", "F37"}
    assert found["iron-tablets-fault"] == {"F39", "F39b", "F40", "F40b"}
    assert found["ethanedioic-fault"] == {"F39", "F39b", "F41", "F41b"}
    assert found["manganate-standardised-fault"] == {"F40", "F40b"}
    assert found["bleach-fault"] == {"F42a", "F42b", "F44"}
    assert found["copper-alloy-fault"] == {"F42a", "F44"}  # no acid is left there that air could work with
    assert found["vitamin-back-fault"] == {"F42a", "F44"}
    assert found["chloride-fault"] == {"F43b"}
    assert found["silver-back-fault"] == {"F43a"}
    assert found["total-hardness-fault"] == {"F43c"}
    assert found["edta-back-fault"] == set()  # its buffer is of pH 5.5


@pytest.mark.parametrize(("key", "water"), [("F34", "lower"), ("F35", "higher")])
def test_crystals_that_lost_water_give_a_small_x_by_a_back_titration_too(
    key: str, water: str, bank: Bank, calculate: Calculate
) -> None:
    assert effect(calculate("soda-water-back-fault"), fault(bank, key)).answer == water


# ------------------------------------------------------------------ two titrations


def test_a_weak_titrant_raises_both_titres_of_a_blank_and_their_difference(bank: Bank, calculate: Calculate) -> None:
    # common practice: c(V blank - V sample) is too large where c is overstated; nothing is over-subtracted as without a blank
    seen = effect(calculate("back-blank-fault"), fault(bank, "F01"))
    assert (seen.titre, seen.answer, seen.moved) == ("higher", "higher", 2)


def test_a_weak_titrant_cancels_where_it_was_standardised_itself(bank: Bank, calculate: Calculate) -> None:
    seen = effect(calculate("vinegar-stages-fault"), fault(bank, "F01"))
    assert (seen.titre, seen.answer, seen.moved) == ("higher", "none", 2)


def test_an_overshot_end_point_is_one_of_the_last_titration(bank: Bank, calculate: Calculate) -> None:
    seen = effect(calculate("back-blank-fault"), fault(bank, "F09"))
    assert (seen.titre, seen.answer, seen.moved) == ("higher", "lower", 1)


def test_nothing_is_asked_of_a_reagent_that_the_blank_has_measured(bank: Bank, calculate: Calculate) -> None:
    found = {one.key for one in possible_faults(calculate("back-blank-fault"))}
    assert not {"F24", "F25", "F29", "F30"} & found  # in both runs alike, they would cancel
    assert not {"F02", "F15", "F18"} & found  # of which run?
    assert {"F01", "F09", "F21", "F32"} <= found


def test_nothing_is_asked_where_the_reagent_itself_is_sought(calculate: Calculate) -> None:
    assert possible_faults(calculate("back-portions-reagent")) == []


def test_a_portion_from_the_top_needs_a_flask_that_portions_are_taken_from(calculate: Calculate) -> None:
    standard = {one.key for one in possible_faults(calculate("standard-in-the-burette"))}
    assert "F18" in standard
    assert "F20" not in standard


def test_water_in_a_burette_dilutes_a_titrant_made_in_the_procedure_too(bank: Bank, calculate: Calculate) -> None:
    seen = effect(calculate("standard-in-the-burette"), fault(bank, "F01"))
    assert (seen.titre, seen.answer) == ("higher", "higher")
