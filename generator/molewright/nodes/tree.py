"""The sheet as a tree: a closed set of frozen nodes, inline and block. Knows no output and draws nothing.

Inlines make lines of text; blocks make pages. A renderer must handle every member of Inline and of Block,
and nothing else. Text in nodes is plain: no markup of any kind, already cleaned of control characters.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from molewright.chem.quantity import Quantity

# ---------------------------------------------------------------- inlines


@dataclass(frozen=True, slots=True)
class Text:
    """Plain words. Breaks at spaces; U+00A0 never breaks. May hold Unicode sub- and superscripts (CaCO₃, dm⁻³)."""

    text: str
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit; never broken across lines."""

    quantity: Quantity
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Chem:
    """A chemical formula as typed in the banks ("CaCO3", "SO4^2-", "Na2CO3.10H2O"), with its state ("aq") if shown."""

    formula: str
    state: str = ""
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Term:
    """One side's member of an equation: coefficient (1 is not written), formula, state symbol ("" for none)."""

    coefficient: str
    formula: str
    state: str = ""


@dataclass(frozen=True, slots=True)
class Equation:
    """A balanced equation; breaks only before the arrow or a plus, and only if it must."""

    left: tuple[Term, ...]
    right: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A quantity symbol: italic letter, and what it belongs to in brackets, upright: n(NaOH), M(CaCO₃)."""

    letter: str
    of: str = ""  # a formula as typed ("NaOH") or "" for none
    note: str = ""  # upright words after the formula inside the bracket: "left over"
    subscript: str = ""  # upright subscript: M with subscript r


@dataclass(frozen=True, slots=True)
class Sign:
    """An operator between mathematical inlines: one of = × − + ≈ ( )."""

    sign: str


@dataclass(frozen=True, slots=True)
class Over:
    """A typeset fraction."""

    top: tuple[MathsItem, ...]
    bottom: tuple[MathsItem, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """A blank for the pupil to fill in: a dotted rule of this width, with a unit after it where one is printed."""

    width_mm: float = 22.0
    unit: str = ""


MathsItem = Text | Amount | Chem | Symbol | Sign | Over | Gap


@dataclass(frozen=True, slots=True)
class Maths:
    """A line of working. Breaks only before '=' and only if it must; fractions are real text."""

    items: tuple[MathsItem, ...]


Inline = Text | Amount | Chem | Equation | Symbol | Gap | Maths
Line = tuple[Inline, ...]

# ---------------------------------------------------------------- blocks


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading: level 1 the sheet's title, 2 a section, 3 below it. Kept with the block that follows."""

    level: Literal[1, 2, 3]
    line: Line


Tone = Literal["plain", "note", "caution", "lead", "centred"]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text. `note` is small, `caution` is small in a ruled frame, `lead` is bold, `centred` is centred."""

    line: Line
    tone: Tone = "plain"
    indent_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Items:
    """A list of short points with bullets."""

    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table; `head` marks a row heading; `lines` are set one below the other."""

    lines: tuple[Line, ...]
    head: bool = False
    align: Literal["left", "centre", "right"] = "left"


