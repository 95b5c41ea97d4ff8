"""A table comes in; one slab a row goes out, ruled, the heading row repeated at the top of each further page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import accumulate, pairwise
from math import fsum

from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import Gap, Line
from molewright.render.pdf.content import bar
from molewright.render.pdf.lines import Chunk, widest_word
from molewright.render.pdf.look import CELL_SIDE, CELL_TOP, HAIRLINE, HEAVY, RULE, Style
from molewright.render.pdf.slabs import Blank, Mark, Slab, Tie, height, tied
from molewright.render.pdf.spoken import plain
from molewright.render.pdf.tags import COLUMN_HEAD, ROW_HEAD, Element, table_summary
from molewright.render.pdf.typesetting import Place, Typesetting, artifact, slabs_of, spaced

_EMPTY_ROW = 18.5  # a cell left empty is there to be written in
_LEAST_IN_CELLS = 0.6  # of the type of a look
_CENTRED_LINES = 2  # on a pupil's sheet rows of at most so many lines stand in the middle, of more where type is larger


def table(block: Table, setting: Typesetting, place: Place) -> list[Slab]:
    """The rows of a ruled table, tied as the table asks."""
    edges = _edges(block, place, setting.look.scale)
    element = place.owner.child("Table", attributes=table_summary(block.summary))
    style = setting.look.cell
    if setting.look.scale > 1.0:
        edges = _spread(edges, _needs(block, style, edges))
        style = _fitting(block, style, edges)
    head: list[Slab] = []
    if block.heading:
        rows = _Rows(setting, edges, style.heavier(), place)
        head = rows.slabs(block.heading, element.child("TR"), heading=True)
    again = (*_continued(block, setting, place), *head)
    body: list[list[Slab]] = []
    rows = _Rows(setting, edges, style, place, height(again))
    rows.heads = [_words_of(cell) for cell in block.heading] if setting.fillable else []
    for index, cells in enumerate(block.rows):
        made = rows.slabs(cells, element.child("TR"), heading=False)
        if index and index in block.groups:
            made[0].marks.insert(0, _heavier_rule(edges))
        body.append(made)
    for index, slabs in enumerate(body):
        for slab in slabs:
            slab.repeat = again
        first_or_last = index == 0 or (index == len(body) - 1 and len(body) > 2)
        if index in block.keep_rows or (first_or_last and (index or head)):
            slabs[0].tie = Tie.HELD
    slabs = [*head, *(slab for row in body for slab in row)]
    for slab in slabs[1:]:
        slab.joined = True
    if head and body:
        body[0][0].repeat = ()
    if block.whole and height(slabs) <= place.room:
        tied(slabs)
    if slabs:
        slabs[0].above, slabs[-1].below = 3.0, setting.look.after + 4
    return slabs


def _needs(block: Table, style: Style, edges: Sequence[float]) -> list[float]:
    """The width of each column in which no word and no unit is cut and no gap is too short to write in."""
    needs = [2 * CELL_SIDE] * (len(edges) - 1)
    for column, line, its_style in _set_lines(block, style):
        inside = edges[column + 1] - edges[column] - 2 * CELL_SIDE
        wide = 1.0 if any(isinstance(one, Gap) for one in line) else inside  # a gap gives way to the least there may be
        needs[column] = max(needs[column], widest_word(line, its_style, wide) + 0.2 + 2 * CELL_SIDE)
    return needs


def _set_lines(block: Table, style: Style) -> Iterator[tuple[int, Line, Style]]:
    """Every line of every cell: the number of its column, and the type that it is set in."""
    heavier = style.heavier()
    for row in (block.heading, *block.rows):
        for column, cell in enumerate(row):
            for line in cell.lines:
                yield column, line, heavier if row is block.heading or cell.head else style


def _spread(edges: Sequence[float], needs: Sequence[float]) -> list[float]:
    """What columns have beyond their need is given to those that lack some; all the same width together."""
    widths = [right - left for left, right in pairwise(edges)]
    lacking = fsum([max(0.0, need - wide) for need, wide in zip(needs, widths, strict=True)])
    if not lacking:
        return list(edges)
    beyond = [max(0.0, wide - need) for need, wide in zip(needs, widths, strict=True)]
    if lacking <= fsum(beyond):
        given = lacking / fsum(beyond)
        widths = [max(need, wide) - given * more for need, wide, more in zip(needs, widths, beyond, strict=True)]
    else:
        inside = [need - 2 * CELL_SIDE for need in needs]
        share = (fsum(widths) - 2 * CELL_SIDE * len(needs)) / fsum(inside)
        widths = [one * share + 2 * CELL_SIDE for one in inside]
    return list(accumulate(widths, initial=edges[0]))


def _fitting(block: Table, style: Style, edges: list[float]) -> Style:
    """Large type made so much smaller that no word and no unit is wider than its column."""
    columns = [right - left - 2 * CELL_SIDE for left, right in pairwise(edges)]
    share = min(
        (
            columns[column] / (widest_word(line, its_style, columns[column]) + 0.1)
            for column, line, its_style in _set_lines(block, style)
        ),
        default=1.0,
    )
    return style.scaled(max(_LEAST_IN_CELLS, share)) if share < 1.0 else style


def _continued(block: Table, setting: Typesetting, place: Place) -> list[Slab]:
    """What says on a further page whose rows these are. It is drawn at the top of pages only, so that no reader hears it."""
    style = setting.look.cell.heavier()
    chunks = setting.lines(block.continued, style, place.width) if block.continued else ()
    slabs = slabs_of(chunks, None, place.x)
    return spaced(slabs, 0.0, 3.0)


def _heavier_rule(edges: Sequence[float]) -> Mark:
    """A rule above a row that opens a group."""
    return artifact(edges[0], 0.0, bar(0, -HEAVY, edges[-1] - edges[0], 2 * HEAVY))


def _edges(block: Table, place: Place, scale: float) -> list[float]:
    """Where the column rules stand, from the left edge of the page."""
    count = max([len(block.heading), *(len(row) for row in block.rows)], default=0)
    shares = [max(0.0, share) for share in block.widths[:count]]
    shares += [fsum(shares) / len(shares) if fsum(shares) else 1.0] * (count - len(shares))
    whole = fsum(shares) or 1.0
    width = place.width * (min(1.0, block.width * scale) if block.width > 0 else 1.0)
    least = min(2 * CELL_SIDE + 8, width / max(1, count))  # a share of nothing still shows its text
    wide = [max(least, share / whole * width) for share in shares]
    spread = width / fsum(wide) if wide else 1.0
    edges = [place.x]
    for each in wide:
        edges.append(edges[-1] + each * spread)
    return edges


class _Rows:
    """Sets the rows of one table."""

    def __init__(
        self, setting: Typesetting, edges: list[float], style: Style, place: Place, taken: float = 0.0
    ) -> None:
        self.setting = setting
        self.edges = edges
        self.widths = [right - left - 2 * CELL_SIDE for left, right in pairwise(edges)]
        self.style, self.heavier = style, style.heavier()
        self.room = max(place.room - taken, 0.4 * place.room)
        self.least = 0.0 if setting.teacher else _EMPTY_ROW * setting.look.scale
        self.heads: list[str] = []  # what stands over the columns

    def slabs(self, cells: Sequence[Cell], row: Element, heading: bool) -> list[Slab]:
        """One slab, or several where a single row is taller than a page."""
        set_cells = [self._cell(cell, column, row, heading) for column, cell in enumerate(cells)]
        whole = self._slab(set_cells, heading)
        if self.setting.fillable and not heading:
            whole.blanks = tuple(self._blanks(cells, set_cells))
        if whole.height <= self.room:
            return [whole]
        made: list[Slab] = []
        waiting = [
            (element, align, self._chunks(cells[index], index, heading, single=True))
            for index, (element, align, _) in enumerate(set_cells)
        ]
        while any(chunks for _, _, chunks in waiting):
            taken = []
            for element, align, chunks in waiting:
                fits = _that_fit(chunks, self.room - 2 * CELL_TOP - 3 * self.style.leading)
                taken.append((element, align, chunks[:fits]))
                del chunks[:fits]
            made.append(self._slab(taken, heading))
        return made

    def _blanks(self, cells: Sequence[Cell], set_cells: Sequence[tuple[Element, str, list[Chunk]]]) -> Iterator[Blank]:
        """The cells that nothing stands in: each a place to write on, told by its row and its column."""
        row = _words_of(cells[0]) if cells else ""
        for column, (cell, (element, _, chunks)) in enumerate(zip(cells, set_cells, strict=True)):
            if chunks or cell.head:
                continue
            left, right = self.edges[column] + 1.0, self.edges[column + 1] - 1.0
            over = self.heads[column] if column < len(self.heads) else ""
            told = ", ".join(filter(None, (row, over))) or "gap"
            yield Blank(element, left, 0.0, right - left, 0.0, told, "gap")

    def _cell(self, cell: Cell, column: int, row: Element, heading: bool) -> tuple[Element, str, list[Chunk]]:
        if heading or cell.head:
            element = row.child("TH", attributes=COLUMN_HEAD if heading else ROW_HEAD)
        else:
            element = row.child("TD")
        return element, cell.align, self._chunks(cell, column, heading)

    def _chunks(self, cell: Cell, column: int, heading: bool, single: bool = False) -> list[Chunk]:
        style = self.heavier if cell.head or heading else self.style
        chunks: list[Chunk] = []
        for line in cell.lines:
            chunks += self.setting.lines(line, style, self.widths[column], cell.align, single)
        return chunks

    def _slab(self, cells: Sequence[tuple[Element, str, list[Chunk]]], heading: bool) -> Slab:
        heights: list[float] = []
        lead, most, hung = (
            0.0,
            0,
            self.style.leading,
        )  # the common first baseline, lines of the fullest cell, height of the inside
        for _, _, chunks in cells:
            heights.append(chunks[0].height if len(chunks) == 1 else fsum([chunk.height for chunk in chunks]))
            if chunks:
                lead = max(lead, chunks[0].first)
                most = max(most, sum([chunk.lines for chunk in chunks]))
        middle = heading or (most <= _CENTRED_LINES * self.setting.look.scale and not self.setting.teacher)
        for used, (_, _, chunks) in zip(heights, cells, strict=True):
            hung = max(hung, used if middle or not chunks else used + (lead - chunks[0].first))
        inner = hung if heading or all(heights) else max(hung, self.least - 2 * CELL_TOP)
        tall = inner + 2 * CELL_TOP
        marks: list[Mark] = [self._rules(tall, heading)]
        firsts: list[float] = []
        for left, (element, _, chunks), used in zip(self.edges, cells, heights, strict=False):
            y = CELL_TOP + ((inner - used) / 2 if middle else lead - (chunks[0].first if chunks else 0.0))
            x = left + CELL_SIDE
            if not chunks:
                marks.append(Mark(element, x, y, ()))  # an empty cell is a cell too
            for chunk in chunks:
                firsts.append(y + chunk.first)
                marks.append(Mark(element, x, y, chunk.segments))
                y += chunk.height
        return Slab(height=tall, marks=marks, first=min(firsts, default=None))

    def _rules(self, tall: float, heading: bool) -> Mark:
        return artifact(self.edges[0], 0.0, _rules(tuple(self.edges), tall, HEAVY if heading else HAIRLINE))


@lru_cache(maxsize=512)
def _rules(edges: tuple[float, ...], tall: float, below: float) -> str:
    """The rules round the cells of a row so tall: one above, one below of its own weight, and one at each edge."""
    left, right = edges[0], edges[-1]
    strips = [bar(0, -HAIRLINE / 2, right - left, HAIRLINE), bar(0, -tall - below / 2, right - left, below)]
    strips += [bar(edge - left - HAIRLINE / 2, -tall, HAIRLINE, tall) for edge in edges[1:-1]]
    strips += [bar(edge - left - RULE / 2, -tall - HAIRLINE / 2, RULE, tall + HAIRLINE) for edge in (left, right)]
    return "\n".join(strips)


def _words_of(cell: Cell) -> str:
    return " ".join(plain(line).strip() for line in cell.lines)


def _that_fit(chunks: Sequence[Chunk], room: float) -> int:
    """How many chunks from the front go into the room: at least one, so that there is always progress."""
    used = 0.0
    for count, chunk in enumerate(chunks):
        used += chunk.height
        if used > room and count:
            return count
    return len(chunks)
