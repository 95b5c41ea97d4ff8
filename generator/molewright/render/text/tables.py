"""Tables and figures come in; lines of plain text in columns go out. Never wider than it is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle
from math import fsum

from molewright.chem.units import NO_BREAK
from molewright.nodes.blocks import Cell, ElementSquare, ElementTable, Table
from molewright.nodes.figures import BarFigure, CountChart, FlowFigure
from molewright.render.text.lines import hung, plain_line, shown_width, wrapped


def _indented(lines: Sequence[str], by: int) -> list[str]:
    return [" " * by + line for line in lines]


# ---------------------------------------------------------------- figures, told as lists


def _figure(alt: str, width: int) -> list[str]:
    return hung("Figure:", alt, width, hang=2) if alt else []


def flow(node: FlowFigure, width: int) -> list[str]:
    lines = _figure(node.alt, width)
    for place, box in enumerate(node.boxes):
        lines += hung(f"{place + 1}.", plain_line(box.title), width, hang=3)
        for line in (*box.lines, *box.found):
            lines += _indented(wrapped(plain_line(line), width - 3), 3)
        if place < len(node.arrows) and place + 1 < len(node.boxes):
            lines += hung("→", plain_line(node.arrows[place]), width, hang=3)
    return lines


def bar(node: BarFigure, width: int) -> list[str]:
    """The bar in proportion, one sign a piece, then its pieces by name."""
    lines = _figure(node.alt, width) + wrapped(plain_line(node.total), width)
    room = min(width, 62) - 2
    plain = cycle("=+:")  # neighbours without hatching must differ too
    signs = ["/" if piece.hatched else next(plain) for piece in node.pieces]
    drawn, reached = "", 0.0
    for sign, piece in zip(signs, node.pieces, strict=True):
        reached += piece.share
        drawn += sign * (max(0, min(round(reached * room), room)) - len(drawn))
    lines.append(f"[{drawn}]")
    for sign, piece in zip(signs, node.pieces, strict=True):
        lines += hung(sign, plain_line(piece.label), width, hang=2)
    return lines


def counts(node: CountChart, width: int) -> list[str]:
    """One row of signs for each count, in proportion where the largest is wider than the room."""
    lines = _figure(node.alt, width) + wrapped(plain_line(node.title), width)
    most = max([1, node.most, *(row.count for row in node.rows)])
    room = max(1, width * 2 // 5)
    across = max(1, width - room - 8)
    for row in node.rows:
        words = wrapped(plain_line(row.label), across) or [""]
        signs = max(0, row.count) if most <= room else -(-max(0, row.count) * room // most)
        drawn = f"{'#' * signs} {row.count}{node.sign}".strip()
        lines += [*words[:-1], f"{words[-1]}{' ' * (across - shown_width(words[-1]))} | {drawn}"]
    return lines


# ---------------------------------------------------------------- tables

_BAR = " | "
_LEAST_COLUMN = 3
_PERIODS, _BEFORE_A_SERIES = 7, 2  # of a periodic table


def _padded(text: str, width: int, align: str) -> str:
    room = max(0, width - shown_width(text))
    before = {"left": 0, "centre": room // 2, "right": room}[align]
    return " " * before + text + " " * (room - before)


@dataclass(frozen=True, slots=True)
class _Words:
    """A cell as plain words, line by line."""

    lines: tuple[str, ...]
    align: str


def _words(cells: Sequence[Cell]) -> tuple[_Words, ...]:
    return tuple([_Words(tuple(map(plain_line, cell.lines)), cell.align) for cell in cells])


def _natural(rows: Sequence[Sequence[_Words]], columns: int) -> list[int]:
    """How wide each column would be with every line of a cell on one line."""
    natural = [_LEAST_COLUMN] * columns
    for row in rows:
        for place, cell in enumerate(row[:columns]):
            natural[place] = max([natural[place], *map(shown_width, cell.lines)])
    return natural


def _widths(shares_of: Sequence[float], rows: Sequence[Sequence[_Words]], width: int) -> list[int]:
    """Columns as wide as their words where all fit; otherwise shares of the width, narrow columns served first."""
    natural = _natural(rows, len(shares_of))
    room = left_over = width - len(_BAR) * (len(natural) - 1)
    if sum(natural) <= room:
        return natural
    found = list(natural)
    unserved = set(range(len(natural)))
    while unserved:
        whole = fsum(shares_of[place] for place in unserved) or 1.0
        shares = {place: int(shares_of[place] / whole * left_over) for place in unserved}
        served = {place for place in unserved if natural[place] <= shares[place]}
        if not served:
            for place, share in shares.items():
                found[place] = max(_LEAST_COLUMN, share)
            break
        left_over -= sum(natural[place] for place in served)
        unserved -= served
    while sum(found) > room and max(found) > 1:  # the least widths have taken too much: the widest column gives way
        found[found.index(max(found))] -= 1
    return _words_whole(found, _least(rows, len(natural)), room)


def _least(rows: Sequence[Sequence[_Words]], columns: int) -> list[int]:
    """How wide each column must be for no number, unit or formula to be cut."""
    least = [_LEAST_COLUMN] * columns
    for row in rows:
        for place, cell in enumerate(row[:columns]):
            words = (word for line in cell.lines for word in line.replace(NO_BREAK, " ").split(" "))
            least[place] = max([least[place], *map(shown_width, words)])
    return least


def _words_whole(found: list[int], least: Sequence[int], room: int) -> list[int]:
    """The widths, with room for the longest word of each column, which is left over or taken from those that can spare it."""
    for place, wide in enumerate(least):
        while found[place] < wide:
            spare = [found[at] - least[at] for at in range(len(found))]
            if sum(found) >= room:
                if max(spare) < 1:
                    return found
                found[spare.index(max(spare))] -= 1
            found[place] += 1
    return found


def _turned(heading: Sequence[_Words], body: Sequence[Sequence[_Words]]) -> list[tuple[_Words, ...]]:
    """The table with its columns as rows; the first is the heading."""
    return [tuple(row[place] for row in (heading, *body)) for place in range(len(heading))]


def _cuts(rows: Sequence[Sequence[_Words]], columns: int, width: int) -> bool:
    """Whether so many columns are too many for any widths that leave every word whole."""
    room = width - len(_BAR) * (columns - 1)
    return sum(_natural(rows, columns)) > room and sum(_least(rows, columns)) > room


def _row(cells: Sequence[_Words], widths: Sequence[int]) -> list[str]:
    columns = [
        [line for words in cell.lines for line in wrapped(words, width)]
        for cell, width in zip(cells, widths, strict=False)
    ]
    height = max([1, *map(len, columns)])
    return [
        _BAR.join(
            _padded(column[line] if line < len(column) else "", width, cell.align)
            for column, cell, width in zip(columns, cells, widths, strict=False)
        ).rstrip(" ")
        for line in range(height)
    ]


def table(node: Table, width: int) -> list[str]:
    heading, body = _words(node.heading), [_words(cells) for cells in node.rows]
    shares = node.widths
    even = heading and len({len(heading), *map(len, body)}) == 1 and not node.groups
    if even and _cuts([heading, *body], len(heading), width):
        turned = _turned(heading, body)
        if not _cuts(turned, len(turned[0]), width):
            heading, body, shares = turned[0], turned[1:], (1 / len(turned[0]),) * len(turned[0])
    widths = _widths(shares, [heading, *body], width)
    rule = "-+-".join("-" * column for column in widths)
    rows = [_row(cells, widths) for cells in body]
    apart = any(len(row) > 1 for row in rows)  # rows of several lines need a rule to be told apart
    lines = hung("Table:", node.summary, width, hang=2) if node.summary else []
    if node.heading:
        lines += [*_row(heading, widths), rule]
    for place, row in enumerate(rows):
        if place and place in node.groups:
            lines.append(rule.replace("-", "="))
        elif place and apart and place not in node.keep_rows:
            lines.append(rule)
        lines += row
    return lines


def elements(node: ElementTable, width: int) -> list[str]:
    """The elements period by period with their masses; the eighteen columns of the table would not go into the width."""
    periods: dict[int, list[str]] = {}
    for square in sorted(node.squares, key=_as_read):
        if square.mass:
            period = square.row if square.row <= _PERIODS else square.row - 2
            periods.setdefault(period, []).append(f"{square.symbol}\N{NO-BREAK SPACE}{square.mass}")
    lines = hung("Table:", node.summary, width, hang=2) if node.summary else []
    for period, held in sorted(periods.items()):
        lines += hung(f"Period {period}:", ", ".join(held), width, hang=10)
    return lines


def _as_read(square: ElementSquare) -> tuple[int, int]:
    """By atomic number: a series stands among the groups of its period, after the first two."""
    return (
        (1, square.column) if square.row > _PERIODS else (0 if square.column <= _BEFORE_A_SERIES else 2, square.column)
    )
