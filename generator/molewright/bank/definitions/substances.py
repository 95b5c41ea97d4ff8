"""Substances, their reactions, the materials they are sought in and their dangers come in; checked values go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from molewright.chem.half_equations import Halves
from molewright.chem.reaction import Reaction
from molewright.errors import Mistake


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """A substance: formula, name, what its solution is called, and what one of it gives in solution (count, species)."""

    formula: str
    name: str
    solution: str = ""
    gives: str = ""
    count: int = 1
    source: str = ""
    volatile: bool = False  # it escapes from its solution when that is boiled hard
    solvent: bool = False  # a liquid that brings nothing that reacts
    also_called: tuple[str, ...] = ()  # other names and formulae, by which it is found and which nothing prints

    @property
    def poured(self) -> str:
        """What it is called where it is poured: "sulfuric acid" for H2SO4, "potassium iodide" for KI."""
        return self.solution.removesuffix(" solution") or self.name

    @property
    def calls(self) -> tuple[str, ...]:
        """All that may stand for it in a procedure, its formula first."""
        return (self.formula, *filter(None, (self.name, self.solution)), *self.also_called)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReactionEntry:
    """A balanced equation, what is seen, and the indicators that serve if it is a titration."""

    reaction: Reaction
    seen: str = ""  # what happens, as the stem may tell it: "until no more gas was given off"
    indicators: tuple[str, ...] = ()
    source: str = ""
    halves: Halves | None = None  # where it is put together from two half-equations
    constant: str = ""  # what its equilibrium constant may be, as numbers of an archetype are written

    def reactants(self) -> tuple[str, ...]:
        """Formulae of the left side."""
        return tuple(member.formula.text for member in self.reaction.left)

    def state_of(self, reactant: str) -> str:
        """The state symbol of a reactant: s, l, g or aq; "" where it is none, or none is written."""
        return next((one.state for one in self.reaction.left if one.formula.text == reactant), "")


@dataclass(frozen=True, slots=True)
class Titrated:
    """What a titrant titrates: an equation for each, and what is to be said about it."""

    entries: tuple[ReactionEntry, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material that is analysed: the substance sought in it, its believable range of composition, and what not to do with it."""

    name: str
    noun: str  # "crushed limestone": what was weighed
    analyte: str
    low: Decimal
    high: Decimal
    indicators: tuple[str, ...]
    reagents: tuple[str, ...]  # reagents that dissolve it cleanly
    pieces: str = ""
    residue: str = ""
    source: str = ""
    solid: bool = True  # False for an oil, an ointment: none of it lies about as grains
    damp: bool = True  # False where it cannot be damp when it is weighed: a metal, an oil

    def __post_init__(self) -> None:
        if not 0 < self.low < self.high <= Decimal("99.9"):
            raise Mistake(f"the range {self.low} to {self.high} % of {self.name}", expected="0 < low < high <= 99.9")


Beside = Literal["", "acid", "alkali"]
BESIDE: tuple[Beside, ...] = ("acid", "alkali")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """What is said on the teacher's copy of a danger.

    Exactly one is set: `solute` of a solution, from `least` mol dm⁻³ upwards; `weighed`, a substance; `material`, which then speaks for
    what is in it; `freed`, a gas that a reaction gives off; `told`, words of an operation of which one is enough, with `beside`
    only where an acid or an alkali is there.
    """

    words: str
    source: str
    solute: str = ""
    least: Decimal = Decimal(0)
    weighed: str = ""
    material: str = ""
    freed: str = ""
    told: tuple[str, ...] = ()
    beside: Beside = ""

    @property
    def of(self) -> str:
        """What it speaks of."""
        if self.told:
            return " or ".join(f"'{one}'" for one in self.told) + (f" beside {self.beside}" if self.beside else "")
        weighed = f"{self.weighed} that is weighed" if self.weighed else ""
        freed = f"{self.freed} that is given off" if self.freed else ""
        return self.solute or weighed or self.material or freed
