"""A sheet comes in; one LaTeX document for pdflatex or lualatex goes out. Computes nothing and lets no text through unescaped.

The words are made here, the look stands in templates/latex: a page is a row of commands named after what they print.
"""

from __future__ import annotations

from functools import cache
from math import fsum
from typing import TYPE_CHECKING, Literal, assert_never

from molewright.machine.collector import resting
from molewright.machine.templates import templates_in
from molewright.nodes.blocks import (
    Block,
    Cell,
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
from molewright.nodes.drawing.strokes import MM
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, Figure, FlowFigure
from molewright.nodes.inline import Line
from molewright.render.latex.elements import elements
from molewright.render.latex.escape import escape, escape_plain
from molewright.render.latex.figures import figure
from molewright.render.latex.lines import LineWriter, unit_text
from molewright.render.text.lines import plain_line

if TYPE_CHECKING:
    from molewright.machine.templates import Template

__all__ = ["SUFFIX", "render", "require_text"]

SUFFIX = ".tex"
_MADE = "Made by Molewright."
_GAP = r"\quad "
_BLANK, _FIELD_ROW = 16, 78  # letters that an empty field takes, and that a row of fields holds
_PAPER_MM, _MARGINS_MM, _HANG_MM = (210.0, 297.0), (43.0, 50.0), 9.0  # as the preamble has them
_HEADINGS = {1: "sheetheading", 2: "sectionheading", 3: "smallheading"}
_TONES = {"plain": "para", "note": "note", "caution": "caution", "lead": "lead", "centred": "centred"}
_ALIGN = {"left": "", "centre": r"\tocentre ", "right": r"\toright "}

# Where a block stands: on the page itself, in a piece of a question, or in a box that stays together.
_Spot = Literal["page", "piece", "box"]


@resting()
def render(sheet: Sheet) -> bytes:
    """The whole sheet as LaTeX in UTF-8; equal sheets give equal bytes."""
    writer = _BlockWriter(sheet)
    return (
        _document()
        .render(
            made=_MADE,
            points=11 if sheet.kind in ("questions", "answers", "data") else 10,
            wide=sheet.wide,
            title=escape_plain(sheet.title),
            subject=escape_plain(sheet.subject),
            keywords=escape_plain(sheet.code),
            language=escape_plain(sheet.language),
            header=escape(sheet.header),
            version=escape(sheet.version),
            code=escape(sheet.code),
            turn_over=sheet.turn_over,
            grid=writer.grid,
            blocks=[writer.block(block, "page") for block in sheet.blocks],
        )
        .encode()
    )


@cache
def _document() -> Template:
    environment = templates_in(
        "latex",
        escaped=False,  # for HTML: here everything is escaped before it comes to the template
        keep_trailing_newline=True,
        block_start_string="<%",
        block_end_string="%>",
        variable_start_string="<<",
        variable_end_string=">>",
        comment_start_string="<!--",
        comment_end_string="-->",
    )
    return environment.get_template("sheet.tex.jinja")


def require_text(text: str) -> None:
    """Raises Mistake for text that the LaTeX written here cannot print."""
    escape(text)
    escape_plain(text)


class _BlockWriter:
    """Writes the blocks of one sheet, in order: bookmarks hang below the last heading of a higher rank."""

    def __init__(self, sheet: Sheet) -> None:
        self.lines = LineWriter(sheet.spoken)
        self.grid = sheet.kind == "questions"  # a pupil writes in its tables
        self.ranks: list[int] = []
        paper = _PAPER_MM[::-1] if sheet.wide else _PAPER_MM
        self.column_mm, self.room_mm = (side - margins for side, margins in zip(paper, _MARGINS_MM, strict=True))

    def bookmark(self, rank: int, words: str) -> str:
        while self.ranks and self.ranks[-1] >= rank:
            self.ranks.pop()
        self.ranks.append(rank)
        written = escape_plain(words)
        return rf"\sheetbookmark{{{len(self.ranks)}}}{{{written}}}" if written else ""

    def blocks(self, nodes: tuple[Block, ...], spot: _Spot) -> list[str]:
        return [self.block(node, spot) for node in nodes]

    def block(self, node: Block, spot: _Spot) -> str:
        match node:
            case Heading():
                return self.heading(node)
            case Paragraph():
                return self.paragraph(node)
            case Items() | Note():
                return self.points(node.lines) if isinstance(node, Items) else self.note(node)
            case Table():
                return self.table(node)
            case Working():
                return _kept([self.working(node)], spot)
            case Part() | Together() | QuestionBlock():
                return self.holder(node, spot)
            case FlowFigure() | BarFigure() | CountChart() | BuretteFigure() | CurveFigure():
                return _kept([rf"\figureline{{{self.figure(node, spot)}}}"], spot, "[10pt]")
            case FrontBlock():
                return _kept(self.front(node), spot)
            case ElementTable():
                return _kept([elements(node)], spot, "[10pt]")
            case NewPage():
                return r"\freshpage"
            case ClosingLine():
                return rf"\closingline{{{escape(node.text)}}}"
            case _:
                assert_never(node)

    def holder(self, node: Holder, spot: _Spot) -> str:
        match node:
            case Part():
                return self.part(node, spot)
            case Together():
                headed = bool(node.blocks) and isinstance(node.blocks[0], Heading)
                return _kept(self.blocks(node.blocks, "box"), spot, "[14pt]" if headed else "")
            case QuestionBlock():
                return self.question(node, spot)
            case _:
                assert_never(node)

    def figure(self, node: Figure, spot: _Spot) -> str:
        """Numbers and labels stand in the margin of all that is not on the page itself."""
        width = self.column_mm - (0 if spot == "page" else _HANG_MM)
        return figure(node, self.lines, width * MM, self.room_mm * MM)

    def heading(self, node: Heading) -> str:
        mark = self.bookmark(node.level, plain_line(node.line)) if node.level < 3 else ""
        return rf"\{_HEADINGS[node.level]}{{{self.lines.line(node.line)}}}{{{mark}}}"

    def paragraph(self, node: Paragraph, hung: str = "") -> str:
        indent = f"[{node.indent_mm:g}mm]" if node.indent_mm else ""
        return rf"\{_TONES[node.tone]}{indent}{{{hung}{self.lines.line(node.line)}}}"

    def points(self, lines: tuple[Line, ...]) -> str:
        return "\n".join(rf"\point{{{self.lines.line(line)}}}" for line in lines)

    def note(self, node: Note) -> str:
        lines = "".join(rf"\noteline{{{self.lines.line(line)}}}" for line in node.lines)
        return rf"\framednote{{{self.lines.line(node.title)}}}{{{lines}}}"

    # ---- questions

    def working(self, node: Working) -> str:
        space = rf"\writinglines{{{node.lines}}}" if node.ruled else rf"\blank{{{node.height_mm:g}mm}}"
        if node.rule_mm <= 0:
            return rf"\blockgap{space}"
        label = f"{self.lines.line(node.label)}~" if node.label else ""
        return rf"\blockgap{space}\answerline{{{label}}}{{{node.rule_mm:g}mm}}{{{unit_text(node.unit)}}}"

    def part(self, node: Part, spot: _Spot, number: str = "") -> str:
        """A part; `number` is the question's where nothing else carries it."""
        label = node.label
        hung, inline = (label, "") if not number else (number, label)
        demand = self.lines.line(node.demand)
        first = "".join(
            [
                (rf"\inhang{{\textbf{{{escape(hung)}}}}}" if number else rf"\inhang{{{escape(hung)}}}") if hung else "",
                f"{escape(inline)}~~" if inline else "",
                demand or (r"\strut " if hung or node.marks else ""),
                rf"\markbracket{{{node.marks}}}" if node.marks else "",
            ]
        )
        body = "\n".join(
            [rf"\begin{{questionpart}}{{{first}}}", *self.blocks(node.blocks, "box"), r"\end{questionpart}"]
        )
        if spot == "page":
            return f"\\begin{{kept}}[12pt]{{\\hangwidth}}\n{body}\n\\end{{kept}}"
        if spot == "box":
            return f"\\begin{{inset}}\n{body}\n\\end{{inset}}"
        return body

    def question(self, node: QuestionBlock, spot: _Spot) -> str:
        mark = self.bookmark(4, node.bookmark or f"Question {node.number}")
        reminder = rf"\textbf{{Question {node.number} continued}}"
        if node.reminder:
            reminder += f": {self.lines.line(node.reminder)}"
        pieces = self.pieces(node)
        if spot != "page":  # kept whole by what it stands in
            inside = "\n".join(pieces)
            return f"\\begin{{inset}}\n{inside}\n\\end{{inset}}"
        chunks = [f"\\begin{{chunk}}\n{piece}\n\\end{{chunk}}\\runson" for piece in pieces]
        return "\n".join([rf"\begin{{question}}{{{mark}}}{{{reminder}}}", *chunks, r"\end{question}"])

    def pieces(self, node: QuestionBlock) -> list[str]:
        """What never breaks: the stem with the first part, each further part, the total with the last of them."""
        number = rf"\inhang{{\textbf{{{node.number}}}}}"
        parts = list(node.parts)
        opening: list[str] = []
        if node.stem:
            head, *others = node.stem
            if isinstance(head, Paragraph) and head.tone != "caution":
                opening.append(self.paragraph(head, number))
            elif isinstance(head, Paragraph | Table | FlowFigure | BarFigure | BuretteFigure | CurveFigure):
                opening += [rf"\numberbeside{{\textbf{{{node.number}}}}}", self.block(head, "box")]
            else:
                opening += [rf"\para{{{number}\strut}}\nobreak", self.block(head, "box")]
            opening += self.blocks(tuple(others), "box")
            if parts:
                opening.append(self.part(parts.pop(0), "piece"))
        elif parts:
            opening.append(self.part(parts.pop(0), "piece", str(node.number)))
        else:
            opening.append(rf"\para{{{number}\strut}}")
        pieces = ["\n".join(opening), *(self.part(part, "piece") for part in parts)]
        if node.marks and node.closing:
            pieces[-1] += f"\n\\questiontotal{{{escape(node.closing)}}}"
        return pieces

    # ---- tables and the head of a paper

    def cell(self, node: Cell, *, head: bool) -> str:
        words = r"\celline ".join(map(self.lines.line, node.lines))
        bold = r"\bfseries " if head or node.head else ""
        return f"{bold}{_ALIGN[node.align]}{words}"

    def row(self, cells: tuple[Cell, ...], *, head: bool = False) -> str:
        return " & ".join(self.cell(cell, head=head) for cell in cells)

    def table(self, node: Table) -> str:
        total = fsum(node.widths) or 1.0
        upright = "|" if self.grid else ""
        columns = upright + upright.join(f"C{{{width / total:.4f}}}" for width in node.widths) + upright
        heading = rf"{self.row(node.heading, head=True)} \\ \rowrule" if node.heading else ""
        lines: list[str] = []
        for place, cells in enumerate(node.rows):
            last = place + 1 == len(node.rows)
            joined = place + 1 in node.keep_rows and not last
            rule = r"\grouprule" if place + 1 in node.groups else r"\rowrule"
            end = r"\\" if last else r"\\*" if joined else rf"\\ {rule}"
            lines.append(f"{self.row(cells)} {end}")
        summary = f"% {escape(node.summary)}\n" if node.summary else ""
        rows = "\n".join(lines)
        whole = "1" if node.whole else "0"
        made = f"{summary}\\ruledtable{{{node.width:g}}}{{{whole}}}{{{columns}}}{{%\n{heading}}}{{%\n{rows}\n}}"
        if not node.continued:
            return made
        again = rf"\multicolumn{{{len(node.widths)}}}{{@{{}}l}}{{\bfseries\strut {self.lines.line(node.continued)}}}\\"
        return f"\\renewcommand{{\\continuedrow}}{{{again}}}%\n{made}\n\\renewcommand{{\\continuedrow}}{{}}%"

    def front(self, node: FrontBlock) -> list[str]:
        lines = [r"\coverspace"] if node.cover else []
        if node.above:
            lines.append(rf"\frontabove{{{escape(node.above)}}}")
        lines.append(rf"\fronttitle{{{escape(node.title)}}}")
        if node.subtitle:
            lines.append(rf"\frontsubtitle{{{escape(node.subtitle)}}}")
        printed = dict(node.filled)
        fields = [(len(name) + len(words), _filled(name, words)) for name, words in node.filled]
        fields += [
            (len(name) + _BLANK, rf"\blankfield{{{escape(name)}}}{{{2 if place == 0 and not printed else 1}}}")
            for place, name in enumerate(name for name in node.fields if name not in printed)
        ]
        while fields:
            row = [fields.pop(0)]
            while (
                fields
                and not node.cover
                and len(row) < 3
                and sum(length for length, _ in [*row, fields[0]]) < _FIELD_ROW
            ):
                row.append(fields.pop(0))
            lines.append(
                rf"\{'coverfields' if node.cover else 'frontfields'}{{{_GAP.join(written for _, written in row)}}}"
            )
        if node.cover:
            lines.append(r"\belowfields")
        if node.time or node.marks:
            marks = f"{node.marks} marks in all" if node.marks.isdecimal() else node.marks
            lines.append(rf"\frontfacts{{{escape(node.time)}}}{{{escape(marks)}}}")
        lines += [rf"\point{{{self.lines.line(point)}}}" for point in node.points]
        return [*lines, r"\frontrule"]


def _filled(name: str, words: str) -> str:
    return rf"\filledfield{{{escape(name)}}}{{{escape(words)}}}"


def _kept(lines: list[str], spot: _Spot, gap: str = "") -> str:
    body = "\n".join(lines)
    return f"\\begin{{kept}}{gap}{{0pt}}\n{body}\n\\end{{kept}}" if spot == "page" else body
