"""What a printed question is marked against, as frozen values: points, chain, answer and its range, slips. Reads nothing.

Known and exact values are in base units, the answer, its range and what slips give in the unit that was printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.answer.accepted import Accepted, AnswerType
from molewright.answer.equations import AskedEquation
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.experiment.identity import Candidate
from molewright.experiment.relations.variables import BareRelation


@dataclass(frozen=True, slots=True)
class Point:
    """A mark point: its number, the part it stands in, and what it finds last (a name, the titre's for the mean)."""

    number: int
    part: str
    finds: str
    mean: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step of the chain; no relation where several are solved together.

    `also` is right too: what it comes to without an approximation that the chain makes.
    """

    finds: str
    unit: Unit
    exact: Fraction
    relation: BareRelation[str] | None
    also: Fraction | None = None

    @property
    def rests_on(self) -> tuple[str, ...]:
        """The quantities that it is worked from, as far as one relation tells."""
        return tuple(name for name in self.relation.names if name != self.finds) if self.relation else ()

    @property
    def idle(self) -> bool:
        """Whether the same number is carried over: nobody rounds there."""
        tied = self.relation
        return tied is not None and tied.form == "product" and tied.factor == 1 and len(tied.quantities) == 2


@dataclass(frozen=True, slots=True)
class Slips:
    """What one slip gives, or two together, in the unit of the answer, and the mark points that it loses."""

    keys: tuple[str, ...]
    gives: Fraction
    loses: frozenset[int]
    marks: int
    nearly: float = field(init=False, repr=False, compare=False)  # what they give, to be looked for quickly

    def __post_init__(self) -> None:
        object.__setattr__(self, "nearly", float(self.gives))


@dataclass(frozen=True, slots=True)
class RatioUse:
    """A step that takes its ratio from an equation: two amounts, and the species that each is of."""

    first: str
    second: str
    of: str
    per: str


@dataclass(frozen=True, slots=True)
class PrintedEquation:
    """An equation that a part asks for, and the steps of the calculation that use its ratio."""

    asked: AskedEquation
    uses: tuple[RatioUse, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """A part after the calculation: its type, the marks that its answer earns, and the numbers accepted (none for words).

    `words` are further marks for words, on top, which only the teacher can give. `candidates` are those that an element or
    a substance asked for may be; `name` is the right one as the key tells it. `wrong` are the listed wrong answers.
    """

    part: str
    type: AnswerType
    marks: int
    unit: Unit
    accepted: Accepted | None
    words: int = 0
    candidates: tuple[Candidate, ...] = ()
    name: str = ""
    reads: str = ""  # the known quantity that its accepted numbers stand for, where it is read from a graph
    wrong: tuple[Slips, ...] = ()
    equation: PrintedEquation | None = None

    @property
    def judged(self) -> bool:
        """Whether its answer can be judged: a number, a name, or an equation."""
        return self.accepted is not None or bool(self.candidates) or self.equation is not None

    @property
    def teachers(self) -> int:
        """The marks that only the teacher can give: those for words, or all of them."""
        return self.words if self.judged else self.marks

    @property
    def in_all(self) -> int:
        """All its marks."""
        return self.marks + self.words

    @property
    def told(self) -> str:
        """The accepted answers as they are written: "2.06 to 3.08 g", "sodium (Na)", an equation."""
        if self.equation is not None:
            return self.equation.asked.told
        if self.accepted is None:
            return self.name
        low, high = self.accepted.low, self.accepted.high
        if low.number == high.number:
            return str(low)
        return f"{low.number_text} to {high}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedQuestion:
    """One printed question as it can be marked."""

    number: int
    archetype: str
    topic: str
    context: str
    level: str
    asked: str
    titre: str
    points: tuple[Point, ...]
    known: Mapping[str, Fraction]
    chain: tuple[Step, ...]
    accepted: Accepted
    slips: tuple[Slips, ...]
    further: tuple[Further, ...] = ()
    before: int = 0  # marks of parts before the calculation: its first point is printed with the number after them

    @property
    def marks(self) -> int:
        """All its marks: one for each point, and those of further parts, also those that only the teacher can give."""
        return len(self.points) + sum(part.in_all for part in self.further)

    @property
    def naming(self) -> Further | None:
        """The part that asks for an element or a substance, if there is one."""
        return next((part for part in self.further if part.candidates), None)

    @property
    def parts(self) -> tuple[str, ...]:
        """The labels of its parts in order, "" for a question of one part."""
        return tuple(dict.fromkeys([point.part for point in self.points] + [part.part for part in self.further]))

    @property
    def answer(self) -> Quantity:
        """The right answer as it is printed."""
        return self.accepted.answer

    def unit_of(self, point: Point) -> Unit:
        """The unit that a point's answer is printed in."""
        if point is self.points[-1]:
            return self.answer.unit
        return next(
            (step.unit for step in self.chain if step.finds == point.finds), Unit.CM3 if point.mean else Unit.NONE
        )


@dataclass(frozen=True, slots=True)
class PrintedPaper:
    """One version of a paper."""

    code: str
    version: str
    title: str
    questions: tuple[PrintedQuestion, ...]

    @property
    def marks(self) -> int:
        """Marks of the whole paper."""
        return sum(question.marks for question in self.questions)


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipFacts:
    """What is said of a slip: its name, how common it is, one line for the pupil, what to practise, and what is misunderstood in it."""

    name: str
    often: str = "medium"
    near: bool = False
    first: bool = False  # named before any other that gives the same number
    feedback: str = ""
    practice: str = ""
    misunderstood: str = ""
