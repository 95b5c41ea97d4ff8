"""A solution that was shaken with a solid until no more dissolved, as an operation: which ions it holds, from which solutes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from molewright.experiment.metering import ReadPH
from molewright.experiment.solution import Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class TellProduct:
    """Tell the solubility product of a salt by the strength of its saturated solution.

    `cations` of its `cation` and `anions` of its `anion` are in one formula unit. Another solute of the solution, `beside`, brings
    one of these ions too: so many `common` of them, which is `shared`.
    """

    solution: Solution
    cation: str
    anion: str
    cations: int = 1
    anions: int = 1
    beside: Solution | None = None
    common: int = 0
    shared: str = ""


Reading: TypeAlias = ReadPH | TellProduct
"""What is found out of a solution without a titration."""
