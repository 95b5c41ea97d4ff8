"""A reaction that comes to equilibrium in a vessel, and the names of its quantities. Nothing is performed or solved here."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.chem.reaction import Reaction
from molewright.errors import Mistake
from molewright.experiment.quantities import FLASK, Name

CONSTANT = Name("equilibrium constant")

_EACH_SIDE = 2  # more would ask for roots that no whole numbers tell


@dataclass(frozen=True, slots=True, kw_only=True)
class Settle:
    """Let a reaction come to equilibrium. `followed` is the species of it that is titrated afterwards.

    As many particles stand on one side of it as on the other, each once, so that the volume cancels in its constant.
    """

    reaction: Reaction
    followed: str
    vessel: str = FLASK

    def __post_init__(self) -> None:
        sides = (self.reaction.left, self.reaction.right)
        if any(len(side) != _EACH_SIDE or any(one.coefficient != 1 for one in side) for side in sides):
            raise Mistake(
                f"the equilibrium {self.reaction}", expected="two species on each side, with no number in front of them"
            )
        if not self.reaction.has(self.followed):
            raise Mistake(f"{self.followed} is not in {self.reaction}", expected="a species of the equilibrium")

    @property
    def left(self) -> tuple[str, ...]:
        """Formulae of the left side."""
        return tuple(one.formula.text for one in self.reaction.left)

    @property
    def right(self) -> tuple[str, ...]:
        """Formulae of the right side."""
        return tuple(one.formula.text for one in self.reaction.right)

    @property
    def turned(self) -> Name:
        """The amount of what is followed that has reacted, or formed, by then."""
        stage = "used up" if self.followed in self.left else "newly formed"
        return Name("amount", self.followed, self.vessel, stage)

    @property
    def share(self) -> Name:
        """The percentage of what is followed that has reacted by then."""
        return Name("conversion", self.followed)

    def reached(self, species: str) -> Name:
        """The amount of a species once equilibrium is reached."""
        return Name("amount", species, self.vessel, "at equilibrium")
