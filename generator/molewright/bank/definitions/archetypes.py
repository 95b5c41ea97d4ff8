"""What a kind of question states comes in: its scenes, its variants and the further parts it asks for; frozen values go out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args, overload

from molewright.bank.definitions.choices import Ask, Choice, MayBe, Windows
from molewright.bank.definitions.substances import Material
from molewright.errors import Where
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name

Runs = Literal["table", "mean", "either"]
RUNS: tuple[Runs, ...] = get_args(Runs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """A heading of kinds of question: whether they are back titrations, and whether they are only asked for by name.

    `rests_on` are headings that are taught before it. A kind under another heading in which one of `reagents` titrates, or is added
    in excess, needs this one too.
    """

    name: str
    back: bool = False
    only_by_name: bool = False
    rests_on: tuple[str, ...] = ()
    reagents: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """A scene that a question is set in: for which materials or solutions, its opening, and what the sample is called in it."""

    key: str
    serves: tuple[str, ...]
    opening: str
    sample: str  # "the quarry stone"
    reserved: bool = False  # for archetypes that name it, and no others
    rules_out: tuple[str, ...] = ()  # formulae that an unknown substance cannot turn out to be in it
    words: tuple[str, ...] = ()  # a whole stem in somebody's own words, a paragraph each, its numbers named in braces
    task: str = ""  # what is demanded, in somebody's own words


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One form of an archetype with its roles filled: this material with this acid and this alkali."""

    roles: Mapping[str, str]
    procedure: Procedure
    choices: Mapping[Name, Choice]
    unknown: frozenset[str]
    contexts: tuple[Context, ...]
    indicators: tuple[str, ...]
    asks: tuple[Ask, ...]
    material: Material | None = None
    may_be: MayBe | None = None

    @property
    def fitted(self) -> Name:
        """The name of the number that bends to the titre's window."""
        return next(name for name, choice in self.choices.items() if choice.fit)


class Variants(Sequence[Variant]):
    """The variants of an archetype, read when the first is wanted: a paper needs few of the many that the banks hold."""

    def __init__(self, read: Callable[[], tuple[Variant, ...]]) -> None:
        self._read = read
        self._found: tuple[Variant, ...] | None = None

    def _all(self) -> tuple[Variant, ...]:
        if self._found is None:
            self._found = self._read()
        return self._found

    def __len__(self) -> int:
        return len(self._all())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Variants) and self._all() == other._all()

    def __hash__(self) -> int:
        return hash(len(self))

    @overload
    def __getitem__(self, index: int) -> Variant: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Variant]: ...

    def __getitem__(self, index: int | slice) -> Variant | Sequence[Variant]:
        return self._all()[index]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """How a reaction goes that is followed by quenched samples: its order, 0 to 2, and how many minutes lie between two samples.

    Where what is titrated is formed, `left` is the formula of what it is formed from and what is followed. `equal` names what has the
    same concentration all along; the order is that with respect to both together.
    """

    order: int
    minutes: tuple[int, ...]
    left: str = ""
    equal: str = ""

    @property
    def rises(self) -> bool:
        """Whether what is titrated is formed."""
        return bool(self.left)


@dataclass(frozen=True, slots=True, kw_only=True)
class Archetype:
    """A kind of question: title, topic, how demanding it is (1 to 9), its variants and windows, the further parts it asks for."""

    key: str
    title: str
    topic: str
    demand: int
    variants: Sequence[Variant]
    windows: Windows
    joined: frozenset[str] = frozenset()  # kinds of step that share a mark with the next
    runs: Runs = "either"
    source: str = ""
    further_parts: tuple[str, ...] = ()  # kinds of parts after the calculation, in order
    calculated: bool = (
        True  # whether the calculation itself is asked for; if not, the further parts are the whole question
    )
    stretch: tuple[str, ...] = ()  # kinds of parts of which one is added at the stretch level
    course: Course | None = None  # of a reaction that is followed by quenched samples
    stated: frozenset[Name] = frozenset()  # titres that somebody states as one number, and says of no runs
    where: Where | None = field(default=None, compare=False)  # where it is written

    @property
    def graph(self) -> str:
        """The kind of graph that the last titre is read from, or ""."""
        return next((kind for kind in self.further_parts if kind in GRAPHS), "")


FURTHER_PARTS = (
    "uncertainty",
    "combined uncertainty",
    "claim",
    "fault",
    "why back",
    "planning",
    "critique",
    "burette reading",
    "further run",
    "pH curve",
    "sketch",
    "indicator",
    "unsuitable indicator",
    "indicator forms",
    "thermometric graph",
    "conductometric graph",
    "why a graph",
    "why conductivity",
    "plan titre",
    "plan excess",
    "plan both",
    "describe",
    "describe portion",
    "describe titration",
    "colour change",
    "universal indicator",
    "reduce uncertainty",
    "class values",
    "method",
    "course",
    "why portions",
    "kept liquid",
    "step curve",
    "step constant",
    "step indicators",
    "weak with weak",
)
"""Kinds of further parts that an archetype may ask for."""

GRAPHS = ("thermometric graph", "conductometric graph", "step curve")
"""Those of them that read the titre off a graph, or each titre of a flask with several end points: no indicator and no burette table
then, and the stem does not tell the titre."""
