"""The words of slips stand for numbers: of the table of readings, and of the equation, each worked by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.experiment.titres import Run
from molewright.question.check import Question, Questions


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
