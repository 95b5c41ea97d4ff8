"""A table comes in; the grid and the rows of a Word table go out: fixed widths, a heading row that repeats, rows that stay whole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import fsum

from molewright.nodes.blocks import Cell, Table
from molewright.nodes.drawing.strokes import MM
from molewright.nodes.inline import Gap, Inline, Line, Text
from molewright.render.docx.lettering import SmallType
from molewright.render.docx.lines import only_maths, runs, sized, unit_behind
from molewright.render.docx.look import style_id
from molewright.render.docx.markup import twips
from molewright.render.docx.maths import broken, displayed
from molewright.render.pdf.look import CELL_SIDE

_WIDER = 1.1  # running text, at most, against the typeface that is measured
_SMALLEST = 0.6  # of the size that a look asks for
_LEAST_GAP = 2.5  # ems: four figures by hand
_EMPTY_ROW = 20.0  # a cell left empty is there to be written in
_LEAST_CELL = 2 * CELL_SIDE + 8  # a share of nothing still shows its text
_ALIGN = {"left": "", "centre": '<w:jc w:val="center"/>', "right": '<w:jc w:val="right"/>'}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """What a table has to fit: a width and a size of type in points, a sheet to write on, what follows on the same page."""

    width: float
    size: float
    pupil: bool
    kept: bool
    scale: float
    smaller: bool = False  # than the style of a cell says


def table(node: Table, fitting: Fitting) -> str:
    """Its grid and rows; "" for a table without cells."""
    widths = _widths(node, fitting.width)
    if not widths:
        return ""
    if fitting.scale > 1.0:
        needs = _needs(node, fitting, len(widths))
        if fsum(needs) > fsum(widths):  # the type of this table is made smaller rather than a word or a unit cut
            smaller = max(_SMALLEST, 0.97 * fsum(widths) / fsum(needs))
            fitting = replace(fitting, size=round(2 * fitting.size * smaller) / 2, smaller=True)
        widths = _spread(widths, needs)
    heading = _row(node.heading, widths, fitting, head=True, kept=True) if node.heading else ""
    rows: list[str] = []
    for place, cells in enumerate(node.rows):
        last = place + 1 == len(node.rows)
        kept = fitting.kept or (not last and (node.whole or place + 1 in node.keep_rows))
        rows.append(_row(cells, widths, fitting, head=False, kept=kept))
    return f"{grid(widths)}{heading}{''.join(rows)}"


def grid(widths: Sequence[float]) -> str:
    """The columns of a table."""
    return f"<w:tblGrid>{''.join(f'<w:gridCol w:w={chr(34)}{twips(wide)}{chr(34)}/>' for wide in widths)}</w:tblGrid>"


def _widths(node: Table, width: float) -> list[float]:
    count = max([len(node.heading), *(len(row) for row in node.rows)], default=0)
    if not count:
        return []
    shares = [max(0.0, share) for share in node.widths[:count]]
    shares += [fsum(shares) / len(shares) if fsum(shares) else 1.0] * (count - len(shares))
    whole = fsum(shares) or 1.0
    least = min(_LEAST_CELL, width / count)
    wide = [max(least, share / whole * width) for share in shares]
    scale = width / fsum(wide)
    return [one * scale for one in wide]


def _needs(node: Table, fitting: Fitting, count: int) -> list[float]:
    """The width of each column in which no word and no unit is cut."""
    lettering = SmallType(fitting.size)
    needs = [_LEAST_CELL] * count
    for head, cells in ((True, node.heading), *((False, row) for row in node.rows)):
        for column, cell in enumerate(cells):
            for line in cell.lines:
                gaps = _LEAST_GAP * fitting.size * any(isinstance(one, Gap) for one in line)
                words = tuple(Text(unit_behind(one)) if isinstance(one, Gap) else one for one in line)
                widest = lettering.widest(words, head or cell.head) if only_maths(line) is None else 0.0
                needs[column] = max(needs[column], gaps + _WIDER * widest + 2 * CELL_SIDE + 1)
    return needs


def _shorter(line: Line, room: float, fitting: Fitting) -> Line:
    """The line with its gaps so short that each stands beside its unit."""
    made: list[Inline] = []
    for one in line:
        if isinstance(one, Gap):
            beside = room - _WIDER * SmallType(fitting.size).width((Text(unit_behind(one)),)) - 2.0
            most = max(beside, _LEAST_GAP * fitting.size) / (MM * fitting.scale)
            made.append(replace(one, width_mm=min(one.width_mm, most)))
        else:
            made.append(one)
    return tuple(made)


def _spread(widths: list[float], needs: list[float]) -> list[float]:
    """What columns have beyond their need is given to those that lack some; all the same width together."""
    free = fsum(widths) - fsum(needs)
    beyond = [max(0.0, wide - need) for wide, need in zip(widths, needs, strict=True)]
    if free <= 0:
        return [need * fsum(widths) / fsum(needs) for need in needs]
    return [need + free * more / fsum(beyond) for need, more in zip(needs, beyond, strict=True)]


def _row(cells: Sequence[Cell], widths: Sequence[float], fitting: Fitting, *, head: bool, kept: bool) -> str:
    told = "<w:cantSplit/>"
    if not head and fitting.pupil and not all(cell.lines for cell in cells):
        told += f'<w:trHeight w:val="{twips(_EMPTY_ROW * fitting.scale)}" w:hRule="atLeast"/>'
    told += "<w:tblHeader/>" if head else ""
    missing = [Cell(())] * (len(widths) - len(cells))
    made = (
        _cell(cell, wide, fitting, head=head, kept=kept) for cell, wide in zip([*cells, *missing], widths, strict=True)
    )
    return f"<w:tr><w:trPr>{told}</w:trPr>{''.join(made)}</w:tr>"


def _cell(cell: Cell, width: float, fitting: Fitting, *, head: bool, kept: bool) -> str:
    middle = '<w:vAlign w:val="center"/>' if head or fitting.pupil else ""
    bold = head or cell.head
    lines = cell.lines
    if fitting.scale > 1.0:
        lines = tuple(_shorter(line, width - 2 * CELL_SIDE, fitting) for line in lines)
    paragraphs = [one for line in lines for one in _paragraphs(line, cell.align, width, fitting.size, bold)]
    if fitting.smaller:
        paragraphs = [(align, sized(content, fitting.size)) for align, content in paragraphs]
    told = f'<w:pStyle w:val="{style_id("Heading cell" if bold else "Cell")}"/>'
    told += "<w:keepNext/>" if kept else '<w:keepNext w:val="0"/>' if bold else ""
    inside = "".join(f"<w:p><w:pPr>{told}{align}</w:pPr>{content}</w:p>" for align, content in paragraphs or [("", "")])
    return f'<w:tc><w:tcPr><w:tcW w:w="{twips(width)}" w:type="dxa"/>{middle}</w:tcPr>{inside}</w:tc>'


def _paragraphs(line: Line, align: str, width: float, size: float, bold: bool) -> Iterator[tuple[str, str]]:
    """Each with its alignment; a line of working in as many as it needs in the cell."""
    working = only_maths(line)
    if working is None:
        yield _ALIGN[align], runs(line, size, room=width - 2 * CELL_SIDE)
        return
    for number, piece in enumerate(broken(working.items, width - 2 * CELL_SIDE, size)):
        indent = f'<w:ind w:left="{twips(size)}"/>' if number and align == "left" else ""
        yield indent + _ALIGN[align], displayed(piece, align, bold)
