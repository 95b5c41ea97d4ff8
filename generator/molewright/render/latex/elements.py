"""The periodic table comes in; its squares in LaTeX go out."""

from __future__ import annotations

from molewright.nodes.blocks import ElementTable
from molewright.render.latex.escape import escape

_PERIODS, _SERIES_DOWN = 7, 0.3  # how much lower than the rest the two series of a periodic table stand, in rows
_MASS_LETTERS, _LONG_LETTERS = 6, 7  # that a square holds in ordinary type, and in small type on each of two lines
_SQUARE_MM, _LONG_SQUARE_MM = 9.6, 12.2  # height of a square
_SECOND_LINE = r"\\[-4pt]\scriptsize "


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
