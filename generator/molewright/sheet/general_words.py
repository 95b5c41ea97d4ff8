"""A question comes in; a writer goes out that tells of it without its numbers, by what things are for: sample, reagent, titrant.

It is the writer of every sheet with three of its pieces exchanged, so that what a quantity is called and what the picture of the
experiment shows have one home each. A formula whose part in the experiment is not its own alone stays as it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.experiment import quantities
from molewright.experiment.procedure import Procedure, Weigh
from molewright.experiment.relations.variables import Variable
from molewright.experiment.solution import Solution
from molewright.nodes.inline import Chem, Inline, Line, Text
from molewright.question.check import Question
from molewright.sheet.bottles import Bottles
from molewright.sheet.names import Names
from molewright.sheet.samples import Samples
from molewright.sheet.wording import OwnWords, Words, joined
from molewright.sheet.writer import Writer


class GeneralWriter(Writer):
    """Writes of a question what holds for all questions of its kind."""

    def __init__(self, question: Question, bank: Bank, words: Words, style: UnitStyle = "dm3") -> None:
        super().__init__(replace(question, draw=replace(question.draw, given={})), bank, words, style)
        own = OwnWords(words, "")
        self.say = own.say
        self.bottles: Bottles = _Bottles(self.question, bank, own, self.numbers)
        self.samples: Samples = _Samples(self.question, bank, self.bottles)
        self.names: Names = _Names(self.question, own, self.numbers, self.bottles, self.samples)
        self._parts = dict(_parts(self.question))

    def general(self, line: Line, before_the_end: bool = False) -> Line:
        """A line with what a substance is for in place of its formula; what reacts `before_the_end` is no titrant yet."""
        pieces: list[Inline] = []
        for piece in line:
            part = self._parts.get(piece.formula) if isinstance(piece, Chem) else None
            pieces += (
                self.words.line(f"part {part}") if part and not (before_the_end and part == "titrant") else (piece,)
            )
        return joined(pieces)

    def called(self, variable: Variable, asked: bool) -> Line:
        """What a quantity is called, in general words; what is one atom or ion of an unknown keeps its letter."""
        told = self.names.the(variable, asked=asked)
        return told if variable.kind in ("electrons", "atomic mass") else self.general(told)


def _parts(question: Question) -> Iterator[tuple[str, str]]:
    """What each formula of an experiment is for, where nothing else in it is for the same."""
    holders: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    taken: set[str] = set()
    for part, holder, formulae in _held(question):
        own = formulae - taken
        taken |= formulae
        if own:
            holders[part][holder] |= own
    for part, held in holders.items():
        if len(held) == 1:
            yield from ((formula, part) for formula in next(iter(held.values())))


def _held(question: Question) -> Iterator[tuple[str, str, set[str]]]:
    """A part in the experiment, what plays it, and its formulae; what comes first goes before what comes later."""
    procedure, asked = question.draw.variant.procedure, question.worked.steps[-1].variable
    for act in procedure.titrations:
        yield "titrant", act.titrant.name, {act.titrant.solute, act.titrant.species}
    for measured in procedure.reagents:
        yield "reagent", measured.solution.name, {measured.solution.solute, measured.solution.species}
    for weighed in procedure.weighings:
        for element in weighed.elements:
            yield "element", element, {element}
        for content in weighed.contents if len(weighed.contents) == 1 else ():
            yield "sought" if content.substance == asked.subject else "weighed", content.substance, {content.substance}
            yield "ion", content.species, {content.species}
    for solution in procedure.poured:
        yield (
            "sought" if solution.solute == asked.subject else "dissolved",
            solution.name,
            {solution.solute, solution.species},
        )
    for step in question.worked.steps:
        if step.variable.stage == "formed":
            yield "formed", step.variable.subject, {step.variable.subject}


def _played(procedure: Procedure, solution: Solution) -> str:
    """The part that a solution plays: the titrant, the reagent in excess, or just a solution."""
    if any(act.titrant.name == solution.name for act in procedure.titrations):
        return "titrant"
    return "reagent in excess" if any(act.solution.name == solution.name for act in procedure.reagents) else "solution"


class _Bottles(Bottles):
    """Solutions by what they are for."""

    def called(self, solution: Solution, strength: bool = True) -> Line:
        return self.say(f"part {_played(self.question.draw.variant.procedure, solution)}")

    def called_again(self, solution: Solution) -> Line:
        return self.say("same bottle", bottle=plain(self.called(solution)).removeprefix("the "))

    def says_itself(self, solution: Solution) -> bool:
        return True


class _Samples(Samples):
    """Samples by what they are for."""

    def name(self) -> str:
        return "the sample"

    def noun(self, act: Weigh) -> str:
        return self.name() if self.of_the_scene(act) else "the pure solid"


class _Names(Names):
    """Quantities by what they are of; what all of a solution is in is told without its volume."""

    def flask(self, vessel: str) -> Inline | None:
        if quantities.volume_made_up(vessel) in self.question.system.variables:
            return Text("flask")
        procedure = self.question.draw.variant.procedure
        return Text("volume") if procedure.portions_of(vessel) else None


def plain(line: Line) -> str:
    """The plain words of a line."""
    return "".join(piece.text for piece in line if isinstance(piece, Text))
