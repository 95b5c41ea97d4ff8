"""A pH that is read with a meter, as an operation: in which vessel, and which acids and bases of it the pH rests on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadPH:
    """Read the pH of what is in a vessel with a meter.

    `acid` and `base` are species of the vessel: a weak acid and its base, or one of them; `family` is that weak acid with its
    proton ("NH4+" for NH4Cl and NH3), `ion` what its base is in water ("CH3COO-" of CH3COONa) and `pka` what the banks say of
    it. A strong one is `strong` and gives so many `protons`, below zero for hydroxide ions. `half`: as much acid is left as base
    was formed, because so much was taken.
    """

    vessel: str
    acid: str = ""
    base: str = ""
    family: str = ""
    ion: str = ""
    pka: float = 0.0
    strong: str = ""
    protons: int = 0
    half: bool = False

    @property
    def species(self) -> tuple[str, ...]:
        """What its pH rests on."""
        return tuple(one for one in (self.acid, self.base, self.strong) if one)
