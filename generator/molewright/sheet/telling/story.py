"""A procedure that is being told: what was done before and comes after, what was just seen, and the sentences so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, Operation
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution
from molewright.nodes.inline import Amount, Chem, Inline, Line
from molewright.sheet.wording import Filling
from molewright.sheet.writer import Writer

Register = Literal["", "table", "note", "notebook"]
"""In what words it is told: "" are sentences, as are those of "table" but for a few; the others are jottings."""
JOTTED: tuple[Register, ...] = ("note", "notebook")


@dataclass(frozen=True, slots=True)
class Row:
    """A number that stands in a table and not in the sentences: what it is of, and how much."""

    of: Name
    what: Line
    amount: Amount


class Story:
    """What the sentences of a stem share while they are made, one operation after the other."""

    def __init__(self, writer: Writer, register: Register = "", titre_told: bool = False) -> None:
        """`titre_told`: the result of the last titration was told before all else."""
        self.writer = writer
        self.register = register
        self.titre_told = titre_told
        self.say = writer.say
        self.draw = writer.question.draw
        self.procedure = self.draw.variant.procedure
        self.operations = self.procedure.operations
        self.before: tuple[Operation, ...] = ()
        self.after: tuple[Operation, ...] = self.operations
        self.seen: Line = ()
        self.sentences: list[Line] = []
        self.remarks: list[Line] = []  # what a pupil is told of chemistry, beside jottings of what was done
        self.rows: list[Row] = []
        self.lacking: list[str] = []  # what there are no words for in this register
        self.named: set[str] = set()  # bottles that were named before
        graph = self.draw.archetype.graph  # the titration whose titre a pupil reads from it
        self.followed = self.procedure.titrations[-1] if graph else None

    def sentence(self, key: str, **slots: Filling) -> Line:
        """A sentence in the words of the register: jottings need their own, the others fall back on plain ones."""
        has = self.writer.words.has
        own = f"{key}, {self.register}" if self.register else key
        if not has(own) and self.register not in JOTTED:
            own = key
        if not has(own) and self.register:
            self.lacking.append(own)
            return ()
        return self.say(own, **slots)

    def tell(self, key: str, **slots: Filling) -> None:
        """Add a sentence."""
        line = self.sentence(key, **slots)
        if line:
            self.sentences.append(line)

    def remark(self, key: str, **slots: Filling) -> None:
        """Add a sentence about chemistry, which nobody would jot down."""
        if self.register in JOTTED:
            self.remarks.append(self.say(key, **slots))
        else:
            self.tell(key, **slots)

    def given(self, name: Name, row: str, /, **slots: Filling) -> Amount | None:
        """A printed quantity, for a sentence; None where it is hidden, or stands in the table, in a row that is called so."""
        amount = self.writer.numbers.given(name)
        if amount is None or self.register != "table":
            return amount
        self._row(name, self.say(row, **slots), amount)
        return None

    def _row(self, of: Name, what: Line, amount: Amount) -> None:
        if all(row.of != of for row in self.rows):  # the same volume may be measured again
            self.rows.append(Row(of, what, amount))

    def titration_of(self, vessel: str) -> str:
        """The name of the one titration that a vessel's contents are for, where several solutions are made up and titrated.

        "" where nothing is to be told apart by it.
        """
        vessels = {vessel, *(act.into for act in self.procedure.portions_of(vessel))}
        names = {one.name for one in self.procedure.titrations if one.vessel in vessels}
        apart = max(len(self.procedure.made_up), len(self.procedure.aliquots)) > 1
        return names.pop() if apart and len(names) == 1 else ""

    def in_portions(self, vessel: str) -> bool:
        """Whether a vessel holds one of several portions of what was made up before."""
        return any(isinstance(op, Aliquot) and op.into == vessel for op in self.before)

    def bottle(self, solution: Solution) -> Line:
        """A bottle as it is named the first time, and after that."""
        again = solution.name in self.named
        self.named.add(solution.name)
        bottles = self.writer.bottles
        if again:
            return bottles.called_again(solution)
        shown = self.register == "table" and not bottles.is_analysed(solution) and not solution.made_in
        if shown and self._strength_in_a_row(solution):
            return bottles.unnumbered(solution)  # without an article: nothing has spoken of it before
        return bottles.called(solution)

    def _strength_in_a_row(self, solution: Solution) -> bool:
        """Put a strength into the table, where it is told at all."""
        strength = self.writer.bottles.strength(solution)
        if strength is not None:
            of, key = quantities.concentration(solution.name), "row concentration"
            if self.writer.numbers.given(of) is None:
                of, key = quantities.mass_concentration(solution.name), "row mass concentration"
            self._row(of, self.say(key, bottle=self.writer.bottles.called(solution, strength=False)), strength)
        return strength is not None

    def tell_strength(self, solution: Solution) -> None:
        """Say how strong the analysed solution is, where that is not what is asked."""
        bottles = self.writer.bottles
        strength = bottles.strength(solution)
        if strength and solution.poured_as:
            named = self.writer.bank.name_of(solution.solute)
            self.tell("strength poured", bottle=solution.poured_as, strength=strength, solute=named)
            return
        if not strength or not bottles.is_analysed(solution):
            return
        sample, unnamed = self.writer.samples.name(), solution.solute in self.draw.variant.unknown
        tabled = self.register == "table" and self._strength_in_a_row(solution)
        if unnamed and not tabled:
            self.tell("strength unnamed", sample=sample, strength=strength)
        elif not unnamed:
            bottle = bottles.unnumbered(solution) if tabled else bottles.by_name(solution)
            self.tell("strength hidden" if tabled else "strength", sample=sample, bottle=bottle)

    def species(self, species: str) -> str | Inline:
        """A species by its name in the banks, or its formula where it has none."""
        found = self.writer.bank.substances.get(species)
        return found.name if found else Chem(species)

    @property
    def residue(self) -> str:
        """What of the material stays undissolved; "" where nothing does that matters to a volume."""
        material = self.draw.variant.material
        return material.residue if material else ""
