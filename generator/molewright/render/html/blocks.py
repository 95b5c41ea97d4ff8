"""Blocks come in; semantic HTML goes out, every word of it escaped. Says nothing of how it looks: templates/html does."""

from __future__ import annotations

from typing import assert_never

from molewright.nodes.blocks import (
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
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, FlowFigure
from molewright.nodes.inline import Text
from molewright.render.html.escape import words
from molewright.render.html.figures import figure
from molewright.render.html.lines import LineWriter
from molewright.render.html.look import LOOKS, mm
from molewright.render.html.tables import elements, table

_NB = "\N{NO-BREAK SPACE}"


class BlockWriter:
    """Writes the blocks of one sheet in order."""

    def __init__(self, sheet: Sheet) -> None:
        self.look = LOOKS[sheet.look]
        self.lines = LineWriter(sheet.spoken, self.look)
        self.grid = sheet.kind == "questions"  # a pupil writes in its tables
        self.unfolds = sheet.kind == "worked"  # a pupil looks at one step at a time
        sections = any(isinstance(block, Heading) and block.level == 2 for block in sheet.blocks)
        self.question_level = 3 if sections else 2

    def blocks(self, nodes: tuple[Block, ...]) -> str:
        """Blocks one below the other."""
        return "\n".join(map(self.block, nodes))

    def block(self, node: Block) -> str:
        """One block."""
        match node:
            case Heading(level=level):
                return f"<h{level}>{self.lines.line(node.line)}</h{level}>"
            case Paragraph():
                return self._paragraph(node)
            case Items() | Note():
                points = _points([self.lines.line(line) for line in node.lines])
                return points if isinstance(node, Items) else self._note(node, points)
            case Table():
                return table(node, self.lines, self.grid)
            case Working():
                return self._working(node)
            case Part() | Together() | QuestionBlock():
                return self._holder(node)
            case FlowFigure() | BarFigure() | CountChart() | BuretteFigure() | CurveFigure():
                return figure(node, self.look.figure)
            case FrontBlock():
                return self._front(node)
            case ElementTable():
                return elements(node)
            case NewPage():
                return '<hr class="fresh">'
            case ClosingLine():
                return f'<p class="closing">{words(node.text)}</p>'
            case _:
                assert_never(node)

    def _holder(self, node: Holder) -> str:
        match node:
            case Part():
                return self._part(node)
            case Together():
                return self._together(node)
            case QuestionBlock():
                return self._question(node)
            case _:
                assert_never(node)

    def _note(self, node: Note, points: str) -> str:
        return f'<div class="jotted"><p class="lead">{self.lines.line(node.title)}</p>{points}</div>'

    def _paragraph(self, node: Paragraph) -> str:
        indent = f' style="padding-left:{mm(node.indent_mm)}"' if node.indent_mm else ""
        return f"<p{self._tone(node)}{indent}>{self.lines.line(node.line)}</p>"

    def _tone(self, node: Paragraph) -> str:
        match node.tone:
            case "plain":
                return ""
            case "note":
                return ' class="note"'
            case "caution":
                return ' class="caution" role="note"'
            case "lead":
                return ' class="lead"'
            case "centred":
                return ' class="centred"'
            case _:
                assert_never(node.tone)

    def _together(self, node: Together) -> str:
        """What stays on one page. In worked solutions a step shows what it finds, and opens."""
        first = node.blocks[0] if node.blocks else None
        if self.unfolds and len(node.blocks) > 1 and isinstance(first, Paragraph) and _named(first):
            summary = self.lines.line(first.line)
            inside = self.blocks(node.blocks[1:])
            return f"<details>\n<summary>{summary}</summary>\n<div>{inside}</div>\n</details>"
        return f'<div class="together">\n{self.blocks(node.blocks)}\n</div>'

    # ---- questions

    def _question(self, node: QuestionBlock) -> str:
        level = self.question_level
        pieces = [f"<h{level}>Question {node.number}</h{level}>", *map(self.block, (*node.stem, *node.parts))]
        if node.marks and node.closing:
            pieces.append(f'<p class="total">{words(node.closing)}</p>')
        inside = "\n".join(pieces)
        return f'<section class="question">\n{inside}\n</section>'

    def _part(self, node: Part) -> str:
        label = f'<span class="label">{words(node.label)}</span>' if node.label else ""
        worth = f'<span class="marks">[{node.marks}{_NB}mark{"" if node.marks == 1 else "s"}]</span>'
        demand = self.lines.line(node.demand)
        first = [
            label,
            f'<span class="ask">{demand}</span>' if demand or node.marks else "",
            worth if node.marks else "",
        ]
        opening = f'<p class="demand">{"".join(first)}</p>\n' if any(first) else ""
        kind = "part labelled" if node.label else "part"
        return f'<div class="{kind}">\n{opening}{self.blocks(node.blocks)}\n</div>'

    def _working(self, node: Working) -> str:
        if node.ruled:
            space = f'<div class="lines">{"<div></div>" * node.lines}</div>'
        else:
            space = f'<div class="space" style="height:{mm(node.height_mm)}"></div>' if node.height_mm > 0 else ""
        if node.rule_mm <= 0:
            return space
        label = f"<span>{self.lines.line(node.label)}</span>" if node.label else ""
        rule = f'<span class="rule" style="width:{mm(node.rule_mm)}"><span class="told">answer</span></span>'
        unit = f"<span>{words(node.unit.replace(' ', _NB))}</span>" if node.unit else ""
        return f'{space}<p class="answer">{label}{rule}{unit}</p>'

    # ---- the head of a paper

    def _front(self, node: FrontBlock) -> str:
        lines = [f'<p class="above">{words(node.above)}</p>' if node.above else "", f"<h1>{words(node.title)}</h1>"]
        lines.append(f'<p class="subtitle">{words(node.subtitle)}</p>' if node.subtitle else "")
        printed = dict(node.filled)
        names = dict.fromkeys((*printed, *node.fields))
        if names:
            lines.append(f'<div class="fields">{"".join(_field(name, printed.get(name, "")) for name in names)}</div>')
        if node.time or node.marks:
            marks = f"{node.marks} marks in all" if node.marks.isdecimal() else node.marks
            lines.append(f'<p class="facts"><span>{words(node.time)}</span> <span>{words(marks)}</span></p>')
        if node.points:
            lines.append(_points([self.lines.line(point) for point in node.points]))
        inside = "\n".join(filter(None, lines))
        return f'<div class="front{" cover" if node.cover else ""}">\n{inside}\n</div>'


def _named(node: Paragraph) -> bool:
    """Whether a paragraph begins with a name: "Step 1.", "Part (c)."."""
    first = node.line[0] if node.line else None
    return isinstance(first, Text) and first.bold


def _points(lines: list[str]) -> str:
    return f"<ul>{''.join(f'<li>{line}</li>' for line in lines)}</ul>" if lines else ""


def _field(name: str, written: str) -> str:
    """A field to fill in; what a class list holds may run from right to left."""
    if written:
        return f'<p class="field filled">{words(name)} <b><bdi>{words(written)}</bdi></b></p>'
    return f'<p class="field">{words(name)} <span class="rule"><span class="told">to fill in</span></span></p>'
