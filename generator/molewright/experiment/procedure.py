"""What is done in the laboratory, as frozen operations in a chemist's words: the one vocabulary that all readers share.

A procedure holds structure only (what is weighed, what reacts, what is titrated); the numbers live beside it, by name.
The names are made here and nowhere else: "mass of limestone", "concentration of HCl", "amount of HCl left over in flask".
This module performs nothing, solves nothing and knows no file.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.chem.reaction import Reaction
from molewright.errors import Mistake, nearest, shortened

FLASK = "flask"
PORTION = "portion"


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Content:
    """A substance in a sample, and what one formula unit of it gives in solution ("FeSO4.7H2O" gives 1 "Fe^2+")."""

    substance: str
    species: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class Weigh:
    """Weigh a sample into a vessel. `pure`: its substances and nothing else. `pieces`: it is counted ("tablet").

    `elements` are those of the first substance that are counted by mass too ("N" of a fertiliser).
    """

    sample: str
    contents: tuple[Content, ...]
    vessel: str = FLASK
    pure: bool = False
    pieces: str = ""
    weighed: bool = True  # False where only the number of pieces is known
    elements: tuple[str, ...] = ()
    per_gram: bool = False  # its first substance is told in mg for each gram of the sample too
    rest: bool = False  # what is not its first substance, the impurities, is told too
    by_difference: bool = False  # the mass is told by two masses of the weighing bottle, before and after


@dataclass(frozen=True, slots=True)
class Dissolve:
    """Dissolve what is in the vessel; changes no amount."""

    vessel: str = FLASK
    solvent: str = "distilled water"


@dataclass(frozen=True, slots=True)
class Measure:
    """Measure a solution into a vessel with an apparatus; `excess` marks the reagent added in known excess.

    `others` are further solutes of the same bottle, each with a concentration of its own. `like` names a vessel into which the
    same volume of it was measured before.
    """

    solution: Solution
    vessel: str = FLASK
    apparatus: str = "pipette"
    excess: bool = False
    others: tuple[Solution, ...] = ()
    like: str = ""

    @property
    def volume(self) -> str:
        """The name of its volume."""
        return volume_measured(self.solution.name, self.like or self.vessel)


@dataclass(frozen=True, slots=True)
class Add:
    """Add what is there in plenty and never measured: an acid to acidify, a buffer, potassium iodide."""

    what: str
    vessel: str = FLASK


@dataclass(frozen=True, slots=True)
class Warm:
    """Warm what is in a vessel; changes no amount. `to` says how far: "about 60 °C"."""

    to: str
    vessel: str = FLASK


@dataclass(frozen=True, slots=True)
class React:
    """Let react to the end. `excess` is the species of which some is left over; "" where nothing is counted as left.

    `told`: by how much it is in excess is a quantity, where an experiment is planned and not titrated.
    """

    reactions: tuple[Reaction, ...]
    vessel: str = FLASK
    excess: str = ""
    told: bool = False


@dataclass(frozen=True, slots=True)
class Remove:
    """Boil off a gas or filter off a solid: the species leaves the vessel."""

    species: str
    vessel: str = FLASK
    by_boiling: bool = True


@dataclass(frozen=True, slots=True)
class Pass:
    """Drive a gas from one vessel into another."""

    species: str
    vessel: str
    into: str


@dataclass(frozen=True, slots=True)
class MakeUp:
    """Make up to the mark of a volumetric flask."""

    vessel: str = FLASK


@dataclass(frozen=True, slots=True)
class Aliquot:
    """Take an aliquot of a vessel's solution into another."""

    vessel: str = FLASK
    into: str = PORTION
    apparatus: str = "pipette"


@dataclass(frozen=True, slots=True)
class Titrate:
    """Titrate what is in a vessel to an end point; `name` tells several titrations apart ("" for the only one).

    `sought` is a species whose equation nobody knows yet: its reacting ratio is a quantity. `electrons` are those that one of
    the titrant takes up, where the electrons that one of `sought` gives are to be counted; `basicity`: an acid's protons are.
    With electrons, `element` is the one in `sought` whose oxidation state rises by them.
    """

    titrant: Solution
    reactions: tuple[Reaction, ...]
    vessel: str = PORTION
    indicator: str = ""
    name: str = ""
    sought: str = ""
    electrons: int = 0
    basicity: bool = False
    element: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """Something goes amiss in a vessel: of a species, so many times the amount are there afterwards. No archetype has it."""

    species: str
    times: Fraction
    vessel: str = PORTION


@dataclass(frozen=True, slots=True)
class Strength:
    """Tell the strength of a solution made in the procedure, where a standard solution is prepared and not titrated."""

    solution: Solution


Operation = (
    Weigh | Dissolve | Measure | Add | Warm | React | Remove | Pass | MakeUp | Aliquot | Titrate | Strength | Change
)


