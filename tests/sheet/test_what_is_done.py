"""Stems tell what a chemist would do: residues are filtered off, gases kept in, reagents put where they can be mixed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.experiment.procedure import Add, Measure, Pass, React
from molewright.render.text import render
from molewright.sheet.compose import Composer

Compose = Callable[..., Any]


def stem(compose: Compose, key: str) -> str:
    """The papers of a kind, told in sentences."""
    made = compose(key, "exam", "dm3").composer
    setting = replace(made.setting, tellings=("prose",) * len(made.setting.levels))
    paper = Composer(made.questions, made.bank, setting).question_paper()
    return re.sub(r"\s+", " ", render(paper).decode())


@pytest.mark.parametrize(
    ("key", "residue"), [("moss-treatment", "sand"), ("iron-ore", "undissolved rock"), ("manganese-dioxide", "")]
)
def test_what_stays_undissolved_is_filtered_off_before_the_mark(key: str, residue: str, compose: Compose) -> None:
    told = stem(compose, key)
    assert re.search(rf"filter[^.]*{residue}|the {residue}[^.]* filtered off", told), told


def test_what_dissolves_wholly_is_not_filtered(compose: Compose) -> None:
    assert "filter" not in stem(compose, "direct-purity")


def test_oxygen_is_fixed_in_a_closed_bottle(compose: Compose) -> None:
    told = stem(compose, "dissolved-oxygen")
    assert re.search(r"A stoppered bottle with a volume of \d{3} cm³ was filled to the brim", told)
    assert "beneath the surface" in told
    assert "volumetric flask" not in told


def test_a_large_volume_is_poured_from_the_flask_that_measured_it(compose: Compose) -> None:
    assert "measured with a volumetric flask, was poured into a large conical flask" in stem(compose, "pool-chlorine")


@pytest.mark.parametrize("key", ["acyl-chloride", "saponification", "back-whole", "nitrogen-absorbed"])
def test_what_is_titrated_or_fumes_is_not_weighed_into_a_beaker(key: str, compose: Compose) -> None:
    assert "weighed into a beaker" not in stem(compose, key)


def test_a_second_dilution_goes_into_a_second_flask(compose: Compose) -> None:
    told = stem(compose, "serial-dilution")
    assert "to a second volumetric flask" in told
    assert "conical" not in told
    assert "the concentration of the second solution" in told


def test_what_is_left_of_iodine_that_was_made_is_not_called_set_free(compose: Compose) -> None:
    told = stem(compose, "vitamin-by-iodate")
    assert re.search(r"(iodine [^.]*in each portion|each portion the iodine)[^.]* was titrated", told)
    assert "set free" not in told


def test_a_liquid_that_reacts_first_is_measured_into_a_beaker(compose: Compose) -> None:
    assert re.search(r"was transferred by pipette to a beaker\. .*excess", stem(compose, "back-suspension"))


def test_what_catches_a_gas_stands_ready_before_the_gas_is_set_free(bank: Bank) -> None:
    caught = 0
    for archetype in bank.archetypes.values():
        for variant in archetype.variants:
            done = variant.procedure.operations
            for passing in variant.procedure.every(Pass):
                ready = next(at for at, op in enumerate(done) if isinstance(op, Measure) and op.vessel == passing.into)
                freeing = [
                    at for at, op in enumerate(done) if isinstance(op, Add | React) and op.vessel == passing.vessel
                ]
                assert ready < min(freeing), archetype.key
                caught += 1
    assert caught


def test_what_sets_a_gas_free_is_added_to_the_sample_and_not_to_what_catches_the_gas(compose: Compose) -> None:
    assert re.search(
        r"second flask held .*dilute hydrochloric acid was added to the sample", stem(compose, "carbonate-by-its-gas")
    )
