"""What a stem says of the vessel that a sample goes into, and of a titration that can be done once only."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.sheet.compose import Composer, Setting


def paper_of(key: str, bank: Bank, questions: Questions, level: str = "exam") -> str:
    made = questions.make(bank.archetypes[key], Stream(f"vessels/{key}"))
    setting = Setting(
        title="Vessels",
        code="A-0000",
        levels=(level,),
        version="A",
        style="dm3",
        masses="one place",
        pupil="",
        fingerprint=bank.fingerprint,
    )
    text = renderer("text").render(Composer((made,), bank, setting).question_paper()).decode()
    return " ".join(text.split())


@pytest.mark.parametrize("key", ["nitrogen-absorbed", "saponification", "back-whole"])
def test_a_sample_that_is_titrated_or_distilled_where_it_is_goes_into_a_flask(
    key: str, bank: Bank, questions: Questions
) -> None:
    paper = paper_of(key, bank, questions)
    assert "into a flask" in paper
    assert "beaker" not in paper


def test_ammonia_caught_once_gives_one_titre_and_no_mean(bank: Bank, questions: Questions) -> None:
    paper = paper_of("nitrogen-absorbed", bank, questions)
    assert "concordant" not in paper
    assert "mean titre" not in paper


def test_a_sample_that_is_made_up_to_the_mark_goes_into_a_beaker(bank: Bank, questions: Questions) -> None:
    assert "beaker" in paper_of("back-portions", bank, questions)


@pytest.mark.parametrize("key", ["buffer-by-neutralisation-ph", "base-buffer-ph", "beyond-equivalence-ph"])
def test_the_picture_calls_what_is_mixed_in_a_conical_flask_a_flask_too(
    key: str, bank: Bank, questions: Questions
) -> None:
    paper = paper_of(key, bank, questions, "scaffolded")
    assert "conical flask" in paper
    assert "1. flask" in paper
    assert "beaker" not in paper


@pytest.mark.parametrize("key", ["ester-constant", "hydrolysis-constant"])
def test_water_that_came_with_the_acid_was_not_weighed_out(key: str, bank: Bank, questions: Questions) -> None:
    paper = paper_of(key, bank, questions, "scaffolded")
    assert "H₂O weighed out" not in paper
    assert "1 mol CH₃COOH comes from 1 mol CH₃COOH" not in paper
