"""What is done in the laboratory, as frozen operations in a chemist's words: the one vocabulary that all readers share.

A procedure holds structure only (what is weighed, what reacts, what is titrated); the numbers live beside it, by the names of their
quantities. This module performs nothing, solves nothing and knows no file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TypeVar, cast

from molewright.chem.reaction import Reaction
from molewright.experiment import quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.quantities import FLASK, PORTION, Name
from molewright.experiment.saturating import Reading
from molewright.experiment.solution import Solution


@dataclass(frozen=True, slots=True)
class Content:
    """A substance in a sample, and what one formula unit of it gives in solution ("FeSO4.7H2O" gives 1 "Fe^2+")."""

    substance: str
    species: str
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
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
    brought_by: str = ""  # it is not weighed out but came with this: the water of "the hydrochloric acid"
    counted_as: str = ""  # what the mass of its first element, or else its first substance, is counted as: protein
    subscript: str = ""  # the formula of a salt of its two elements, with x for the number of the second: FeClx
    by_difference: bool = False  # the mass is told by two masses of the weighing bottle, before and after


@dataclass(frozen=True, slots=True)
class Dissolve:
    """Dissolve what is in the vessel; changes no amount."""

    vessel: str = FLASK
    solvent: str = "distilled water"


@dataclass(frozen=True, slots=True, kw_only=True)
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
    def volume(self) -> Name:
        """The name of its volume."""
        return quantities.volume_measured(self.solution.name, self.like or self.vessel)


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


@dataclass(frozen=True, slots=True, kw_only=True)
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

    @property
    def titre(self) -> Name:
        """The name of its mean titre."""
        return quantities.titre(self.titrant.name, self.name)

    @property
    def delivered(self) -> Name:
        """The name of the amount of titrant species delivered."""
        return quantities.titrant_amount(self.titrant.species, self.name)

    @property
    def found_ratio(self) -> Name:
        """How many of what is sought go with one of the titrant; for a basicity the other way round."""
        if self.basicity:
            return Name("basicity", self.sought)
        if self.electrons:
            return Name("electrons", self.sought)
        return Name("ratio", self.sought, source=self.titrant.species)

    @property
    def electrons_taken(self) -> Name:
        """The name of the amount of electrons that the titrant takes up, in mol."""
        return Name("amount", "e-", "", "electrons", source=self.titrant.species)


@dataclass(frozen=True, slots=True)
class Change:
    """Something goes amiss in a vessel: of a species, so many times the amount are there afterwards. No archetype has it."""

    species: str
    times: Fraction
    vessel: str = PORTION


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Tell that the strength of one solution is made up of two: the hardness of water of what boiling removes and what stays."""

    whole: Solution
    rest: Solution
    part: Solution


@dataclass(frozen=True, slots=True)
class Strength:
    """Tell the strength of a solution made in the procedure, where a standard solution is prepared and not titrated."""

    solution: Solution


Operation = (
    Weigh | Dissolve | Measure | Add | Warm | React | Settle | Remove | Pass | GasVolume | MakeUp | Aliquot | Titrate | Part
    | Reading | Strength | Change
)  # fmt: skip


def _taken_up(operations: Iterable[Operation]) -> set[str]:
    """The species that the reactions of some operations take up, and what is sought in a titration."""
    acts = [one for one in operations if isinstance(one, React | Titrate)]
    taken_up = {member.formula.text for act in acts for reaction in act.reactions for member in reaction.left}
    return taken_up | {act.sought for act in acts if isinstance(act, Titrate) and act.sought}


Done = TypeVar("Done", bound=Operation)


