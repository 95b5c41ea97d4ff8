"""A procedure that is being told: what was done before and comes after, what was just seen, and the sentences so far."""

from __future__ import annotations

from molewright.experiment.procedure import Aliquot, Operation, Solution
from molewright.nodes.inline import Chem, Inline, Line
from molewright.sheet.wording import Filling
from molewright.sheet.writer import Writer


class Story:
    """What the sentences of a stem share while they are made, one operation after the other."""

    def __init__(self, writer: Writer) -> None:
        self.writer = writer
        self.say = writer.say
        self.draw = writer.question.draw
        self.procedure = self.draw.variant.procedure
        self.operations = self.procedure.operations
        self.before: tuple[Operation, ...] = ()
        self.after: tuple[Operation, ...] = self.operations
        self.seen: Line = ()
        self.sentences: list[Line] = []
        self.named: set[str] = set()  # bottles that were named before
        graph = self.draw.archetype.graph  # the titration whose titre a pupil reads from it
        self.followed = self.procedure.titrations[-1] if graph else None

    def tell(self, key: str, **slots: Filling) -> None:
        """Add a sentence."""
        self.sentences.append(self.say(key, **slots))

    def in_portions(self, vessel: str) -> bool:
        """Whether a vessel holds one of several portions of what was made up before."""
        return any(isinstance(op, Aliquot) and op.into == vessel for op in self.before)

    def bottle(self, solution: Solution) -> Line:
        """A bottle as it is named the first time, and after that."""
        again = solution.name in self.named
        self.named.add(solution.name)
        return self.writer.bottles.called_again(solution) if again else self.writer.bottles.called(solution)

    def tell_strength(self, solution: Solution) -> None:
        """Say how strong the analysed solution is, where that is not what is asked."""
        bottles = self.writer.bottles
        strength = bottles.strength(solution)
        if not strength or not bottles.is_analysed(solution):
            return
        if solution.solute in self.draw.variant.unknown:
            self.tell("strength unnamed", sample=self.writer.samples.name(), strength=strength)
        else:
            self.tell("strength", sample=self.writer.samples.name(), bottle=bottles.by_name(solution))

    def species(self, species: str) -> str | Inline:
        """A species by its name in the banks, or its formula where it has none."""
        found = self.writer.bank.substances.get(species)
        return found.name if found else Chem(species)

    @property
    def residue(self) -> str:
        """What of the material stays undissolved; "" where nothing does that matters to a volume."""
        material = self.draw.variant.material
        return material.residue if material else ""
