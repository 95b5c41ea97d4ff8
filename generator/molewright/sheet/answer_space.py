"""What has to be written comes in; the room that it is written in goes out, and with it how far a page may press or spread it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from molewright.derivation.worked import MarkPoint
from molewright.nodes.blocks import RULED_MM, Block, Cell, Part, QuestionBlock, Table, Together, Working
from molewright.nodes.inline import Text
from molewright.sheet.mixture_lines import together_lines
from molewright.sheet.worked_steps import molar_line
from molewright.sheet.writer import Writer

AnswerSpace = Literal["wide", "normal", "small", "none"]

LINE_MM = 9.0  # a line of working with a fraction in it, by hand (common practice: ruled lines are 8 to 9 mm apart)
_RULE_MM = 8.0  # of a line, what the answer rule keeps above itself
_LEAST_MM = 7.0  # so that 15 mm stay free above each rule
_NOTHING = (Text(""), Text(" "))


@dataclass(frozen=True, slots=True)
class _Measure:
    """How a kind of answer space is measured, in shares of what has to be written, and in mm."""

    share: float
    gives_way: float  # of that share: how far a page may press it
    least_mm: float


_MEASURES = {
    "wide": _Measure(1.6, 0.9, 12.0),
    "normal": _Measure(1.0, 0.7, _LEAST_MM),
    "small": _Measure(0.45, 0.7, 0.0),  # one line of working goes to the left of its answer rule
}
_GROWS = 1.7  # of what has to be written: how far a page may spread it


def lines_to_write(writer: Writer, points: Iterable[MarkPoint]) -> int:
    """How many lines of working these mark points take: one a step, one more for a molar mass that has to be added up first."""
    count = 0
    for point in points:
        for step in point.steps:
            molar = (
                step.relation is not None and step.relation.kind == "molar mass" and molar_line(writer, step.relation)
            )
            count += 1 + bool(molar) + len(together_lines(writer, step))
        count += not point.steps
    return count


def height_mm(lines: int) -> float:
    """The blank space above an answer rule for so many lines, the last of which stands by the rule itself."""
    return max(_LEAST_MM, LINE_MM * lines - _RULE_MM + _LEAST_MM)


def in_space(block: QuestionBlock, space: AnswerSpace) -> QuestionBlock:
    """A question with as much room for its answers as is asked for; with none it is answered on another sheet of paper."""
    parts = tuple(_part(part, space) for part in block.parts)
    if space != "none":
        return replace(block, parts=parts)
    stem = tuple(_without_rows_to_fill(one) for one in block.stem)
    return replace(block, parts=parts, stem=stem, total=False)  # its parts stand close together, each with its marks


def _without_rows_to_fill(block: Block) -> Block:
    """A table of readings without the rows that are for the pupil: nothing is written on this sheet."""
    if not isinstance(block, Table):
        return block
    kept = tuple(row for row in block.rows if any(_says_something(cell) for cell in row if not cell.head))
    return replace(block, rows=kept, keep_rows=frozenset()) if kept else block


def _says_something(cell: Cell) -> bool:
    return any(one not in _NOTHING for line in cell.lines for one in line)


def _part(part: Part, space: AnswerSpace) -> Part:
    return replace(part, blocks=tuple(made for block in part.blocks for made in _blocks(block, space)))


def _blocks(block: Block, space: AnswerSpace) -> tuple[Block, ...]:
    match block:
        case Working():
            return _working(block, space)
        case Part():
            return (_part(block, space),)
        case Together():
            return (Together(tuple(made for one in block.blocks for made in _blocks(one, space))),)
        case _:
            return (block,)


def _working(block: Working, space: AnswerSpace) -> tuple[Working, ...]:
    if space == "none":
        return ()
    measure = _MEASURES[space]
    if block.ruled:
        lines = max(1, round(block.height_mm / RULED_MM * measure.share))
        return (replace(block, height_mm=lines * RULED_MM),)
    if block.height_mm <= height_mm(1) and not measure.least_mm:
        return (replace(block, height_mm=0.0, most_mm=height_mm(1)),)
    least = min(block.height_mm, measure.least_mm)
    height = max(least, block.height_mm * measure.share)
    least = max(least, measure.gives_way * height)
    return (replace(block, height_mm=height, least_mm=least, most_mm=_GROWS * height + 4.0),)
