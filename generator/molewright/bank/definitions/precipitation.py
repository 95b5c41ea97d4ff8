"""What shows the end of a titration by precipitation comes in, as the bank states it; values that check themselves go out."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.errors import Mistake


@dataclass(frozen=True, slots=True)
class Precipitant:
    """An ion that is titrated with, or titrated, by the solids that it makes; what an alkali makes of it."""

    ion: str
    in_alkali: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrecipitationIndicator:
    """An indicator that shows an ion in excess: the pH between which it does, or the acid that must be there in plenty.

    One that makes a coloured solid has its own ion, with its concentration in mol dm⁻³ at the end point and the pKa of the acid that it
    turns into; others are seen on the precipitate or in solution.
    """

    indicator: str
    shows: str
    source: str
    low: float | None = None
    high: float | None = None
    in_acid: str = ""  # what an acid does to it
    needs_acid: str = ""
    without_acid: str = ""
    ion: str = ""
    strength: float = 0.0
    pka: float = 0.0

    def __post_init__(self) -> None:
        if (self.low is None) == (not self.needs_acid):
            raise Mistake(f"{self.indicator} has a range of pH and an acid, or neither", expected="one of the two")
        if self.low is not None and self.high is not None and not 0 <= self.low < self.high <= 14:
            raise Mistake(f"{self.indicator} from pH {self.low} to {self.high}", expected="the lower pH first")
        if bool(self.ion) != (self.strength > 0):
            raise Mistake(
                f"the ion of {self.indicator} and its strength do not go together", expected="both or neither"
            )


PrecipitationEntry = Precipitant | PrecipitationIndicator
