"""Faults: every direction that the bench computes is held against the directions teachers know, wherever a fault can be made."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank, LaboratoryFault
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.faults.conditions import conditions
from molewright.further_parts.faults.curve_shifts import moved_by_curve
from molewright.further_parts.faults.effect import Effect, ask_fault, effect, possible_faults
from molewright.further_parts.faults.faulty_bench import read_titres
from molewright.further_parts.pieces import Calculation, FurtherPart, Said
from molewright.plausibility.flask import last_flask
from molewright.question.check import Questions
from shared.for_each import for_each
from shared.quantities import q

Calculate = Callable[..., Calculation]
WORDS = {"+": "higher", "-": "lower", "0": "none"}

# Directions checked by simulation, common practice, no source. Fault: what happens to the titre and then to the answer, with the
# unknown in the flask, with the unknown in the burette, and in a back titration: + too high, - too low, 0 none, .. not in this setting.
DIRECTIONS: dict[str, str] = {
    "F01": "++ +- +-", "F02": "-- -+ -+", "F03": "++ +- +-", "F04": "00 00 00", "F05": "00 00 00", "F06": "++ +- +-",
    "F07": "-- -+ -+", "F08": "-- -+ -+", "F09": "++ +- +-", "F10": "++ +- +-", "F11": "++ +- +-", "F12": "00 00 00",
    "F13": "-- -+ -+", "F14": "-- -+ -+", "F15": "++ +- +-", "F16": "++ +- +-", "F17": "-- -+ -+", "F18": "-- -+ -+",
    "F19": "++ +- +-", "F20": "-- -+ -+", "F21": "-- -+ +-", "F22": "-- -+ -+", "F23": ".. .. +-", "F24": ".. .. -+",
    "F25": ".. .. -+", "F26": ".. .. +-", "F27": ".. .. 00", "F28": "++ .. +-", "F29": ".. .. -+", "F30": ".. .. -+",
    "F31": "++ .. -+", "F32": "-- .. +-", "F33": ".. -+ ..", "F36": "-- -+ ..", "F37": "-- -+ ..", "F38": "++ +- +-",
    "F39": "++ .. +-", "F39b": "++ .. +-", "F40": "-- -+ -+", "F40b": "-- -+ -+", "F41": "-- -+ -+", "F41b": "-- -+ -+",
    "F42a": "-- -+ -+", "F42b": "++ +- ..", "F43a": ".. .. +-", "F43b": "++ .. ..", "F43c": "-- .. ..", "F44": "++ +- +-",
}  # fmt: skip
SETTINGS = ("direct-purity", "standard-solution", "back-portions")
MADE_IN: dict[str, tuple[str, str, str]] = {  # where another kind of question is needed than in SETTINGS
    "F28": ("direct-solutions", "", "back-portions-burnt-lime"), "F36": ("diluted-liquid", "", ""),
    "F38": ("diluted-liquid", "", "back-portions-dibasic"),
    "F39": ("iron-tablets", "", "manganese-dioxide"), "F39b": ("moss-treatment", "", "manganese-dioxide"),
    "F40": ("iron-tablets", "manganate-standardised", "manganese-dioxide-iron"),
    "F40b": ("moss-treatment", "manganate-standardised", "manganese-dioxide-iron"),
    "F41": ("ethanedioic-by-manganate", "manganate-by-ethanedioic", "manganese-dioxide"),
    "F41b": ("ethanedioic-by-manganate", "manganate-by-ethanedioic", "manganese-dioxide"),
    "F42a": ("bleach", "iodate-standard", "vitamin-back"), "F42b": ("bleach", "iodate-standard", ""),
    "F43a": ("", "", "silver-back"), "F43b": ("chloride-in-brine", "", ""), "F43c": ("total-hardness", "", ""),
    "F44": ("bleach", "iodate-standard", "vitamin-back"),
}  # fmt: skip
ROWS = [(key, at) for key, told in DIRECTIONS.items() for at in range(3) if told.split()[at] != ".."]
Made = Callable[[str, str], Calculation]


@pytest.fixture(scope="module")
def made(bank: Bank, draws: Callable[[str], Iterator[Calculation]]) -> Made:
    """The first drawn question of a kind in which a fault can be made: made("F36", "diluted-liquid")."""

    def first(key: str, archetype: str) -> Calculation:
        one = fault(bank, key)
        found = next((calculation for calculation in draws(archetype) if one in possible_faults(calculation)), None)
        assert found is not None, f"{key} is never possible in {archetype}"
        return found

    return first


def fault(bank: Bank, key: str) -> LaboratoryFault:
    return next(one for one in bank.faults if one.key == key)


def test_all_forty_three_faults_are_in_the_bank(bank: Bank) -> None:
    numbers = {one.key[:3] for one in bank.faults}
    assert numbers == {f"F{number:02d}" for number in range(1, 45)}  # the last is starch, beyond the forty-three
    assert set(DIRECTIONS) | {"F34", "F35"} == {one.key for one in bank.faults}


@for_each(("key", "setting"), ROWS)
def test_titre_and_answer_move_as_teachers_know(key: str, setting: int, bank: Bank, made: Made) -> None:
    archetype = MADE_IN.get(key, ("", "", ""))[setting] or SETTINGS[setting]
    seen = effect(made(key, archetype), fault(bank, key))
    assert (seen.titre, seen.answer) == tuple(WORDS[sign] for sign in DIRECTIONS[key].split()[setting])


@pytest.mark.parametrize(("key", "moved"), [("F34", ("higher", "lower")), ("F35", ("lower", "higher"))])
def test_a_hydrate_that_lost_water_gives_a_small_x_and_a_damp_one_a_large_x(
    key: str, moved: tuple[str, str], bank: Bank, calculate_small: Calculate
) -> None:
    seen = effect(calculate_small("small-hydrate", "water"), fault(bank, key))
    assert (seen.titre, seen.answer) == moved


def with_indicator(calculation: Calculation, name: str) -> Calculation:
    return replace(calculation, draw=replace(calculation.draw, indicator=name))


@pytest.mark.parametrize("name", ["methyl orange", "bromophenol blue", "bromocresol green"])
def test_far_more_of_an_indicator_kept_as_a_base_is_not_asked_about(
    name: str, bank: Bank, calculate: Calculate
) -> None:
    for key in ("direct-solutions", "back-portions"):
        calculation = with_indicator(calculate(key), name)
        assert fault(bank, "F38") not in possible_faults(calculation)


def test_far_more_of_an_indicator_is_so_many_cubic_centimetres_of_its_bottle(bank: Bank, calculate: Calculate) -> None:
    # 5 cm³ of 5 g dm⁻³ phenolphthalein, C20H14O4 of 318.3 g/mol: 0.0785 mmol, of which about a fifth has reacted at pH 8.5
    calculation = with_indicator(calculate("diluted-liquid", analyte="CH3COOH"), "phenolphthalein")
    bottled = bank.indicators["phenolphthalein"].bottled
    assert bottled is not None
    assert bottled.strength == pytest.approx(5 / 318.3, rel=1e-3)
    seen = effect(calculation, fault(bank, "F38"))
    titration = calculation.draw.variant.procedure.titrations[-1]
    titrant = float(calculation.given[q(f"concentration of {titration.titrant.name}")])
    moved = float(seen.titre_cm3 - calculation.given[titration.titre])
    assert moved * titrant == pytest.approx(5 * bottled.strength / (1 + 10 ** (9.1 - 8.5)), rel=0.05)
    assert (seen.titre, seen.answer) == ("higher", "higher")


def test_the_form_in_the_bottle_decides_which_way_an_end_point_moves(bank: Bank, calculate: Calculate) -> None:
    calculation = with_indicator(calculate("direct-solutions", analyte="HCl", titrant="NaOH"), "methyl red")
    indicator = bank.indicators["methyl red"]
    assert indicator.bottled is not None
    moved = {}
    for form in ("acid", "base"):
        other = replace(indicator, bottled=replace(indicator.bottled, form=form))
        changed = replace(bank, indicators={**bank.indicators, "methyl red": other})
        (moved[form],) = moved_by_curve(replace(calculation, bank=changed), fault(bank, "F38")).values()
    assert moved["acid"] > 0 > moved["base"]


def test_stopping_half_way_halves_a_carbonate_and_doubles_an_acid(bank: Bank, calculate: Calculate) -> None:
    one = fault(bank, "F37")
    carbonate = calculate("direct-one-to-two", "concentration", analyte="Na2CO3")
    assert float(effect(carbonate, one).answer_exact / carbonate.worked.exact) == pytest.approx(0.5, rel=0.02)
    acid = calculate("standard-solution", "concentration", analyte="Na2CO3")
    assert float(effect(acid, one).answer_exact / acid.worked.exact) == pytest.approx(2, rel=0.02)


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
    idle = LaboratoryFault(key="none", told="", cause="", changes=())
    last = procedure.titrations[-1].titre
    assert read_titres(procedure, there, idle) == {last: calculation.given[last]}


def test_a_titrant_of_half_the_strength_doubles_the_answer(bank: Bank, calculate: Calculate) -> None:
    calculation = calculate("direct-purity", "percentage")
    weak = LaboratoryFault(key="weak", told="", cause="", changes=(("titrant strength", Decimal("0.5")),))
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
    of_their_own = {one.key for one in possible_faults(iron) if one.burette or one.flask}
    assert of_their_own == {"F39", "F39b", "F40", "F40b"}


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
TURNED = {"+": "-", "-": "+", "0": "0"}
DRAWS = 60


def asking(bank: Bank) -> list[str]:
    return [key for key, archetype in bank.archetypes.items() if "fault" in archetype.further_parts]


def number_of(part: FurtherPart, bank: Bank) -> str:
    told = dict(part.demand.slots)["told"]
    assert isinstance(told, Said)
    return next(one.key for one in bank.faults if one.told == told.key)


def test_every_archetype_that_asks_for_faults_has_a_place_in_the_table(bank: Bank) -> None:
    assert set(asking(bank)) == set(PLACES) | TWO_TITRATIONS


@pytest.mark.thorough
def test_every_fault_of_the_bank_is_asked_for_somewhere(bank: Bank, questions: Questions) -> None:
    missing = {one.key for one in bank.faults}
    for key in asking(bank):
        for draw in range(DRAWS):
            question = questions.make(bank.archetypes[key], Stream(f"fault {key}/{draw}"))
            missing -= {number_of(part, bank) for part in question.further_parts if part.kind == "fault"}
    assert not missing


def effects(key: str, calculate: Calculate, bank: Bank) -> tuple[tuple[str, Effect], ...]:
    calculation = calculate(key)
    return tuple((one.key, effect(calculation, one)) for one in possible_faults(calculation))


def expected(key: str, number: str) -> tuple[str, str]:
    column, divides, portioned = PLACES[key]
    rows = DIRECTIONS[number].split()
    titre_moves, answer_moves = rows[column]
    if portioned and number in OF_THE_PORTION:
        titre_moves, answer_moves = TURNED[rows[column][0]], rows[0][1]
    return titre_moves, TURNED[answer_moves] if divides else answer_moves


@for_each("key", PLACES)
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


def test_a_damp_standard_makes_a_titrant_standardised_with_it_seem_stronger(bank: Bank, made: Made) -> None:
    for archetype in ("standardise-then-vinegar", "standardise-then-assay"):
        seen = effect(made("F33", archetype), fault(bank, "F33"))
        assert (seen.titre, seen.answer, seen.of_last) == (
            "lower",
            "higher",
            False,
        )  # the first titre, which is asked for


def test_a_damp_standard_in_the_burette_is_a_weak_titrant(bank: Bank, made: Made) -> None:
    seen = effect(made("F33", "standard-in-the-burette"), fault(bank, "F33"))
    assert (seen.titre, seen.answer, seen.of_last) == ("higher", "higher", True)


def test_an_alkali_that_took_up_carbon_dioxide_cancels_where_it_was_standardised_so(bank: Bank, made: Made) -> None:
    seen = effect(made("F28", "standardise-then-vinegar"), fault(bank, "F28"))
    assert (seen.titre, seen.answer, seen.moved) == ("higher", "none", 2)


# ------------------------------------------------------------------ one flask, two end points

CONTINUED = ("hydroxide-and-carbonate", "carbonate-and-hydrogencarbonate")


@for_each("key", CONTINUED)
def test_after_a_first_end_point_nothing_happens_to_jet_tap_or_funnel(key: str, calculate: Calculate) -> None:
    found = {one.key for one in possible_faults(calculate(key))}
    assert not {"F06", "F07", "F08", "F11", "F15"} & found
    assert {"F09", "F10", "F13", "F14"} <= found


def part_with(calculation: Calculation, bank: Bank, key: str) -> FurtherPart:
    only = replace(bank, faults=(fault(bank, key),))
    (part,) = ask_fault(replace(calculation, bank=only))
    return part


def reasons_of(part: FurtherPart) -> list[str]:
    """The keys of the sentences that give the reason."""
    (line,) = part.points[-1].lines
    assert isinstance(line, Said)
    reasons = dict(line.slots)["reasons"]
    assert isinstance(reasons, tuple)
    return [one.key for one in reasons if isinstance(one, Said) and not one.written]


@for_each("key", CONTINUED)
def test_a_fault_between_two_end_points_is_told_so(key: str, bank: Bank, calculate: Calculate) -> None:
    assert part_with(calculate(key), bank, "F09").demand.key == "fault continued"
    assert part_with(calculate(key), bank, "F01").demand.key == "fault every"


# ------------------------------------------------------------------ why the answer turns round

TURNED_BY_SUBTRACTION = [
    ("hydroxide-and-carbonate", "F09", ["fault link flask higher", "fault link subtracted lower"]),
    ("calcium-and-magnesium", "F13", ["fault link flask lower", "fault link subtracted higher"]),
    ("salt-substitute", "F09", ["fault link flask higher", "fault link subtracted lower"]),
    ("soda-and-salt", "F37", ["fault link flask lower", "fault link subtracted higher"]),
    ("dolomite-mixture", "F09", ["fault link back higher", "fault link subtracted higher"]),
    ("two-carbonates", "F24", ["fault link back lower", "fault link subtracted lower"]),
    ("carbonate-and-hydrogencarbonate", "F09", ["fault link flask higher"]),
    ("back-portions", "F09", ["fault link back higher"]),
]


@for_each(("key", "number", "sentences"), TURNED_BY_SUBTRACTION)
def test_a_reason_tells_what_is_subtracted_on_the_way_to_the_answer(
    key: str, number: str, sentences: list[str], bank: Bank, calculate: Calculate
) -> None:
    asked = "percentage" if key == "back-portions" else ""
    assert reasons_of(part_with(calculate(key, asked), bank, number)) == sentences


@for_each("key", [key for key, _, sentences in TURNED_BY_SUBTRACTION if len(sentences) == 2])
def test_an_answer_that_goes_against_expectation_has_guidance_that_says_why(
    key: str, bank: Bank, calculate: Calculate
) -> None:
    (said,) = part_with(calculate(key), bank, "F09").points[1].guidance
    assert said.key in ("guide fault subtracted", "guide fault back subtracted")


def test_the_same_titre_cancelling_is_said_to_cancel(bank: Bank, made: Made) -> None:
    part = part_with(made("F28", "standardise-then-vinegar"), bank, "F28")
    assert reasons_of(part) == ["fault link cancels"]


# ------------------------------------------------------------------ sizes that chemistry gives


def shift_cm3(calculation: Calculation, bank: Bank, key: str) -> float:
    right = calculation.given[calculation.draw.variant.procedure.titrations[-1].titre]
    return float(effect(calculation, fault(bank, key)).titre_cm3 - right)


def test_manganate_that_takes_three_electrons_is_needed_in_that_proportion(bank: Bank, made: Made) -> None:
    calculation = made("F39", "iron-tablets")
    right = calculation.given[calculation.draw.variant.procedure.titrations[-1].titre]
    wanted = Fraction(5) / (5 * Fraction(9, 10) + 3 * Fraction(1, 10))  # a tenth of it becomes manganese(IV) oxide
    assert effect(calculation, fault(bank, "F39")).titre_cm3 == right * wanted


def test_chloride_takes_a_fifth_of_its_amount_of_manganate(bank: Bank, made: Made) -> None:
    calculation = made("F39b", "iron-tablets")
    strength = float(calculation.given[q("concentration of KMnO4")])
    assert shift_cm3(calculation, bank, "F39b") == pytest.approx(0.05 / 5 / strength)


def test_carbon_dioxide_takes_its_own_amount_of_alkali_with_phenolphthalein(bank: Bank, made: Made) -> None:
    calculation = made("F26", "back-portions")
    procedure = calculation.draw.variant.procedure
    flask = last_flask(procedure, calculation.draw.truth, {"CO2": 0.034})  # Henry, as in banks/acids.yaml
    assert flask is not None
    wanted = flask.amounts["CO2"] / flask.titrant * 1000
    assert shift_cm3(calculation, bank, "F26") == pytest.approx(wanted, rel=0.05)


def test_methyl_orange_changes_where_a_part_of_ethanoic_acid_has_reacted(bank: Bank, calculate: Calculate) -> None:
    calculation = calculate("direct-solutions", analyte="CH3COOH")
    stopped = effect(calculation, fault(bank, "F36")).answer_exact / calculation.worked.exact
    pka = 4.756 - 0.107  # among ions of 0.1 mol dm⁻³, after Davies
    share = 1 / (1 + 10 ** (pka - 4.2))  # Henderson and Hasselbalch, at the pH where it turns orange
    assert float(stopped) == pytest.approx(share, rel=0.03)


def test_zinc_ions_are_held_by_edta_at_any_ph_but_calcium_and_magnesium_are_not(
    bank: Bank, calculate: Calculate
) -> None:
    one = fault(bank, "F43c")
    for key in ("zinc-tablets", "zinc-ointment"):
        assert one not in possible_faults(calculate(key))
        assert effect(calculate(key), one).titre == "none"
    for key in ("total-hardness", "magnesium-sulfate-water"):
        assert one in possible_faults(calculate(key))
        assert effect(calculate(key), one).titre == "lower"


def test_magnesium_is_let_go_of_sooner_than_calcium(bank: Bank, calculate: Calculate) -> None:
    shares = [
        shift_cm3(calculation, bank, "F43c")
        / float(calculation.given[calculation.draw.variant.procedure.titrations[-1].titre])
        for calculation in (calculate("magnesium-sulfate-water"), calculate("total-hardness"))
    ]
    assert shares[0] < shares[1] < 0


@pytest.mark.parametrize("key", ["pool-chlorine", "iodised-salt", "dissolved-oxygen"])
def test_iodine_that_is_pale_from_the_start_is_not_dark_with_it(key: str, calculate: Calculate) -> None:
    found = {one.key for one in possible_faults(calculate(key))}
    assert "F44" not in found
    assert "F42a" in found


def test_an_ointment_and_a_metal_are_not_damp(calculate: Calculate) -> None:
    ointment = {one.key for one in possible_faults(calculate("zinc-ointment", "percentage"))}
    brass = {one.key for one in possible_faults(calculate("copper-alloy", "percentage", material="brass"))}
    assert not {"F21", "F32"} & ointment
    assert "F32" not in brass
    assert "F21" in brass


def test_a_mass_that_is_planned_has_no_fault(calculate: Calculate) -> None:
    assert possible_faults(calculate("mass-for-a-titre")) == []


def test_overshooting_is_told_in_a_sentence_that_begins_with_the_titrant(bank: Bank) -> None:
    assert fault(bank, "F09").cause.startswith("{titrant} was")
