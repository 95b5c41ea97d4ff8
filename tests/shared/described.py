"""What a described experiment is worked into, for the tests that describe some."""

from __future__ import annotations

from collections.abc import Callable

from molewright.bank.readers.described_experiment import Experiment
from molewright.derivation.worked import Worked

Work = Callable[[str], tuple[Experiment, Worked]]
"""From the text of an experiment: what is read, and how it is worked out."""
