"""Two solutions that react in an insulated cup come in; temperatures and corrected rises go out. Knows no substance by name.

The cup keeps all the heat, and the mixture is taken for water, as in every school calculation of this kind. Floats that are
drawn as readings; nothing here is asked for or marked.
"""

from __future__ import annotations

from dataclasses import dataclass

from molewright.errors import Mistake

# Water at 25 °C: 4.18 J g⁻¹ K⁻¹ (4.1816 in IAPWS-95; W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387). A dilute
# solution is taken to have the same, and 1.00 g to the cubic centimetre.
CAPACITY_J_PER_CM3_K = 4.18


@dataclass(frozen=True, slots=True)
class Cup:
    """What is in the cup at the start, in cm³ and °C, the volume added at which all has reacted, and the heat of that, in kJ."""

    volume_cm3: float
    start_c: float
    end_cm3: float
    heat_kj: float

    def __post_init__(self) -> None:
        if not (self.volume_cm3 > 0 and self.end_cm3 > 0):
            raise Mistake("a cup with nothing in it", expected="a volume above 0 and an end volume above 0")

    def at(self, added_cm3: float) -> float:
        """The temperature in °C after a volume was added, which is at the temperature of the start."""
        given_out_kj = self.heat_kj * min(1.0, added_cm3 / self.end_cm3)
        return self.start_c + 1000 * given_out_kj / (CAPACITY_J_PER_CM3_K * (self.volume_cm3 + added_cm3))

    def corrected(self, temperature_c: float, added_cm3: float) -> float:
        """The rise of a temperature over the start, as it would be if the same heat had warmed the volume of the start only.

        So corrected, the rise is proportional to the heat given out: a straight line up to the end volume, and level after it.
        """
        return (temperature_c - self.start_c) * (self.volume_cm3 + added_cm3) / self.volume_cm3

    @property
    def whole_rise_c(self) -> float:
        """The corrected rise when all has reacted."""
        return self.corrected(self.at(self.end_cm3), self.end_cm3)