@dataclass(frozen=True, slots=True)
class Procedure:
    """The operations in order.

    `lasting` are the species that some reaction takes up: the only ones whose amounts anyone needs to follow. `shared` are the
    pairs of species and vessel that more than one bottle is measured for, so that an amount added is told by its bottle.
    """

    operations: tuple[Operation, ...]
    lasting: frozenset[str] = field(init=False, compare=False, repr=False)
    shared: frozenset[tuple[str, str]] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        taken_up = {
            member.formula.text
            for operation in self.operations
            if isinstance(operation, React | Titrate)
            for reaction in operation.reactions
            for member in reaction.left
        }
        taken_up |= {operation.sought for operation in self.titrations if operation.sought}
        object.__setattr__(self, "lasting", frozenset(taken_up))
        poured = {
            (one.species, operation.vessel, one.name)
            for operation in self.operations
            if isinstance(operation, Measure)
            for one in (operation.solution, *operation.others)
        }
        times = Counter((species, vessel) for species, vessel, _ in poured)
        object.__setattr__(self, "shared", frozenset(pair for pair, bottles in times.items() if bottles > 1))

    def added(self, solution: Solution, vessel: str) -> str:
        """The name of the amount that a bottle brings to a vessel: told by its bottle only where another brings the same."""
        shared = (solution.species, vessel) in self.shared
        return amount(solution.species, vessel, f"from {solution.name} added" if shared else "added")

    @property
    def in_excess(self) -> bool:
        """Whether something is in known excess: measured in, or made from what was measured in (iodine from iodate)."""
        return any(isinstance(operation, Measure | React) and bool(operation.excess) for operation in self.operations)

    @property
    def titrations(self) -> tuple[Titrate, ...]:
        """The titrations in order."""
        return tuple(operation for operation in self.operations if isinstance(operation, Titrate))

    def indicator(self, titration: Titrate, picked: str) -> str:
        """The indicator of a titration: its own, or the one picked for the last.

        What is titrated by the equation of the last titration, as a blank is, takes the last one's indicator: their titres are
        compared, so both must end at the same colour.
        """
        last = self.titrations[-1]
        same = (titration.titrant, titration.reactions) == (last.titrant, last.reactions)
        return titration.indicator or (picked if same else "")

    def solutions(self) -> Iterator[Solution]:
        """Every solution measured or titrated with, each once."""
        seen: set[str] = set()
        for operation in self.operations:
            match operation:
                case Measure(solution=solution, others=others):
                    found: tuple[Solution, ...] = (solution, *others)
                case Titrate(titrant=solution) | Strength(solution=solution):
                    found = (solution,)
                case _:
                    continue
            for one in found:
                if one.name not in seen:
                    seen.add(one.name)
                    yield one


# ------------------------------------------------------------------ names of quantities


def mass(sample: str) -> str:
    """Mass of a sample as weighed, in g."""
    return f"mass of {sample}"


def bottle_mass(sample: str, emptied: bool) -> str:
    """Mass of the weighing bottle before or after a sample was tipped out of it, in g."""
    return f"mass of bottle {'emptied of' if emptied else 'with'} {sample}"


def mass_within(substance: str, sample: str) -> str:
    """Mass of a substance in a sample, in g."""
    return f"mass of {substance} in {sample}"


def percentage(substance: str, sample: str) -> str:
    """Percentage by mass of a substance in a sample."""
    return f"percentage of {substance} in {sample}"


def impurity_mass(sample: str) -> str:
    """Mass of what is not the substance sought in a sample, in g."""
    return f"mass of impurities in {sample}"


def impurity(sample: str) -> str:
    """Percentage by mass of what is not the substance sought in a sample."""
    return f"percentage of impurities in {sample}"


def mass_each(substance: str, piece: str) -> str:
    """Mass of a substance in each piece, in g."""
    return f"mass of {substance} in each {piece}"


def mass_per_gram(substance: str, sample: str) -> str:
    """Mass of a substance for each gram of a sample, in mg g⁻¹."""
    return f"mass of {substance} for each gram of {sample}"


def pieces(piece: str) -> str:
    """Number of pieces (tablets)."""
    return f"number of {piece}s"


def molar_mass(substance: str) -> str:
    """Molar mass, in g mol⁻¹."""
    return f"molar mass of {substance}"


def water(substance: str) -> str:
    """Moles of water of crystallisation in a mole of a hydrate."""
    return f"water in {substance}"


def concentration(solution: str) -> str:
    """Concentration of a solution's solute, in mol dm⁻³."""
    return f"concentration of {solution}"


def mass_concentration(solution: str) -> str:
    """Mass concentration of a solution's solute, in g dm⁻³."""
    return f"mass concentration of {solution}"


def mass_in(volume_cm3: int, solution: str) -> str:
    """Mass of a solution's solute in some cm³ of it, in g."""
    return f"mass in {volume_cm3} cm3 of {solution}"


