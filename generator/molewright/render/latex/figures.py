"""Figures come in; TikZ pictures in LaTeX go out, in black and white only. Never loads a picture from anywhere.

Stations are laid from left to right, in two rows where there are more than four; every box of a row is as tall as
the tallest, and the words under a bar keep clear of each other however thin a piece is.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from molewright.nodes.blocks import ElementTable
from molewright.nodes.figures import BarFigure, CountChart, FlowBox, FlowFigure
from molewright.render.latex.escape import escape, escape_plain
from molewright.render.latex.lines import LineWriter

_MOST_IN_A_ROW = 4
_ARROW_MM = {1: 0, 2: 34, 3: 24, 4: 17}  # room for the words on an arrow, by how many boxes share the line
_PERIODS, _SERIES_DOWN = 7, 0.3  # how much lower than the rest the two series of a periodic table stand, in rows
_MASS_LETTERS, _LONG_LETTERS = 6, 7  # that a square holds in ordinary type, and in small type on each of two lines
_SQUARE_MM, _LONG_SQUARE_MM = 9.6, 12.2  # height of a square
_SECOND_LINE = r"\\[-4pt]\scriptsize "
_LEAST_SHARE, _MOST_SHARE = 0.2, 0.4  # of the bar's length, for the words under a piece


def _described(alt: str, picture: str) -> str:
    if not alt.strip():
        return rf"\leavevmode{picture}"
    return f"\\leavevmode\\figureinwords{{{escape_plain(alt)}}}{{%\n{picture}}}"


def flow(node: FlowFigure, writer: LineWriter) -> str:
    """The stations of an experiment with words on the arrows between them."""
    count = len(node.boxes)
    if not count:
        return ""
    across = count if count <= _MOST_IN_A_ROW else (count + 1) // 2
    across = min(across, _MOST_IN_A_ROW)
    room = _ARROW_MM[across]
    lines = [
        rf"\setlength{{\stationwidth}}{{\dimexpr(\linewidth-{room * (across - 1)}mm-1pt)/{across}\relax}}%",
        r"\begin{tikzpicture}",
    ]
    rows = [range(start, min(start + across, count)) for start in range(0, count, across)]
    for row, places in enumerate(rows):
        for place in places:
            where = ""
            if place > places.start:
                where = f", right={room}mm of s{place - 1}"
            elif row:
                where = f", below=13mm of row{row - 1}.south -| s{rows[0].start}"
            lines.append(rf"  \node[station{where}] (s{place}) {{{_station(node.boxes[place], writer)}}};")
        lines.append(rf"  \node[row, fit={''.join(f'(s{place})' for place in places)}] (row{row}) {{}};")
        lines.extend(
            rf"  \draw[rounded corners=1mm] (s{place}.west |- row{row}.north)"
            rf" rectangle (s{place}.east |- row{row}.south);"
            for place in places
        )
    for place, words in enumerate(node.arrows[: count - 1]):
        lines.append(_arrow(place, across, room, writer.line(words)))
    return _described(node.alt, "\n".join([*lines, r"\end{tikzpicture}"]))


def _station(box: FlowBox, writer: LineWriter) -> str:
    title = rf"{{\bfseries {writer.line(box.title)}}}" if box.title else ""
    return r" \\ ".join(part for part in (title, *map(writer.line, box.lines)) if part)


def _arrow(place: int, across: int, room: int, words: str) -> str:
    start, end = f"s{place}", f"s{place + 1}"
    row, column = divmod(place, across)
    if column < across - 1:
        node = rf" node[passage, above, text width={room - 3}mm] {{{words}}}" if words else ""
        return rf"  \draw[->] ({start}.east |- row{row}.center) --{node} ({end}.west |- row{row}.center);"
    node = rf" node[passage, fill=white] {{{words}}}" if words else ""
    return "\n".join(
        [
            rf"  \coordinate (turn) at ($(row{row}.south)!0.5!(row{row + 1}.north)$);",
            rf"  \draw[->] ({start} |- row{row}.south) -- ({start} |- turn) --{node} ({end} |- turn)"
            rf" -- ({end} |- row{row + 1}.north);",
        ]
    )


def _label_places(shares: Sequence[float]) -> list[tuple[float, float]]:
    """Middle and width of each label: under its piece where there is room, moved aside only to keep clear of others."""
    least, most = min(_LEAST_SHARE, 1 / len(shares)), max(_MOST_SHARE, 1 / len(shares))
    widths = [min(max(share, least), most) for share in shares]
    scale = min(1.0, 1 / fsum(widths))
    widths = [width * scale for width in widths]
    starts: list[float] = []
    reached = at = 0.0
    for share, width in zip(shares, widths, strict=True):
        starts.append(max(reached, at + share / 2 - width / 2))
        reached, at = starts[-1] + width, at + share
    limit = 1.0
    for place in reversed(range(len(starts))):
        starts[place] = min(starts[place], limit - widths[place])
        limit = starts[place]
    return [(start + width / 2, width) for start, width in zip(starts, widths, strict=True)]


def bar(node: BarFigure, writer: LineWriter) -> str:
    """Total above, pieces below; a thin line leads from a piece to its words where they are not under it."""
    if not node.pieces:
        return ""
    lines = [
        r"\setlength{\barwidth}{\dimexpr\linewidth-1pt\relax}%",
        r"\begin{tikzpicture}[x=\barwidth, y=1mm]",
        r"  \draw[|<->|] (0,12) -- (1,12);",
        rf"  \node[anchor=south, align=center, font=\small, text width=0.9\barwidth] at (0.5,12.6)"
        rf" {{{writer.line(node.total)}}};",
    ]
    total = fsum(max(0.0, piece.share) for piece in node.pieces) or 1.0
    shares = [max(0.0, piece.share) / total for piece in node.pieces]
    at = 0.0
    for piece, share, (under, width) in zip(node.pieces, shares, _label_places(shares), strict=True):
        pattern = "[pattern=north east lines]" if piece.hatched else ""
        lines.append(rf"  \draw{pattern} ({at:.4f},0) rectangle ({at + share:.4f},9);")
        lines.append(rf"  \draw ({at + share / 2:.4f},0) -- ({under:.4f},-3);")
        lines.append(
            rf"  \node[underbar, text width={width:.4f}\barwidth-2mm] at ({under:.4f},-3)"
            rf" {{{writer.line(piece.label)}}};"
        )
        at += share
    return _described(node.alt, "\n".join([*lines, r"\end{tikzpicture}"]))


_WORDS_SHARE, _BAR_SHARE = 0.44, 0.46  # of the line, for the words beside the bars and for the longest bar


def counts(node: CountChart, writer: LineWriter) -> str:
    """One hatched bar a row, its words at the left and its number at the end."""
    if not node.rows:
        return ""
    lines = [
        r"\setlength{\barwidth}{\dimexpr\linewidth-1pt\relax}%",
        r"\begin{tikzpicture}[x=\barwidth, y=1mm]",
    ]
    if node.title:
        lines.append(
            rf"  \node[anchor=south west, inner sep=0pt, font=\small\bfseries, text width=\barwidth] at (0,4)"
            rf" {{{writer.line(node.title)}}};"
        )
    most = max(1, *(row.count for row in node.rows))
    start = _WORDS_SHARE + 0.02
    foot = -8 * len(node.rows) + 4
    for place, row in enumerate(node.rows):
        y = -8 * place
        end = start + _BAR_SHARE * max(0, row.count) / most
        lines.append(
            rf"  \node[anchor=east, align=right, inner sep=0pt, font=\footnotesize, text width={_WORDS_SHARE}\barwidth]"
            rf" at ({_WORDS_SHARE},{y}) {{{writer.line(row.label)}}};"
        )
        if row.count > 0:
            lines.append(rf"  \draw[pattern=north east lines] ({start:.4f},{y - 2}) rectangle ({end:.4f},{y + 2});")
        lines.append(rf"  \node[anchor=west, font=\small\bfseries] at ({end:.4f},{y}) {{{row.count}}};")
    lines.append(rf"  \draw ({start:.4f},3.5) -- ({start:.4f},{foot});")
    return _described(node.alt, "\n".join([*lines, r"\end{tikzpicture}"]))


def elements(node: ElementTable) -> str:
    """The periodic table, square by square; the two series a little lower than the rest.

    Where a mass is too long for a square, all are set small and the long ones on two lines.
    """
    long = any(len(square.mass) > _MASS_LETTERS for square in node.squares)
    squares = []
    for square in node.squares:
        down = square.row + (_SERIES_DOWN if square.row > _PERIODS else 0)
        lines = [square.mass[at : at + _LONG_LETTERS] for at in range(0, len(square.mass), _LONG_LETTERS)]
        mass = rf"\scriptsize {_SECOND_LINE.join(map(escape, lines))}" if long else escape(square.mass)
        squares.append(
            rf"\elementsquare{{{square.column}}}{{{down:g}}}{{{escape(square.symbol)}}}{{{mass if square.mass else '~'}}}"
        )
    heads = [rf"\elementhead{{{column}}}{{0.3}}{{{column}}}" for column in sorted({one.column for one in node.squares})]
    body = "%\n".join([*heads, *squares])
    return f"\\begin{{elementtable}}{{{_LONG_SQUARE_MM if long else _SQUARE_MM:g}mm}}%\n{body}%\n\\end{{elementtable}}"
