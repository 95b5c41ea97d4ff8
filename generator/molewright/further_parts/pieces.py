"""What the further parts of a question are made of: frozen pieces of sentences and working, mark points, space to answer in.

A maker of further parts puts quantities, formulae and keys of wording together; the sheet turns them into lines in the unit style and
at the level of the paper. Nothing is worded, drawn or laid out here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Protocol, TypeAlias

from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit

if TYPE_CHECKING:
    from molewright.answer.equations import AskedEquation
    from molewright.bank.definitions import Bank
    from molewright.chem.conventions import Convention
    from molewright.chem.reaction import Reaction
    from molewright.derivation.plans import Plans
    from molewright.derivation.worked import Worked
    from molewright.draw.chosen import Draw
    from molewright.draw.stream import Stream
    from molewright.experiment.identity import Candidate
    from molewright.experiment.quantities import Name
    from molewright.experiment.relations.variables import Relation, System
    from molewright.plausibility.rules import Plausibility
    from molewright.slips.mistakes import Mistakes

FAULT = "fault"
"""The kind that asks for the effect of a fault: which one, a line of an order may fix."""
INDICATOR_CHOICE = "indicator"
"""The kind for which the stem must not name the indicator."""

_MM_A_LINE = 8.0  # as the sheets rule them
_LINES_A_MARK = 2

# ------------------------------------------------------------------ pieces of a sentence or of a line of working


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence of templates/wording.yaml by its key, with what fills its slots; `written`: the key is the sentence itself."""

    key: str
    slots: tuple[tuple[str, Piece], ...] = ()
    written: bool = False


@dataclass(frozen=True, slots=True)
class Chemical:
    """A formula: printed with its subscripts."""

    formula: str


@dataclass(frozen=True, slots=True)
class Named:
    """A quantity of the procedure by its name, as the question calls it: "the percentage by mass of CaCO₃ in the shell"."""

    name: Name


@dataclass(frozen=True, slots=True)
class Lettered:
    """A quantity of the procedure by its symbol: n(HCl, left over)."""

    name: Name


@dataclass(frozen=True, slots=True)
class Letter:
    """The letter of a constant, with its subscript: K with a."""

    letter: str
    subscript: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """A line of working: a relation solved for its target, with every other quantity as it is written, and what is found."""

    relation: Relation
    target: Name
    written: tuple[tuple[Name, Quantity], ...]
    found: Quantity
    rounded: Quantity | None = None  # the answer after it, where the line ends with one
    idle: bool = False  # a 1:1 step: the other quantity stands by its symbol
    bold: bool = True  # whether what is found stands out


@dataclass(frozen=True, slots=True)
class Bottle:
    """A solution of the procedure by its name, without its strength: "the sodium hydroxide solution"."""

    solution: str


@dataclass(frozen=True, slots=True)
class Sample:
    """What the sample is called in the scene: "the quarry stone"."""


@dataclass(frozen=True, slots=True)
class Strong:
    """A number or words in bold: the answer of a line."""

    piece: Quantity | str


@dataclass(frozen=True, slots=True)
class Quotient:
    """A fraction in a line of working; numbers, words and signs above and below."""

    top: tuple[Piece, ...]
    bottom: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Reckoning:
    """A line of working: numbers, symbols, fractions, and the signs = × + − ( ) as text of their own."""

    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Reacting:
    """An equation, printed with its state symbols unless they are to be found; with `blanks`, room for each of its numbers."""

    reaction: Reaction
    states: bool = True
    blanks: bool = False


Word: TypeAlias = "str | Quantity | Chemical | Named | Lettered | Letter | Unit | Bottle | Sample | Strong"
Piece: TypeAlias = "Word | Said | Solved | Quotient | Reckoning | Reacting | tuple[Piece, ...]"
"""A tuple of pieces is set one after the other; a unit is set in the paper's style: cm³ or mL."""


def said(key: str, /, **slots: Piece) -> Said:
    """A sentence with its slots filled; an underscore in a slot's name stands for a space."""
    return Said(key, tuple(slots.items()))


# ------------------------------------------------------------------ parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """A small table: heading, rows, shares of the width, what it shows (for a screen reader). An empty cell is for the pupil."""

    heading: tuple[Piece, ...]
    rows: tuple[tuple[Piece, ...], ...]
    widths: tuple[float, ...]
    summary: Said
    width: float = 0.9
    headed: bool = True  # whether the first cell of a row says what the row is


class Picture(Protocol):
    """The facts of a figure; the sheet finds who draws it by its kind (sheet/further_parts.py, DRAWN)."""

    @property
    def kind(self) -> str:
        """The key in DRAWN."""
        ...


