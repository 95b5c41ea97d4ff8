"""What a page is made of, and the sheet that holds it: a closed set of frozen nodes. Knows no output and draws nothing.

A renderer must handle every member of Block and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from molewright.nodes.figures import Figure
from molewright.nodes.inline import Line


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
class Note:
    """A short note as somebody left it, in a frame of its own: a bold title and short lines below it, each with a dash."""

    title: Line
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table; `head` marks a row heading; `lines` are set one below the other."""

    lines: tuple[Line, ...]
    head: bool = False
    align: Literal["left", "centre", "right"] = "left"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A ruled table. `widths` are shares of the whole width; the heading row repeats on every page.

    Rows stay whole. `width` is the share of the column that the table takes (1.0 the whole).
    `keep_rows` holds back a break before a row whose index is in it (continuations of the row above).
    `groups` are the indices of rows that open a group: a heavier rule stands above them. `continued` stands above the heading
    row on every further page, for the eye only.
    """

    widths: tuple[float, ...]
    heading: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    width: float = 1.0
    whole: bool = True  # never split across pages if it fits on one
    summary: str = ""  # what it shows, for a screen reader
    keep_rows: frozenset[int] = frozenset()
    groups: frozenset[int] = frozenset()
    continued: Line = ()


RULED_MM = 8.0  # between ruled lines to write on (common practice: 8 to 9 mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """Space to work in, with a final answer rule followed by its unit.

    `height_mm` is blank space above; `ruled` draws lines RULED_MM apart in it instead of leaving it blank. Blank space may give way to
    `least_mm` or grow to `most_mm`, so that pages are filled; with `most_mm` 0 it stays as it is.
    With `rule_mm` 0 there is no answer rule. `label` stands before the rule ("x =").
    """

    height_mm: float
    least_mm: float = 0.0
    most_mm: float = 0.0
    rule_mm: float = 65.0
    unit: str = ""
    label: Line = ()
    ruled: bool = False

    @property
    def lines(self) -> int:
        """How many ruled lines its space holds."""
        return int(self.height_mm / RULED_MM + 0.01)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a question: label "(a)" at the left, its blocks, and its marks in brackets at the right of the demand.

    `demand` is the instruction; the marks stand at the right end of the last line of the demand.
    Never split: demand, blocks and working stay on one page. `label` "" is a question of one part. What earns no mark opens the
    part after it and stays with it, unless it stands `alone`, as a step that is worked out does.
    """

    label: str
    demand: Line
    blocks: tuple[Block, ...] = ()
    marks: int = 0
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that must stand on one page if one page can hold them."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
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
    total: bool = True  # whether what it is worth is told below it

    @property
    def closing(self) -> str:
        """The line below its last part: what the question is worth; "" where the marks beside its parts say it well enough."""
        if not self.total or [part.marks for part in self.parts if part.marks] == [self.marks]:
            return ""
        return f"Question {self.number}: {'1 mark' if self.marks == 1 else f'{self.marks} marks'} in all"


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontBlock:
    """The head of a paper: title, topic line, fields to fill in (Name, Class), marks, time, rules to follow.

    `above` is a line above the title (a school). A `cover` has a page to itself: its fields stand one below the other.
    """

    title: str
    subtitle: str
    fields: tuple[str, ...]
    filled: tuple[tuple[str, str], ...] = ()  # fields whose text is printed: ("Name", "Ilsa Quern")
    marks: str = ""
    time: str = ""
    points: tuple[Line, ...] = ()
    above: str = ""
    cover: bool = False


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows starts on a new page."""


@dataclass(frozen=True, slots=True)
class ClosingLine:
    """A centred bold line at the end: "That was the last question."."""

    text: str


@dataclass(frozen=True, slots=True)
class ElementSquare:
    """An element in the periodic table: its row (1 to 7, the two series below as 8 and 9), its column (1 to 18), symbol and mass.

    A square without a mass ("") is an element that has none, or says which series belongs there.
    """

    row: int
    column: int
    symbol: str
    mass: str


@dataclass(frozen=True, slots=True)
class ElementTable:
    """The periodic table with relative atomic masses. It stands on one page, which should be a wide one."""

    squares: tuple[ElementSquare, ...]
    summary: str = ""


Holder = Part | Together | QuestionBlock
"""What holds blocks itself."""
Block = (
    Heading
    | Paragraph
    | Items
    | Note
    | Table
    | Working
    | Holder
    | Figure
    | FrontBlock
    | NewPage
    | ClosingLine
    | ElementTable
)


LookName = Literal["usual", "large", "extra-large", "wide-set"]
"""How large and how openly a sheet is set: 18 pt, 24 pt, or wider letters and lines without italics."""
TintName = Literal["", "cream", "blue", "green", "pink", "grey"]
SheetKind = Literal["questions", "scheme", "marking", "worked", "answers", "key", "report", "data"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One printed document. `header` stands at the top of each page, `code` bottom left, page n of N bottom right."""

    title: str
    subject: str
    kind: SheetKind
    code: str
    blocks: tuple[Block, ...]
    header: str = ""
    version: str = ""
    language: str = "en-GB"
    wide: bool = False  # on a page that is wider than high
    look: LookName = "usual"
    tint: TintName = ""  # of the background, in forms that are read on a screen
    compact: bool = False  # set more closely, where little or nothing is written between the lines
    turn_over: bool = False  # "Turn over" at the foot of odd pages when more follows
    fillable: bool = False  # places to write on are fields to type in, in a form that can have them
    spoken: tuple[tuple[str, str], ...] = field(default=())  # words for abbreviations, for a screen reader
