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
    equivalents: int = 0  # protons or electrons that one formula unit stands for, where its normality is told
    by_mass: bool = False  # its density and the percentage by mass of its solute are told
    called: str = ""  # what its strength is called, where it is a part of another's: "temporary hardness"
    poured_as: str = ""  # what is poured, where that is not the scene's sample as it came: "the boiled water"

    @property
    def strengths(self) -> tuple[Name, ...]:
        """Every quantity that tells how strong it is."""
        within = (quantities.mass_in(self.told_in_cm3, self.name),) if self.told_in_cm3 else ()
        volumes = (quantities.volume_strength(self.name),) if self.breakdown is not None else ()
        normal = (quantities.normality(self.name),) if self.equivalents else ()
        shares = (quantities.percentage_by_mass(self.name),) if self.by_mass else ()
        plain = (quantities.concentration(self.name), quantities.mass_concentration(self.name))
        return (*plain, *within, *volumes, *normal, *shares)

    @property
    def gas_amount(self) -> Name:
        """The name of the amount of gas that 1 dm³ of it gives off, in mol."""
        return Name("amount", self.gas, "", "from 1 dm³", source=self.name)
