"""A gas whose volume is told, as an operation that knows the name of its volume. Nothing is performed or solved here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from molewright.experiment.quantities import FLASK, Name


@lru_cache(maxsize=256)
def gas_volume(gas: str, vessel: str, led_in: bool) -> Name:
    """Volume of a gas that a vessel gives off, or that is led into it, in cm³."""
    return Name("gas volume", gas, vessel, "led in" if led_in else "given off")


@dataclass(frozen=True, slots=True)
class GasVolume:
    """Measure a gas: one that a vessel gives off and that is caught, or one that is led into it."""

    species: str
    vessel: str = FLASK
    led_in: bool = False

    @property
    def volume(self) -> Name:
        """The name of its volume."""
        return gas_volume(self.species, self.vessel, self.led_in)
