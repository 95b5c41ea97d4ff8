"""What a stem says of the vessel that a sample goes into, and of a titration that can be done once only."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.sheet.compose import Composer, Setting


def paper_of(key: str, bank: Bank, questions: Questions) -> str:
    made = questions.make(bank.archetypes[key], Stream(f"vessels/{key}"))
    setting = Setting(
        title="Vessels",
        code="A-0000",
        levels=("exam",),
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
