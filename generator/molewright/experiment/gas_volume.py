"""A gas whose volume is told, as an operation that knows the name of its volume. Nothing is performed or solved here."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.experiment import quantities
from molewright.experiment.quantities import FLASK, Name


@dataclass(frozen=True, slots=True)
class GasVolume:
    """Measure a gas: one that a vessel gives off and that is caught, or one that is led into it."""

    species: str
    vessel: str = FLASK
    led_in: bool = False

    @property
    def volume(self) -> Name:
        """The name of its volume."""
        return quantities.gas_volume(self.species, self.vessel, self.led_in)
