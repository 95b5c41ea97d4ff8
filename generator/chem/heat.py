"""Two solutions that react in an insulated cup come in; the temperature at every volume added goes out. Knows no substance by name.

The cup keeps all the heat, and the mixture is taken for water, as in every school calculation of this kind. Floats that are
drawn as readings; nothing here is asked for or marked.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.errors import Mistake

# Water at 25 °C: 4.18 J g⁻¹ K⁻¹ (4.1816 in IAPWS-95; W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387). A dilute
# solution is taken to have the same, and 1.00 g to the cubic centimetre.
CAPACITY_J_PER_CM3_K = 4.18

# Heat given out in kJ for each mole of water formed. Strong acid with strong alkali: 55.8 at infinite dilution (D. D. Wagman et
# al., The NBS Tables of Chemical Thermodynamic Properties, J. Phys. Chem. Ref. Data 11 (1982) Supplement 2: H+ 0, OH- -230.0,
# H2O(l) -285.8), and 57 at the 1 mol dm⁻³ of a school experiment (common practice).
STRONG_KJ_PER_MOL = 57.0
# The same tables: CH3COOH(aq) -485.8, CH3COO- -486.0, NH3(aq) -80.3, NH4+ -132.5.
WEAK_KJ_PER_MOL = {"ethanoic acid": 56.1, "ammonium ion": 52.2}


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

    def rising(self, added_cm3: float) -> float:
        """The temperature while all that is added reacts."""
        return self._warmed(self.heat_kj * added_cm3 / self.end_cm3, added_cm3)

    def falling(self, added_cm3: float) -> float:
        """The temperature when all has reacted, and what is added is at the temperature of the start."""
        return self._warmed(self.heat_kj, added_cm3)

    def at(self, added_cm3: float) -> float:
        """The temperature after a volume was added."""
        return self.rising(added_cm3) if added_cm3 <= self.end_cm3 else self.falling(added_cm3)

    def _warmed(self, heat_kj: float, added_cm3: float) -> float:
        return self.start_c + 1000 * heat_kj / (CAPACITY_J_PER_CM3_K * (self.volume_cm3 + added_cm3))
