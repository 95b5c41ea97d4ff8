"""A solution of a procedure, as a frozen value that tells what quantities say how strong it is. Nothing is measured or solved here."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.chem.reaction import Reaction
from molewright.experiment import quantities
from molewright.experiment.quantities import Name


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """A solution in a bottle, or one made during the procedure (`made_in` names its vessel).

    `solute` is what its concentration counts ("KMnO4"); dissolved, one of it gives `count` of `species` ("MnO4-").
    """

    name: str
    solute: str
    species: str
    count: int = 1
    made_in: str = ""
    gas: str = ""  # what it gives off where its strength is told in volumes of gas ("O2" from H2O2), by this reaction:
    breakdown: Reaction | None = None
    told_in_cm3: int = 0  # its strength is told as the mass in so much of it too: 100 cm³, a spoonful of 5 cm³
    called: str = ""  # what its strength is called, where it is a part of another's: "temporary hardness"
    poured_as: str = ""  # what is poured, where that is not the scene's sample as it came: "the boiled water"

    @property
    def strengths(self) -> tuple[Name, ...]:
        """Every quantity that tells how strong it is."""
        within = (quantities.mass_in(self.told_in_cm3, self.name),) if self.told_in_cm3 else ()
        volumes = (quantities.volume_strength(self.name),) if self.breakdown is not None else ()
        return (quantities.concentration(self.name), quantities.mass_concentration(self.name), *within, *volumes)

    @property
    def gas_amount(self) -> Name:
        """The name of the amount of gas that 1 dm³ of it gives off, in mol."""
        return Name("amount", self.gas, "", "from 1 dm³", source=self.name)
