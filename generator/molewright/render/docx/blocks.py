"""Blocks come in, in order; the paragraphs and tables of a Word document go out. Decides what stays together on a page.

Word breaks the pages itself: what must stay together is told by "keep with next", so parts stay whole and stems with their first
part, and nothing is repeated on a further page but the heading row of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import assert_never

from molewright.chem.units import NO_BREAK
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
from molewright.nodes.drawing.pictures import in_words, pictures
from molewright.nodes.drawing.strokes import MM, Words
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, Figure, FlowFigure
from molewright.nodes.inline import Line, Text
from molewright.render.docx.elements import element_rows
from molewright.render.docx.front import front_lines
from molewright.render.docx.lettering import SmallType
from molewright.render.docx.lines import TAB, only_maths, runs, written
from molewright.render.docx.look import PageLook, style_id
from molewright.render.docx.markup import escaped, twips
from molewright.render.docx.maths import broken, displayed
from molewright.render.docx.pictures import png
from molewright.render.docx.tables import Fitting, table
from molewright.render.text.lines import plain_line

_KEEP = "<w:keepNext/>"
_FRAMED = 5.0  # between a frame and the words in it
_EMU_A_POINT = 12700
_BEFORE_MARKS = 2 * NO_BREAK  # so that the last word of a demand never touches them
_DASH = f"–{NO_BREAK}"
_ROUND_RULE = 4.0  # between an answer rule and its label
_WIDER = 1.1  # running text, at most, against the typeface that is measured


class BlockWriter:
    """Writes the blocks of one sheet; `embed` takes the bytes of a picture and gives back what it is called in the document."""

    def __init__(self, sheet: Sheet, look: PageLook, embed: Callable[[bytes], str]) -> None:
        self.look = look
        self.embed = embed
        self.made: list[str] = []
        self.indent = 0.0  # of all blocks, in points
        self.inside = False  # a question
        self.kept = False  # with what follows
        self.fresh = False  # what follows starts a page
        self.figures = 0
        self.lettering = SmallType(look.type.figure.size)
        self.question_level = 3 if any(isinstance(one, Heading) and one.level == 2 for one in sheet.blocks) else 2

    # ---- paragraphs

    def paragraph(self, style: str, content: str, *, indent: float = 0.0, hang: float = 0.0, more: str = "") -> None:
        """One paragraph in a column; `more` are further properties, of what stands between its page and its indentation."""
        left = self.indent + indent + hang
        placed = _indentation(left, hang) if left else ""
        self.placed(style, content, more + placed)

    def placed(self, style: str, content: str, more: str = "") -> None:
        """One paragraph whose properties say themselves where it stands."""
        told = f'<w:pStyle w:val="{style_id(style)}"/>'
        told += _KEEP if self.kept else ""
        if self.fresh:
            told, self.fresh = told + "<w:pageBreakBefore/>", False
        self.made.append(f"<w:p><w:pPr>{told}{more}</w:pPr>{content}</w:p>")

    @contextmanager
    def held(self) -> Iterator[None]:
        """What is written inside stays on one page, if one can hold it."""
        before, self.kept = self.kept, True
        start = len(self.made)
        yield
        self.kept = before
        if not before and len(self.made) > start:
            self.made[-1] = self.made[-1].replace(_KEEP, "", 1)

    @contextmanager
    def moved(self, points: float) -> Iterator[None]:
        """What is written inside stands further to the right."""
        self.indent += points
        yield
        self.indent -= points

    @property
    def width(self) -> float:
        """Of the column that is left."""
        return self.look.column - self.indent

    def blocks(self, nodes: Iterable[Block]) -> None:
        """Blocks one below the other."""
        for node in nodes:
            self.block(node)

    def block(self, node: Block) -> None:
        """One block."""
        match node:
            case Heading():
                self.paragraph(f"heading {node.level}", runs(node.line, self.look.type.headings[node.level - 1].size))
            case Paragraph():
                self.words(node)
            case Items() | Note():
                self.listed(node)
            case Table() | ElementTable():
                self.table(node)
            case Working():
                self.working(node)
            case Part() | Together() | QuestionBlock():
                self.holder(node)
            case FlowFigure() | BarFigure() | CountChart() | BuretteFigure() | CurveFigure():
                self.figure(node)
            case FrontBlock():
                self.front(node)
            case NewPage():
                self.fresh = True
            case ClosingLine():
                self.paragraph("Closing line", written(node.text))
            case _:
                assert_never(node)

    def holder(self, node: Holder) -> None:
        """What holds blocks itself."""
        match node:
            case Part():
                with self.held():
                    self.part(node)
            case Together():
                with self.held():
                    self.blocks(node.blocks)
            case QuestionBlock():
                self.question(node)
            case _:
                assert_never(node)

    def words(self, node: Paragraph) -> None:
        """A paragraph in the style of its tone; a line of working in as many paragraphs as it has lines."""
        body, small = self.look.type.body.size, self.look.type.small.size
        match node.tone:
            case "plain":
                style, size = "Question stem" if self.inside else "Normal", body
            case "note":
                style, size = "Hint" if self.inside else "Note", small
            case "caution":
                style, size = "Caution", small
            case "lead":
                style, size = "Lead", body
            case "centred":
                style, size = "Centred", body
            case _:
                assert_never(node.tone)
        indent = node.indent_mm * MM
        working = only_maths(node.line)
        if working is None:
            if style == "Caution":  # a frame stands outside its text
                self.placed(style, runs(node.line, size), _indentation(self.indent + indent + _FRAMED, right=_FRAMED))
            else:
                self.paragraph(style, runs(node.line, size), indent=indent)
            return
        style = "Working" if node.tone == "plain" else style
        align = "centre" if node.tone == "centred" else "left"
        first, *others = broken(working.items, self.width - indent, size)
        with self.held():
            self.paragraph(style, displayed(first, align, node.tone == "lead"), indent=indent)
            for line in others:
                self.paragraph(
                    style, displayed(line, align, node.tone == "lead"), indent=indent + self.look.type.gutter
                )

    def listed(self, node: Items | Note) -> None:
        """Points of a list, or a note in its frame, its title above its lines."""
        if isinstance(node, Items):
            for line in node.lines:
                self.point(line)
            return
        size = self.look.type.body.size
        frame = _indentation(self.indent + _FRAMED, right=_FRAMED)
        with self.held():
            self.placed("Framed title", runs(node.title, size), frame)
            for line in node.lines:
                self.placed("Framed line", runs((Text(_DASH), *line), size), frame)
        self.paragraph("After table", "")

    def point(self, line: Line) -> None:
        """A point of a list."""
        hang = 15.0
        self.paragraph("Point", runs(line, self.look.type.body.size), hang=hang if self.indent else 0.0)

    # ---- tables and figures

    def table(self, node: Table | ElementTable) -> None:
        """A ruled table."""
        if isinstance(node, ElementTable):
            self.table_of(element_rows(node, self.width), node.summary)
            return
        fitting = Fitting(
            width=self.width * (min(1.0, node.width * self.look.type.scale) if node.width > 0 else 1.0),
            size=self.look.type.cell.size,
            pupil=self.look.pupil,
            scale=self.look.type.scale,
            kept=self.kept,
        )
        self.table_of(table(node, fitting), node.summary)

    def table_of(self, grid_and_rows: str, summary: str) -> None:
        """A table from its grid and rows, and the paragraph that parts it from what follows."""
        if not grid_and_rows:
            return
        if self.fresh:
            self.paragraph("After table", "")
        told = f'<w:tblCaption w:val="{escaped(summary)}"/>' if summary else ""
        self.made.append(
            '<w:tbl><w:tblPr><w:tblStyle w:val="RuledTable"/><w:tblW w:w="0" w:type="auto"/>'
            f'<w:tblInd w:w="{twips(self.indent)}" w:type="dxa"/><w:tblLayout w:type="fixed"/>'
            f'<w:tblLook w:val="0420" w:firstRow="1" w:lastRow="0" w:firstColumn="0" w:lastColumn="0" w:noHBand="0" w:noVBand="1"/>'
            f"{told}</w:tblPr>{grid_and_rows}</w:tbl>"
        )
        self.paragraph("After table", "")

    def figure(self, node: Figure) -> None:
        """Its pictures below each other; what no page holds, or the typeface lacks, is told in words instead."""
        scale = self.look.type.figure_scale
        made = pictures(node, self.lettering, self.width, self.look.room, scale)
        larger = SmallType(self.lettering.size * scale)
        lacking = any(self.lettering.lacks(item) for one in made for item in one.items if isinstance(item, Words))
        if lacking or any(one.height > self.look.room - 60 for one in made):
            told = in_words(node)
            if told:
                with self.held():
                    self.blocks(told)
                return
        with self.held():
            for one in made:
                self.figures += 1
                name = self.embed(png(one, larger))
                self.paragraph("Figure", _picture(self.figures, name, one.width, one.height, one.alt))

    # ---- questions

    def question(self, node: QuestionBlock) -> None:
        """Its heading and stem with the first part, each further part, the total with the last of them."""
        before, self.inside = self.inside, True
        groups: list[list[Part]] = [[]]
        for part in node.parts:
            groups[-1].append(part)
            if part.marks or part.label or part.alone:  # what earns no mark opens the part after it
                groups.append([])
        groups = [group for group in groups if group] or [[]]
        for number, group in enumerate(groups):
            with self.held():
                if number == 0:
                    self.paragraph(f"heading {self.question_level}", written(f"Question {node.number}"))
                    self.blocks(node.stem)
                for part in group:
                    self.part(part)
                if number + 1 == len(groups) and node.marks and node.closing:
                    self.paragraph("Question total", written(node.closing))
        self.inside = before

    def part(self, node: Part) -> None:
        """Label, demand, marks at the right, then its blocks further in."""
        before, self.inside = self.inside, True
        hang = self.look.type.gutter if node.label else 0.0
        if node.label or node.demand or node.marks:
            content = written(node.label) + TAB if node.label else ""
            content += runs(node.demand, self.look.type.body.size)
            content += written(_BEFORE_MARKS) + TAB + written(f"[{node.marks}]", True) if node.marks else ""
            of_style = hang and not self.indent  # a teacher who moves the style moves the part
            self.placed("Part", content, "" if of_style else _indentation(self.indent + hang, hang))
        with self.moved(hang):
            self.blocks(node.blocks)
        self.inside = before

    def working(self, node: Working) -> None:
        """Lines to write on, or as much blank space; then the answer rule with its unit."""
        tall = min(node.height_mm * MM * self.look.type.scale, self.look.room / 2)
        lines = int(tall / self.look.writing_line + 0.01)
        rest = max(0.0, tall - lines * self.look.writing_line)
        with self.held():
            for _ in range(lines):
                self.paragraph("Ruled line" if node.ruled else "Working line", "")
            if node.rule_mm > 0:
                self.answer_rule(node, rest)

    def answer_rule(self, node: Working, above: float) -> None:
        """The label, a dotted rule, the unit, all at the right."""
        size = self.look.type.body.size
        unit = size * (self.look.ems(node.unit) * _WIDER + self.look.ems(NO_BREAK) + 0.05) if node.unit else 0.0
        label = size * self.look.ems(plain_line(node.label)) * _WIDER + _ROUND_RULE if node.label else 0.0
        end = self.indent + self.width - unit
        start = max(self.indent + label, end - node.rule_mm * MM * self.look.type.scale)
        stops = [("right", start - _ROUND_RULE, "")] if node.label else []
        stops += [("left", start, ""), ("left", end, "dot")]
        if not node.label and start <= self.indent:
            del stops[0]
        tabs = "".join(
            f'<w:tab w:val="{kind}"{f" w:leader={chr(34)}{leader}{chr(34)}" if leader else ""} w:pos="{twips(at)}"/>'
            for kind, at, leader in stops
        )
        more = f"<w:tabs>{tabs}</w:tabs>"
        more += f'<w:spacing w:before="{twips(10 + above)}"/>'
        content = TAB + runs(node.label, size) if node.label else ""
        content += TAB * (len(stops) - bool(node.label))
        content += written(NO_BREAK + node.unit.replace(" ", NO_BREAK)) if node.unit else ""
        self.paragraph("Answer line", content, more=more)

    # ---- the head of a paper

    def front(self, node: FrontBlock) -> None:
        """Its lines, then a rule."""
        with self.held():
            for line in front_lines(node, self.look):
                self.paragraph(line.style, line.content, more=line.more)
            for point in node.points:
                self.point(point)
            self.paragraph("End of front", "")


def _indentation(left: float, hang: float = 0.0, right: float = 0.0) -> str:
    ends = f' w:right="{twips(right)}"' if right else ""
    return f'<w:ind w:left="{twips(left)}"{ends} w:hanging="{twips(hang)}"/>'


def _picture(number: int, name: str, width: float, height: float, alt: str) -> str:
    across, down = round(width * _EMU_A_POINT), round(height * _EMU_A_POINT)
    told = f'id="{number}" name="Figure {number}" descr="{escaped(alt)}"'
    return (
        f'<w:r><w:drawing><wp:inline distT="0" distB="0" distL="0" distR="0"><wp:extent cx="{across}" cy="{down}"/>'
        f'<wp:docPr {told}/><wp:cNvGraphicFramePr><a:graphicFrameLocks noChangeAspect="1"/></wp:cNvGraphicFramePr>'
        '<a:graphic><a:graphicData uri="http://schemas.openxmlformats.org/drawingml/2006/picture"><pic:pic>'
        f'<pic:nvPicPr><pic:cNvPr {told}/><pic:cNvPicPr/></pic:nvPicPr><pic:blipFill><a:blip r:embed="{name}"/>'
        f'<a:stretch><a:fillRect/></a:stretch></pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="{across}" cy="{down}"/>'
        '</a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic></a:graphicData></a:graphic>'
        "</wp:inline></w:drawing></w:r>"
    )