def volume_strength(solution: str) -> str:
    """Volumes of gas that one volume of a solution gives off."""
    return f"volume strength of {solution}"


MOLAR_VOLUME = "molar volume of gas"


def strengths(solution: Solution) -> tuple[str, ...]:
    """Every quantity that tells how strong a solution is."""
    within = (mass_in(solution.told_in_cm3, solution.name),) if solution.told_in_cm3 else ()
    volumes = (volume_strength(solution.name),) if solution.breakdown is not None else ()
    return (concentration(solution.name), mass_concentration(solution.name), *within, *volumes)


def gas_amount(solution: Solution) -> str:
    """Amount of gas from 1 dm³ of a solution, in mol."""
    return f"amount of {solution.gas} from 1 dm3 of {solution.name}"


def atomic_mass(symbol: str) -> str:
    """Relative atomic mass of an unknown element, by the letter that stands for it."""
    return f"relative atomic mass of {symbol}"


def found_ratio(titration: Titrate) -> str:
    """How many of what is sought go with one of the titrant; for a basicity the other way round."""
    titrant, sought = titration.titrant.species, titration.sought
    if titration.basicity:
        return f"basicity of {sought}"
    return f"electrons lost by each {sought}" if titration.electrons else f"reacting ratio of {sought} to {titrant}"


def oxidation_state(element: str, after: bool) -> str:
    """Oxidation state of an element before or after a titration that oxidises it."""
    return f"oxidation state of {element} {'after' if after else 'before'} the titration"


def electron_amount(titration: Titrate) -> str:
    """Amount of electrons that the titrant takes up, in mol."""
    return f"amount of electrons taken by {titration.titrant.species}"


def volume_measured(solution: str, vessel: str) -> str:
    """Volume of a solution measured into a vessel, in cm³."""
    return f"volume of {solution}" if vessel == FLASK else f"volume of {solution} in {vessel}"


def volume_made_up(vessel: str) -> str:
    """Volume to which a vessel's solution is made up, in cm³."""
    return "made-up volume" if vessel == FLASK else f"made-up volume of {vessel}"


def volume_held(vessel: str) -> str:
    """Volume of what several solutions make together in a vessel that is not made up, in cm³."""
    return f"total volume in {vessel}"


def volume_taken(vessel: str) -> str:
    """Volume of the aliquot taken into a vessel, in cm³."""
    return "volume of aliquot" if vessel == PORTION else f"volume of aliquot in {vessel}"


def titre(titration: Titrate) -> str:
    """The mean titre of a titration, in cm³."""
    return f"titre of {titration.titrant.name}" + (f", {titration.name}" if titration.name else "")


def titrant_amount(titration: Titrate) -> str:
    """Amount of titrant species delivered, in mol."""
    return f"amount of {titration.titrant.species} in titre" + (f", {titration.name}" if titration.name else "")


def amount(species: str, vessel: str, stage: str = "") -> str:
    """Amount of a species in a vessel, in mol; `stage` is "reacted", "left over" or "total"."""
    return f"amount of {species} {stage} in {vessel}" if stage else f"amount of {species} in {vessel}"


def excess_share(species: str) -> str:
    """By how much more than reacts a species is there, as a percentage of what reacts."""
    return f"excess of {species}"


def substance_amount(substance: str, sample: str) -> str:
    """Amount of a substance in a sample, in mol, where the species in solution is another."""
    return f"amount of {substance} in {sample}"


# ------------------------------------------------------------------ shared facts of a procedure


def parted(substance: str) -> tuple[str, int, str]:
    """The letter in a formula that stands for an unknown element, how many there are, and the rest: M2CO3 is M, 2, CO3.

    Raises Mistake for a formula that does not begin with such a letter.
    """
    found = _BEGINS_UNKNOWN.fullmatch(substance)
    if found is None:
        raise Mistake(f"the formula {substance} does not begin with one unknown element", expected="as M2CO3 or MCO3")
    return found["letter"], int(found["count"] or 1), found["rest"]


_BEGINS_UNKNOWN = re.compile(r"(?P<letter>[MX])(?P<count>[0-9]?)(?P<rest>[(A-Z].*|)")


def find_name(asked: str, names: tuple[str, ...]) -> str:
    """The quantity meant by a person's words: the name itself, or the only name that starts with them."""
    wanted = " ".join(asked.split())
    if wanted in names:
        return wanted
    folded = wanted.casefold()
    begun = [name for name in names if name.casefold() == folded] or [
        name for name in names if name.casefold().startswith(folded)
    ]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise Mistake(
            f"{shortened(wanted, 120)} could be {len(begun)} quantities", expected=f"one of: {', '.join(begun)}"
        )
    raise Mistake(
        f"no quantity {shortened(wanted, 120)} in this procedure",
        expected="a quantity of the procedure",
        near=nearest(wanted, names),
        do=f"Known here: {', '.join(names)}.",
    )
