"""A sheet comes in; plain text of at most 78 columns goes out, for terminals and screen readers. Never markup.

Formulae are real Unicode (CaCO₃), fractions are written on the line, tables stand in columns with upright bars.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from molewright.machine.collector import resting
from molewright.nodes.blocks import (
    RULED_MM,
    Block,
    ClosingLine,
    ElementTable,
    FrontBlock,
    Heading,
    Holder,
    Items,
    NewPage,
    Note,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    Together,
    Working,
)
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, Figure, FlowFigure
from molewright.nodes.inline import Line
from molewright.render.text.figures import burettes, curve
from molewright.render.text.lines import COLUMNS, hung, plain_line, pushed_right, shown_width, with_at_right, wrapped
from molewright.render.text.tables import bar, counts, elements, flow, table

SUFFIX = ".txt"
_HANG = 5  # columns for a question's number or a part's label
_MM_A_COLUMN = 2.2  # what one column of type takes on paper, for the length of an answer rule


@resting()
def render(sheet: Sheet) -> bytes:
    """The whole sheet as UTF-8 text with a newline at the end; equal sheets give equal bytes."""
    lines = wrapped(sheet.header, COLUMNS)
    if sheet.version:
        lines = with_at_right(lines, sheet.version, COLUMNS)
    if not any(isinstance(block, FrontBlock | Heading) for block in _first(sheet)):
        lines = _apart([lines, wrapped(sheet.title, COLUMNS)])
    lines = _apart([lines, *(_block(block, COLUMNS) for block in sheet.blocks), _abbreviations(sheet.spoken)])
    if sheet.code:
        lines += ["", "-" * COLUMNS, *wrapped(sheet.code, COLUMNS)]
    return ("\n".join(line.rstrip() for line in lines) + "\n").encode()


def require_text(text: str) -> None:
    """Plain text shows every letter; whoever opens it joins and orders them."""


def _first(sheet: Sheet) -> tuple[Block, ...]:
    """What may carry the printed title: the first blocks, and what is kept with them."""
    found: list[Block] = []
    for block in sheet.blocks[:2]:
        found.extend(block.blocks if isinstance(block, Together) else (block,))
    return tuple(found)


def _abbreviations(spoken: Sequence[tuple[str, str]]) -> list[str]:
    """The words for abbreviations, as a list at the end: text has no other place to keep them."""
    if not spoken:
        return []
    lines = ["Abbreviations"]
    for short, words in spoken:
        lines += hung(f"{short}:", words, COLUMNS, hang=max(_HANG, shown_width(short) + 2))
    return lines


def _apart(blocks: Sequence[list[str]]) -> list[str]:
    """Blocks with one empty line between them; empty blocks leave none."""
    lines: list[str] = []
    for block in blocks:
        if block:
            lines += ([""] if lines else []) + block
    return lines


def _indented(lines: Sequence[str], by: int) -> list[str]:
    return [" " * by + line if line else "" for line in lines]


def _block(node: Block, width: int) -> list[str]:
    match node:
        case Heading():
            return _heading(node, width)
        case Paragraph():
            return _paragraph(node, width)
        case Items() | Note():
            return _points(node.lines, "•", width) if isinstance(node, Items) else _note(node, width)
        case Table():
            return table(node, width)
        case Working():
            return _working(node, width)
        case Part() | Together() | QuestionBlock():
            return _holder(node, width)
        case FlowFigure() | BarFigure() | CountChart() | BuretteFigure() | CurveFigure():
            return _figure(node, width)
        case FrontBlock():
            return _front(node, width)
        case ElementTable():
            return elements(node, width)
        case NewPage():
            return ["-" * width]
        case ClosingLine():
            return [line.center(width).rstrip() for line in wrapped(node.text, width)]
        case _:
            assert_never(node)


def _holder(node: Holder, width: int) -> list[str]:
    match node:
        case Part():
            return _part(node, width)
        case Together():
            return _apart([_block(block, width) for block in node.blocks])
        case QuestionBlock():
            return _question(node, width)
        case _:
            assert_never(node)


def _figure(node: Figure, width: int) -> list[str]:
    match node:
        case FlowFigure():
            return flow(node, width)
        case BarFigure():
            return bar(node, width)
        case CountChart():
            return counts(node, width)
        case BuretteFigure():
            return burettes(node, width)
        case CurveFigure():
            return curve(node, width)
        case _:
            assert_never(node)


def _heading(node: Heading, width: int) -> list[str]:
    lines = wrapped(plain_line(node.line), width)
    if node.level == 3 or not lines:
        return lines
    rule = "=" if node.level == 1 else "-"
    return [*lines, rule * max(map(shown_width, lines))]


def _paragraph(node: Paragraph, width: int) -> list[str]:
    indent = min(round(node.indent_mm / _MM_A_COLUMN), width // 2)
    words = plain_line(node.line)
    if node.tone == "caution":
        said = words if words.casefold().startswith("caution") else f"Caution: {words}"
        return _indented(wrapped(said, width - indent), indent)
    lines = wrapped(words, width - indent)
    if node.tone == "centred":
        return [line.center(width).rstrip() for line in lines]
    return _indented(lines, indent)


def _note(node: Note, width: int) -> list[str]:
    """An upright bar at the left stands for the frame."""
    lines = [*wrapped(plain_line(node.title), width - 2), *_points(node.lines, "–", width - 2)]
    return [f"| {line}" for line in lines]


def _points(points: Sequence[Line], sign: str, width: int) -> list[str]:
    return [line for point in points for line in hung(sign, plain_line(point), width, hang=2)]


def _dots(millimetres: float, most: int) -> str:
    return "." * max(3, min(round(millimetres / _MM_A_COLUMN), most))


def _working(node: Working, width: int) -> list[str]:
    rows = round(node.height_mm / RULED_MM)
    lines = ["_" * width if node.ruled else ""] * rows
    if node.rule_mm > 0:
        unit = f"\N{NO-BREAK SPACE}{node.unit}" if node.unit else ""
        label = plain_line(node.label)
        answer = f"{label} {_dots(node.rule_mm, width // 2)}{unit}".strip()
        lines += pushed_right(answer, width)
    return lines


def _marks(count: int) -> str:
    return f"{count} mark" if count == 1 else f"{count} marks"


def _part(node: Part, width: int, label: str | None = None) -> list[str]:
    name = node.label if label is None else label
    demand = plain_line(node.demand)
    inner = width - _HANG if name else width
    lines = wrapped(demand, inner)
    if node.marks:
        lines = with_at_right(lines, f"[{_marks(node.marks)}]", inner)
    lines = _apart([lines, *(_block(block, inner) for block in node.blocks)])
    return _labelled(name, lines) if name else lines


def _labelled(label: str, lines: list[str]) -> list[str]:
    """A label in the margin of the first line."""
    if shown_width(label) >= _HANG:
        return [label, *_indented(lines, _HANG)]
    first, *rest = lines or [""]
    return [f"{label:<{_HANG}}{first}".rstrip(), *_indented(rest, _HANG)]


def _question(node: QuestionBlock, width: int) -> list[str]:
    number = str(node.number)
    parts = list(node.parts)
    first = [number]
    if node.stem:
        first = _labelled(number, _apart([_block(block, width - _HANG) for block in node.stem]))
    elif parts and not parts[0].label:  # a question of one part: its number stands where the label would
        first = _part(parts.pop(0), width, number)
    lines = _apart([first, *(_indented(_part(part, width - _HANG), _HANG) for part in parts)])
    if node.marks and node.closing:
        total = pushed_right(node.closing, width)
        lines = _apart([lines, total])
    return lines


def _front(node: FrontBlock, width: int) -> list[str]:
    lines = wrapped(node.title, width)
    lines += ["=" * max(map(shown_width, lines), default=0)] if lines else []
    printed = dict(node.filled)
    blank = [name for name in node.fields if name not in printed]
    fields = [f"{name}: {words}" for name, words in node.filled] + [f"{name}: {'.' * 24}" for name in blank]
    facts = [node.time, _whole_marks(node.marks)]
    return _apart(
        [
            wrapped(node.above, width),
            lines,
            wrapped(node.subtitle, width),
            [line for field in fields for line in wrapped(field, width)],
            [line for fact in facts if fact for line in wrapped(fact, width)],
            _points(node.points, "•", width),
        ]
    )


def _whole_marks(marks: str) -> str:
    return f"{marks} marks in all" if marks.isdecimal() else marks
