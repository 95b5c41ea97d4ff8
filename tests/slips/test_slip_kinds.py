"""Slips of one kind of reaction, of a dilution and of 1:1 steps, held against amounts worked from the printed numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.quantities import q


def made(key: str, bank: Bank, questions: Questions) -> Question:
    return questions.make(bank.archetypes[key], Stream(f"slip kinds/{key}"))


def keys_of(question: Question) -> set[str]:
    return {slip.key for one in question.mistakes.every() for slip in one.slips if len(one.slips) == 1}


def given(question: Question, start: str) -> Fraction:
    """The one printed number whose name starts so, in base units."""
    (found,) = (q.in_base for name, q in question.draw.given.items() if name.text.startswith(start))
    return found


@pytest.mark.parametrize(
    ("key", "slips"),
    [
        ("steel", {"S17"}),
        ("peroxide", {"S17"}),
        ("bleach", {"S18"}),
        ("diluted-battery-acid", {"S16"}),
        ("limewater", set()),
    ],
)
def test_dibasic_redox_and_iodine_slips_belong_to_their_own_reactions(
    key: str, slips: set[str], bank: Bank, questions: Questions
) -> None:
    assert keys_of(made(key, bank, questions)) & {"S16", "S17", "S18"} == slips


def test_an_ignored_dilution_gives_the_strength_of_the_diluted_solution(bank: Bank, questions: Questions) -> None:
    question = made("diluted-cordial", bank, questions)
    diluted = question.worked.exact * given(question, "volume of C6H8O7") / given(question, "made-up volume")
    assert diluted in [one.exact for one in question.mistakes.every() if [slip.key for slip in one.slips] == ["S29"]]


def test_what_a_mistake_with_a_dilution_is_called_is_what_it_computes(bank: Bank, questions: Questions) -> None:
    question = made("diluted-cordial", bank, questions)
    bottle, flask = given(question, "volume of C6H8O7"), given(question, "made-up volume")
    portion, right = given(question, "volume of aliquot"), question.worked.exact
    for key, said, wrong in (
        ("S29", "dilution factor forgotten", right * bottle / flask),
        ("S156", "dilution factor upside down", right * (bottle / flask) ** 2),
        ("S21", "factor from portion to flask forgotten", right * portion / flask),
        ("S30", "volume that was diluted added to the made-up volume", right * (flask + bottle) / flask),
    ):
        found = [one for one in question.mistakes.every() if [slip.key for slip in one.slips] == [key]]
        assert [(one.slips[0].name, one.exact) for one in found] == [(said, wrong)]


def test_a_second_step_of_one_to_one_by_the_same_equation_earns_no_mark(bank: Bank, questions: Questions) -> None:
    question = made("carbonate-and-hydrogencarbonate", bank, questions)
    # two amounts of titrant, what each reacts with, the difference, the concentration: six, and one to come to g dm-3
    assert len(question.points) == (7 if question.draw.ask.quantity.text.startswith("mass") else 6)


def test_the_relative_atomic_mass_of_a_metal_alone_earns_no_mark_beside_its_molar_mass(
    bank: Bank, questions: Questions
) -> None:
    last = made("metal-in-acid", bank, questions).points[-1]
    assert [step.variable.kind for step in last.steps] == ["molar mass", "atomic mass"]
    assert last.steps[-1].idle


def test_a_dilution_after_a_standardisation_can_be_forgotten(bank: Bank, questions: Questions) -> None:
    # the alkali's own standard flask comes first; only the flask of the bottle's portion was diluted
    question = made("standardise-then-vinegar", bank, questions)
    found = [one.exact for one in question.mistakes.every() if [slip.key for slip in one.slips] == ["S29"]]
    assert question.worked.exact / 10 in found  # 25.0 cm3 made up to 250 cm3


def test_two_metal_atoms_taken_for_one_double_the_relative_atomic_mass(bank: Bank, questions: Questions) -> None:
    question = made("name-the-carbonate", bank, questions)
    found = [one.exact for one in question.mistakes.every() if [slip.key for slip in one.slips] == ["S56"]]
    assert found == [2 * question.worked.exact]
    assert "S56" not in keys_of(made("name-the-chloride", bank, questions))


def test_the_ratio_of_masses_taken_for_x_is_told(bank: Bank, questions: Questions) -> None:
    question = made("magnesium-sulfate-water", bank, questions)
    (found,) = [one.exact for one in question.mistakes.every() if [slip.key for slip in one.slips] == ["S58"]]
    values = {**question.given, **{step.variable.name: step.exact for step in question.worked.steps}}
    # grams of water for each gram of the salt: x times 18.0 over the molar mass of the salt, on paper
    salt = next(
        name for name in question.system.fixed if name not in (q("molar mass of H2O"),) and "MgSO4" in name.text
    )
    assert found == question.worked.exact * 18 / values[salt]


def test_the_mass_of_an_ion_in_place_of_its_salt_is_told(bank: Bank, questions: Questions) -> None:
    assert "S45" in keys_of(made("zinc-ointment", bank, questions))
    assert "S45" not in keys_of(made("direct-purity", bank, questions))


def test_a_wrong_x_is_shown_before_it_is_rounded(bank: Bank, questions: Questions) -> None:
    question = made("magnesium-sulfate-water", bank, questions)
    wrong = [one.answer for one in question.mistakes.wrong if one.slips[0].kind != "rounding"]
    assert question.worked.answer.figures <= 2
    assert {one.figures for one in wrong} == {3}


@pytest.mark.parametrize("key", ["acyl-chloride", "back-portions", "direct-one-to-two"])
def test_a_slip_made_in_several_steps_loses_the_mark_of_the_first_alone(
    key: str, bank: Bank, questions: Questions
) -> None:
    # no volume converted, in the titrant's amount and in the next: one mistake, punished once (error carried forward)
    question = made(key, bank, questions)
    (volumes,) = (one for one in question.prepared.slips.applied if one.slip.key == "S01")
    steps = [question.prepared.plan.steps[index].target for index in [find.index for find in volumes.finds]]
    points = [point.number for point in question.points if {step.variable.name for step in point.steps} & set(steps)]
    assert len(points) > 1
    assert volumes.lost == {min(points)}


def test_water_added_to_a_portion_in_place_of_making_up_dilutes_too_far(bank: Bank, questions: Questions) -> None:
    # forward, the flask comes out weaker: 250 cm3 of water beside the 25.0 cm3; back from the flask, the bottle stronger
    forward = made("serial-dilution", bank, questions)
    (wrong,) = [one.exact for one in forward.mistakes.every() if [slip.key for slip in one.slips] == ["S80"]]
    flask, portion = given(forward, "made-up volume of second"), given(forward, "volume of aliquot in second")
    assert wrong == forward.worked.exact * flask / (flask + portion)
    back = made("diluted-cordial", bank, questions)
    (wrong,) = [one.exact for one in back.mistakes.every() if [slip.key for slip in one.slips] == ["S30"]]
    flask, portion = given(back, "made-up volume"), given(back, "volume of C6H8O7")
    assert wrong == back.worked.exact * (flask + portion) / flask
    assert "S30" not in keys_of(forward)
    assert "S80" not in keys_of(back)


def test_a_hundred_for_a_thousand_is_named_by_what_is_done_with_it(bank: Bank, questions: Questions) -> None:
    # an amount is c V / 1000, a concentration n x 1000 / V
    table = made("direct-one-to-two", bank, questions).prepared.slips
    found = {
        applied.slip.key: {table.plan.steps[index].target.kind for index in [find.index for find in applied.finds]}
        for applied in table.applied
        if applied.slip.key in ("S03", "S79")
    }
    assert found == {"S03": {"amount"}, "S79": {"concentration"}}


@pytest.mark.parametrize(
    ("key", "slip", "said", "other"),
    [
        ("direct-purity", "S46", "divided by the molar mass instead of multiplying", "S185"),  # grams from moles
        ("ester-constant", "S185", "multiplied by the molar mass instead of dividing", "S46"),  # moles from grams
        ("weak-acid-start-ph", "S142", "square root forgotten", "S186"),
        ("acid-constant-from-start", "S186", "concentration of hydrogen ions not squared", "S142"),
        ("equivalence-ph", "S143", "square root forgotten with a weak base", "S187"),
        ("acid-constant-from-equivalence", "S187", "concentration of hydroxide ions not squared", "S143"),
    ],
)
def test_a_mistake_is_called_by_what_was_done_in_the_direction_of_the_step(
    key: str, slip: str, said: str, other: str, bank: Bank, questions: Questions
) -> None:
    question = made(key, bank, questions)
    found = {one.key: one.name for each in question.mistakes.every() for one in each.slips}
    assert found[slip] == said
    assert other not in found
