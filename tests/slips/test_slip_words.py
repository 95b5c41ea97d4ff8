"""The words of slips stand for numbers: of the table of readings, and of the equation, each worked by hand."""

from __future__ import annotations

from collections import Counter
from difflib import get_close_matches
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.experiment.titres import Run
from molewright.question.check import Question, Questions
from shared.for_each import for_each


def run(initial: str, final: str, rough: bool = False) -> Run:
    return Run(Fraction(initial), Fraction(final), rough)


@pytest.fixture(scope="module")
def question(bank: Bank, questions: Questions) -> Question:
    return questions.make(bank.archetypes["direct-one-to-two"], Stream("words of slips"))


def test_the_means_that_a_pupil_may_take_are_those_on_paper(question: Question) -> None:
    # titres 25.50 (rough), 24.80, 25.20, 24.90: concordant are 24.80 and 24.90, mean 24.85
    runs = (run("0", "25.50", True), run("0.50", "25.30"), run("1.00", "26.20"), run("0", "24.90"))
    found = question.prepared.slips.surroundings.facts(runs)
    means = {word: number for word, number in found.items() if word.startswith("mean")}
    assert means == {
        "mean_with_rough": (Fraction("25.50") + Fraction("24.80") + Fraction("24.90")) / 3,
        "mean_accurate": (Fraction("24.80") + Fraction("25.20") + Fraction("24.90")) / 3,
        "mean_final": (Fraction("25.30") + Fraction("24.90")) / 2,
        "mean_tenths": Fraction("24.9"),  # half up
        "mean_whole": Fraction(25),
    }


@pytest.mark.parametrize(
    ("titre", "tenths", "whole"),
    [("24.45", "24.5", 24), ("24.50", "24.5", 25), ("24.40", "24.4", 24), ("24.55", "24.6", 25)],
)
def test_a_mean_is_rounded_half_up(question: Question, titre: str, tenths: str, whole: int) -> None:
    found = question.prepared.slips.surroundings.facts((run("0", titre), run("1.00", str(Fraction(titre) + 1))))
    assert (found["mean_tenths"], found["mean_whole"]) == (Fraction(tenths), whole)


def test_without_a_table_there_are_no_means(question: Question) -> None:
    assert not [word for word in question.prepared.slips.surroundings.facts(()) if word.startswith("mean")]


def test_the_largest_coefficient_and_subscript_are_those_of_the_equation(question: Question) -> None:
    (titration,) = question.draw.variant.procedure.titrations
    (reaction,) = titration.reactions
    found = question.prepared.slips.surroundings.facts(())
    assert found["coefficient"] == 2 == max(member.coefficient for member in reaction.left)  # one to two
    counted = {
        "H2SO4": 4,
        "H2C2O4": 4,
        "Na2CO3": 3,
        "Ba(OH)2": 2,
        "Ca(OH)2": 2,
        "NaOH": 1,
        "KOH": 1,
        "HCl": 1,
        "HNO3": 3,
    }
    assert found["subscript"] == counted[reaction.left[0].formula.text]


# Relative atomic masses to one place: N 14.0, O 16.0, H 1.0, Mg 24.3, S 32.1; the sums on paper.
WRONG_MASSES = {
    ("hydroxide-tablets-why", "Mg(OH)2"): {
        "molar_bracket": "41.3",
        "molar_numbers": "30",
    },  # 24.3 + 16.0 + 1.0; 12 + 2(8 + 1)
    ("back-ammonium-why", "(NH4)2SO4"): {"molar_bracket": "114.1", "molar_numbers": "70"},  # 14.0 + 4.0 + 32.1 + 64.0
    ("copper-crystals", "CuSO4.5H2O"): {  # 63.5 + 32.1 + 64.0; 29 + 16 + 4 x 8 + 5(2 + 8)
        "molar_anhydrous": "159.6",
        "molar_numbers": "127",
    },
    ("back-portions", "CaCO3"): {"molar_numbers": "50"},  # 20 + 6 + 3 x 8
    ("back-portions", "MgCO3"): {"molar_numbers": "42"},  # 12 + 6 + 24
}


WRONG_MASS_WORDS = ("molar_bracket", "molar_anhydrous", "molar_numbers")


@for_each(("key", "substance"), WRONG_MASSES)
def test_wrong_molar_masses_are_those_that_pupils_add_up(
    key: str, substance: str, bank: Bank, questions: Questions
) -> None:
    kind = bank.archetypes[key]
    wanted = {word: Fraction(mass) for word, mass in WRONG_MASSES[key, substance].items()}
    for number in range(60):
        made = questions.make(kind, Stream(f"masses/{number}"))
        found = made.prepared.slips.surroundings.constants
        if made.draw.variant.roles.get("analyte") == substance and wanted.keys() <= found.keys():
            assert {word: found[word] for word in WRONG_MASS_WORDS if word in found} == wanted
            return
    pytest.fail(f"{key} never asks for a mass of {substance}")


def test_every_slip_says_what_is_misunderstood_in_words_that_others_share_or_plainly_differ_from(bank: Bank) -> None:
    said = {slip.key: slip.misunderstood for slip in bank.slips}
    assert not [key for key, words in said.items() if not words]
    groups = Counter(said.values())
    assert 10 <= len(groups) <= 24  # few enough to plan lessons by: titrations, pH, equilibria and rates
    for words in groups:
        assert "; " not in words  # they are listed with it between them
        others = [other for other in groups if other != words]
        assert not get_close_matches(words, others, cutoff=0.8)  # one group that is spelt in two ways


@for_each(
    "key", ("calcium-and-magnesium", "iron-and-iron", "standardise-then-vinegar", "acid-and-its-salt", "two-carbonates")
)
def test_a_pipette_taken_for_a_burette_is_the_one_that_filled_the_flask_of_that_titration(
    key: str, bank: Bank, questions: Questions
) -> None:
    """c × V of each flask's own portion, worked from the printed numbers, stands where its amount of titrant should."""
    question = questions.make(bank.archetypes[key], Stream("own titre"))
    procedure = question.draw.variant.procedure
    table = question.prepared.slips
    wanted, found = {}, {}
    for titration in procedure.titrations:
        (filled,) = procedure.portion_volumes(titration.vessel)
        (strength,) = (
            pair for step in question.worked.steps
            if step.relation is not None and titration.titre in step.relation.names
            for pair in step.relation.names if pair.kind == "concentration"
        )  # fmt: skip
        kinds = {
            step.target: table.system.relations[step.relation].kind for step in table.plan.steps if not step.together
        }
        if kinds.get(titration.delivered) == "concentration":  # where it is found from its own strength and volume
            wanted[titration.delivered] = (strength, filled)
    for applied in table.applied:
        if applied.slip.key == "S05":
            course = table.course(applied, question.mistakes.right)
            target = table.plan.steps[applied.finds[0].index].target
            found[target] = course[target] == course[wanted[target][0]] * course[wanted[target][1]] / 1000
    assert found == dict.fromkeys(wanted, True)
    assert found


def test_where_a_bottle_is_titrated_no_pipette_is_there_to_be_mistaken(bank: Bank, questions: Questions) -> None:
    keys = [key for key in bank.archetypes if key.startswith("dissolved-oxygen")]
    assert keys
    for key in keys:
        slips = questions.make(bank.archetypes[key], Stream("no pipette")).prepared.slips.applied
        assert "S05" not in {applied.slip.key for applied in slips}