Shown: TypeAlias = Said | Rows | Reckoning | Reacting | Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """Room to answer in: blank height, then a rule with its unit; `ruled` draws writing lines instead. `rule_mm` 0: no rule."""

    height_mm: float
    rule_mm: float = 0.0
    unit: Unit = Unit.NONE
    ruled: bool = False
    label: Piece = ""


def writing_lines(marks: int) -> Space:
    """Ruled lines for an answer in words: two a mark (common practice)."""
    return Space(height_mm=_MM_A_LINE * _LINES_A_MARK * marks, ruled=True)


def one_either_side(found: Quantity) -> tuple[Decimal, Decimal]:
    """The ends of what is accepted where the last figure may be one more or one less."""
    last = Decimal(1).scaleb(-found.places)
    return found.number - last, found.number + last


@dataclass(frozen=True, slots=True)
class FurtherPoint:
    """What earns one mark: the lines that earn it, what else to allow beside them, and the answer in short for key and record."""

    lines: tuple[Piece, ...]
    answer: str | Quantity | Reaction
    guidance: tuple[Said, ...] = ()
    worked: bool = True  # whether its lines stand in the worked solutions too, and not in the mark scheme alone

    @property
    def in_words(self) -> bool:
        """Whether it is answered in words, so that only the teacher can give its mark."""
        return isinstance(self.answer, str) and not self.answer.lstrip("−-")[:1].isdigit()


@dataclass(frozen=True, slots=True)
class FurtherWrongAnswer:
    """A common wrong answer of a part: as it would be written, the slips behind it (key, name), the marks of the part it keeps."""

    answer: Quantity
    slips: tuple[tuple[str, str], ...]
    marks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongEquation:
    """A common wrong equation: what is wrong in it, the marks of the part it keeps, and what the calculation then comes to.

    `leads_to` is None where the calculation does not use its ratio, or where the ratio is right all the same.
    """

    reaction: Reaction
    fault: str
    marks: int
    leads_to: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EquationPart:
    """What a part that asks for an equation is judged by, and the reactions that are not printed because of it.

    `uses` are the steps of the calculation that take their ratio from it: both amounts, and the species that each is of.
    """

    asked: AskedEquation
    hides: tuple[Reaction, ...]
    uses: tuple[tuple[Name, Name, str, str], ...] = ()
    wrong: tuple[WrongEquation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FurtherPart:
    """A further part of a question, printed after its calculation with the next letter; one mark a point.

    `answered` stands in mark scheme and worked solutions, there instead of `shown`: the sketch itself for its blank axes.
    With `first` the part stands before the calculation, which needs what it finds; in print its points are numbered before
    those of the calculation, whose own numbers do not change for that.
    """

    kind: str
    demand: Said
    points: tuple[FurtherPoint, ...]
    space: tuple[Space, ...] = ()
    shown: tuple[Shown, ...] = ()  # between the demand and the space
    hint: Said | None = None  # printed at the scaffolded level only
    accepted: tuple[Decimal, Decimal] | None = None  # of the part's last point, where that is a number
    unit: Unit = Unit.NONE
    wrong: tuple[FurtherWrongAnswer, ...] = ()
    explained: tuple[Piece, ...] = ()  # more lines for the worked solutions
    answered: tuple[Shown, ...] = ()
    first: bool = False
    candidates: tuple[Candidate, ...] = ()  # where an element or a substance is to be named: those that it may be
    exam: bool | None = None  # printed in exam style only, or below it only; None: at every level
    called: str = ""  # as a line of an order asks for it: the key of the fault, or the kind of a stretch part
    equation: EquationPart | None = None  # where an equation, or the ratio in it, is asked for
    reads: Name | None = None  # the quantity that is read here and used by the calculation; `accepted` stands for it

    @property
    def marks(self) -> int:
        """Marks of the part."""
        return len(self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """The checked calculation that further parts rest on, and the stream that makes their choices replay."""

    bank: Bank
    draw: Draw
    system: System
    worked: Worked
    mistakes: Mistakes
    given: Mapping[Name, Fraction]  # every known quantity in base units, molar masses too
    masses: Convention
    stream: Stream  # of the numbers of a part: each version has its own
    line: Stream  # of what is asked: all versions of a question share it
    plans: Plans
    plausibility: Plausibility


Maker: TypeAlias = Callable[[Calculation], tuple[FurtherPart, ...]]
"""Makes the parts of one kind. Raises draw.Refusal where these numbers make no good part: the question is then drawn again."""