@dataclass(frozen=True, slots=True)
class Table:
    """A ruled table. `widths` are shares of the whole width; the heading row repeats on every page.

    Rows stay whole. `width` is the share of the column that the table takes (1.0 the whole).
    `keep_rows` holds back a break before a row whose index is in it (continuations of the row above).
    """

    widths: tuple[float, ...]
    heading: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    width: float = 1.0
    whole: bool = True  # never split across pages if it fits on one
    summary: str = ""  # what it shows, for a screen reader
    keep_rows: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Working:
    """Space to work in, with a final answer rule followed by its unit.

    `height_mm` is blank space above; `ruled` draws lines 8 mm apart in it instead of leaving it blank.
    With `rule_mm` 0 there is no answer rule. `label` stands before the rule ("x =").
    """

    height_mm: float
    rule_mm: float = 65.0
    unit: str = ""
    label: Line = ()
    ruled: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a question: label "(a)" at the left, its blocks, and its marks in brackets at the right of the demand.

    `demand` is the instruction; the marks stand at the right end of the last line of the demand.
    Never split: demand, blocks and working stay on one page. `label` "" is a question of one part.
    """

    label: str
    demand: Line
    blocks: tuple[Block, ...] = ()
    marks: int = 0


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that must stand on one page if one page can hold them."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class QuestionBlock:
    """A numbered question: stem kept with its first part, parts kept whole, the total line kept with the last part.

    If it must run over, it breaks between parts and `reminder` (the essential data) is repeated at the top.
    """

    number: int
    stem: tuple[Block, ...]
    parts: tuple[Part, ...]
    marks: int
    reminder: Line = ()
    bookmark: str = ""


@dataclass(frozen=True, slots=True)
class FlowBox:
    """One station of the experiment: what it is, and what is in it."""

    title: Line
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class FlowFigure:
    """What went where: boxes from left to right with words on the arrows between them (one arrow fewer than boxes)."""

    boxes: tuple[FlowBox, ...]
    arrows: tuple[Line, ...]
    alt: str = ""


@dataclass(frozen=True, slots=True)
class BarPiece:
    """A piece of a bar: its share (pieces add up to 1), what it is, and its amount. `hatched` tells pieces apart."""

    share: float
    label: Line
    hatched: bool = False


@dataclass(frozen=True, slots=True)
class BarFigure:
    """Total = reacted + left over, as a bar with the total above and the pieces below. Mono-safe."""

    total: Line
    pieces: tuple[BarPiece, ...]
    alt: str = ""


@dataclass(frozen=True, slots=True)
class BuretteView:
    """A burette seen close round the bottom of its meniscus: what stands above it, and where the meniscus is."""

    label: Line
    reading: Decimal


@dataclass(frozen=True, slots=True)
class BuretteFigure:
    """Burettes side by side, scale numbered downwards, a line for every tenth of `unit`.

    Without `alt` it is told by lines of the scale, so that whoever cannot see it reads it as the others do: the reading
    itself is never said.
    """

    views: tuple[BuretteView, ...]
    unit: str
    alt: str = ""


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis: what it shows, its unit ("" for none), its ends, the step of its numbers, and how often a step is divided."""

    name: Line
    unit: str
    low: Decimal
    high: Decimal
    step: Decimal
    divided: int = 1


@dataclass(frozen=True, slots=True)
class CurveMark:
    """A place to point out: a point with dashed lines to both axes, or with `to_y` the upright stretch from y to it."""

    x: float
    y: float
    label: Line
    to_y: float | None = None


@dataclass(frozen=True, slots=True)
class CurveBand:
    """A hatched strip across the figure between two values of y: the range of an indicator."""

    low: float
    high: float
    label: Line


@dataclass(frozen=True, slots=True)
class CurveFigure:
    """A curve on squared paper. Without points the axes are blank, to sketch on. Its points are drawn, never printed.

    `crosses` are readings, each drawn as a cross and told as it is written; `lines` are drawn beside them.
    """

    across: Axis
    up: Axis
    points: tuple[tuple[float, float], ...] = ()
    marks: tuple[CurveMark, ...] = ()
    bands: tuple[CurveBand, ...] = ()
    alt: str = ""
    crosses: tuple[tuple[Decimal, Decimal], ...] = ()
    lines: tuple[tuple[tuple[float, float], ...], ...] = ()


@dataclass(frozen=True, slots=True)
class CountRow:
    """One bar of a chart of counts: what was counted, and how often."""

    label: Line
    count: int


@dataclass(frozen=True, slots=True)
class CountChart:
    """How often each of several things was counted, as horizontal bars with the count at the end of each. Mono-safe."""

    rows: tuple[CountRow, ...]
    title: Line = ()
    alt: str = ""


@dataclass(frozen=True, slots=True)
class FrontBlock:
    """The head of a paper: title, topic line, fields to fill in (Name, Class), marks, time, rules to follow."""

    title: str
    subtitle: str
    fields: tuple[str, ...]
    filled: tuple[tuple[str, str], ...] = ()  # fields whose text is printed: ("Name", "Ilsa Quern")
    marks: str = ""
    time: str = ""
    points: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows starts on a new page."""


@dataclass(frozen=True, slots=True)
class ClosingLine:
    """A centred bold line at the end: "End of questions"."""

    text: str


Block = (
    Heading
    | Paragraph
    | Items
    | Table
    | Working
    | Part
    | Together
    | QuestionBlock
    | FlowFigure
    | BarFigure
    | CountChart
    | BuretteFigure
    | CurveFigure
    | FrontBlock
    | NewPage
    | ClosingLine
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed document. `header` stands at the top of each page, `code` bottom left, page n of N bottom right."""

    title: str
    subject: str
    kind: Literal["questions", "scheme", "worked", "key", "report"]
    code: str
    blocks: tuple[Block, ...]
    header: str = ""
    version: str = ""
    language: str = "en-GB"
    turn_over: bool = False  # "Turn over" at the foot of odd pages when more follows
    spoken: tuple[tuple[str, str], ...] = field(default=())  # words for abbreviations, for a screen reader
