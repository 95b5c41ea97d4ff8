"""Described experiments worked out with the built-in banks."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.derivation.plans import Plans
from molewright.derivation.worked import Worked
from molewright.reading.yaml_text import parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve
from shared.described import Work


@pytest.fixture(scope="session")
def work(bank: Bank) -> Work:
    """An experiment from its text, read and worked out."""
    chemicals, plans = chemicals_of(bank), Plans(bank.fingerprint, None)

    def one(text: str) -> tuple[Experiment, Worked]:
        experiment = build_experiment(parse_tree(text, "by hand"), chemicals)
        return experiment, solve(experiment, plans)

    return one