@dataclass(frozen=True, slots=True)
class Procedure:
    """The operations in order. `lasting` are the species that some reaction takes up: nobody needs to follow the amounts of others.

    `shared` are the pairs of species and vessel that more than one bottle is measured for: an amount added is told by its bottle.
    """

    operations: tuple[Operation, ...]
    lasting: frozenset[str] = field(init=False, compare=False, repr=False)
    shared: frozenset[tuple[str, str]] = field(init=False, compare=False, repr=False)
    _by_kind: dict[type, tuple[object, ...]] = field(init=False, compare=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        taken_up = _taken_up(self.operations) | {
            species for act in self.settling for species in (*act.left, *act.right)
        }
        metered = {act.species for act in self.every(GasVolume)}
        metered |= {one for operation in self.meters for one in operation.species}
        object.__setattr__(self, "lasting", frozenset(taken_up | metered))
        poured = {(one.species, act.vessel, one.name) for act in self.measures for one in (act.solution, *act.others)}
        times = Counter((species, vessel) for species, vessel, _ in poured)
        object.__setattr__(self, "shared", frozenset(pair for pair, bottles in times.items() if bottles > 1))

    def added(self, solution: Solution, vessel: str) -> Name:
        """The name of the amount that a bottle brings to a vessel: told by its bottle only where another brings the same."""
        shared = (solution.species, vessel) in self.shared
        return quantities.amount(solution.species, vessel, "added", solution.name if shared else "")

    @property
    def in_excess(self) -> bool:
        """Whether something is in known excess: measured in, or made from what was measured in (iodine from iodate)."""
        return bool(self.reagents) or any(act.excess for act in self.reacting)

    # ------------------------------------------------------------ what is done, kind by kind

    def every(self, kind: type[Done]) -> tuple[Done, ...]:
        """All operations of a kind, in order."""
        if (found := self._by_kind.get(kind)) is None:
            found = self._by_kind[kind] = tuple(one for one in self.operations if isinstance(one, kind))
        return cast(tuple[Done, ...], found)

    @property
    def weighings(self) -> tuple[Weigh, ...]:
        """Everything that is weighed, or only counted, in order."""
        return self.every(Weigh)

    @property
    def standards(self) -> tuple[Weigh, ...]:
        """The pure solids that are weighed, of one substance each."""
        return tuple(act for act in self.weighings if act.pure and act.weighed and len(act.contents) == 1)

    @property
    def contents(self) -> tuple[Content, ...]:
        """Every substance in what is weighed, sample by sample."""
        return tuple(content for act in self.weighings for content in act.contents)

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Every solution that is measured into a vessel, in order."""
        return self.every(Measure)

    @property
    def poured(self) -> tuple[Solution, ...]:
        """Every solute of every bottle that is measured from, as often as it is."""
        return tuple(one for act in self.measures for one in (act.solution, *act.others))

    @property
    def reagents(self) -> tuple[Measure, ...]:
        """The solutions of them that are there in known excess."""
        return tuple(act for act in self.measures if act.excess)

    @property
    def reacting(self) -> tuple[React, ...]:
        """What is let react to the end before anything is titrated, in order."""
        return self.every(React)

    def left_to_use(self, act: React) -> str:
        """The species of which some is left over and taken up later; "" where what was formed is used: iodine from iodide."""
        later = self.operations[next(at for at, one in enumerate(self.operations) if one is act) + 1 :]
        titrated = any(isinstance(one, Titrate) for one in later)
        return act.excess if act.excess in _taken_up(later) or not titrated else ""

    @property
    def settling(self) -> tuple[Settle, ...]:
        """What is let come to equilibrium, in order."""
        return self.every(Settle)

    @property
    def equations(self) -> tuple[Reaction, ...]:
        """The equations of what is let react, without those of the titrations."""
        return tuple(reaction for act in self.reacting for reaction in act.reactions)

    @property
    def made_up(self) -> tuple[MakeUp, ...]:
        """The vessels that are made up to the mark, in order."""
        return self.every(MakeUp)

    @property
    def aliquots(self) -> tuple[Aliquot, ...]:
        """The portions that are taken, in order."""
        return self.every(Aliquot)

    @property
    def meters(self) -> tuple[ReadPH, ...]:
        """The readings of a pH meter, in order."""
        return self.every(ReadPH)

    @property
    def titrations(self) -> tuple[Titrate, ...]:
        """The titrations in order."""
        return self.every(Titrate)

    # ------------------------------------------------------------ vessels

    def weighs_into(self, vessel: str) -> bool:
        """Whether a sample is weighed into a vessel, so that nothing can be done with it a second time."""
        return any(act.vessel == vessel for act in self.weighings)

    def portions_of(self, vessel: str) -> tuple[Aliquot, ...]:
        """The portions that are taken of a vessel's solution."""
        return tuple(act for act in self.aliquots if act.vessel == vessel)

    def portions_into(self, vessel: str) -> tuple[Aliquot, ...]:
        """The portions of other vessels that go into this one."""
        return tuple(act for act in self.aliquots if act.into == vessel)

    def poured_into(self, vessel: str) -> tuple[Measure, ...]:
        """The solutions that are measured into a vessel and are no reagent in excess."""
        return tuple(act for act in self.measures if act.vessel == vessel and not act.excess)

    def portion_volumes(self, vessel: str) -> tuple[Name, ...]:
        """The names of the volumes that are pipetted into a vessel, apart from a reagent in excess."""
        taken = (quantities.volume_taken(act.into) for act in self.portions_into(vessel))
        return (*taken, *(act.volume for act in self.poured_into(vessel)))

    @property
    def runs_on(self) -> bool:
        """Whether the last titration goes on, in the same flask, from the end point of one before it."""
        *earlier, last = self.titrations
        return any(one.vessel == last.vessel for one in earlier)

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
                case Part(whole=whole, rest=rest, part=part):
                    found = (whole, rest, part)
                case _:
                    continue
            for one in found:
                if one.name not in seen:
                    seen.add(one.name)
                    yield one
