"""Total = reacted + left over (bar), and charts of counts, come in; bars with their words go out, told apart by hatching."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from molewright.nodes.drawing.blanks import has_blank, room_to_write
from molewright.nodes.drawing.strokes import (
    HAIRLINE,
    RULE,
    THIN,
    Box,
    Frame,
    Lettering,
    Picture,
    Stroke,
    Words,
    hatching,
    one_line,
)
from molewright.nodes.figures import BarFigure, BarPiece, CountChart
from molewright.nodes.inline import Line, Text

_BAR_TALL, _HATCH = 22.0, 5.0
_APART, _LABEL_MOST = 8.0, 84.0  # between the words below two pieces, and their width where one line would be wider
_EDGE = 0.4
_FOOT = 3.0  # below the words inside a piece

_SHARE = 0.44  # of the width, for the words beside the bars of a chart
_NUMBER = 24.0  # kept free at the end of the longest bar for its number
_SIGN = 6.0  # and for each letter of the sign behind it
_COUNT_TALL, _COUNT_HATCH, _BETWEEN, _GAP = 9.0, 3.2, 4.0, 6.0


def bar_picture(node: BarFigure, lettering: Lettering, width: float) -> Picture:
    """The total in a bracket above, the pieces of the bar with their words below."""
    above = room_to_write(node.total, lettering)
    total = Words(lines=((node.total, False),), x=0.0, y=above, width=width, across="centre")
    items: list[Stroke | Words] = [total]
    strokes: list[Stroke] = []
    y = above + lettering.height(total) + 3.0
    left, right = _EDGE, width - _EDGE
    strokes.append(one_line(((left, y + 6), (left, y), (right, y), (right, y + 6)), RULE))
    y += 9.0
    spans = piece_spans(node.pieces, width)
    if _written_in(node, spans, lettering):
        y += _pieces_to_fill(node, spans, y, lettering, items)
        return Picture(width=width, height=y, items=(*items, *strokes), alt=node.alt or told_bar(node, lettering))
    for piece, (start, end) in zip(node.pieces, spans, strict=True):
        if piece.hatched:
            strokes.append(hatching(Box(start, y, end - start, _BAR_TALL), _HATCH))
        if start:
            strokes.append(one_line(((start, y + _BAR_TALL), (start, y)), RULE))
    strokes.append(Frame(Box(left, y, width - 2 * _EDGE, _BAR_TALL), RULE))
    y += _BAR_TALL
    foot = y
    columns = label_columns(node.pieces, spans, width, lettering)
    for piece, (start, end), (x, wide) in zip(node.pieces, spans, columns, strict=True):
        strokes.append(one_line((((start + end) / 2, y + 1.5), (x + wide / 2, y + 8)), HAIRLINE))
        level = y + 9.0 + room_to_write(piece.label, lettering)
        words = Words(lines=((piece.label, False),), x=x, y=level, width=wide, across="centre")
        items.append(words)
        foot = max(foot, level + lettering.height(words))
    return Picture(width=width, height=foot, items=(*items, *strokes), alt=node.alt or told_bar(node, lettering))


def _written_in(node: BarFigure, spans: Sequence[tuple[float, float]], lettering: Lettering) -> bool:
    """Whether every piece has a blank and the width for its words, so that they are written into the bar itself."""
    pairs = zip(node.pieces, spans, strict=True)
    return all(
        has_blank(piece.label) and lettering.width(piece.label) + _APART < end - start for piece, (start, end) in pairs
    )


def _pieces_to_fill(
    node: BarFigure,
    spans: Sequence[tuple[float, float]],
    y: float,
    lettering: Lettering,
    items: list[Stroke | Words],
) -> float:
    """Draw the pieces below y with their words inside, where hatching would be in the way of a hand; their height."""
    tall = max(room_to_write(piece.label, lettering) for piece in node.pieces) + _FOOT
    tall += max(lettering.height(_inside(piece, span, 0.0)) for piece, span in zip(node.pieces, spans, strict=True))
    for piece, span in zip(node.pieces, spans, strict=True):
        start, end = max(span[0], _EDGE), min(span[1], spans[-1][1] - _EDGE)
        items.append(_inside(piece, span, y + room_to_write(piece.label, lettering)))
        items.append(Frame(Box(start, y, end - start, tall), RULE))
    return tall + _EDGE


def _inside(piece: BarPiece, span: tuple[float, float], y: float) -> Words:
    return Words(lines=((piece.label, False),), x=span[0], y=y, width=span[1] - span[0], across="centre")


def told_bar(node: BarFigure, lettering: Lettering) -> str:
    """The total and what it is made of."""
    pieces = " and ".join(lettering.said(piece.label) for piece in node.pieces)
    return f"{lettering.said(node.total)} is made of {pieces}"


def piece_spans(pieces: Sequence[BarPiece], width: float) -> list[tuple[float, float]]:
    """Where each piece begins and ends; shares are taken as parts of their sum."""
    shares = [max(0.0, piece.share) for piece in pieces]
    whole = fsum(shares) or 1.0
    spans: list[tuple[float, float]] = []
    x = 0.0
    for share in shares:
        spans.append((x, x + share / whole * width))
        x = spans[-1][1]
    return spans


def label_columns(
    pieces: Sequence[BarPiece], spans: Sequence[tuple[float, float]], width: float, lettering: Lettering
) -> list[tuple[float, float]]:
    """Left edge and width of the words below each piece; neighbours are pushed apart where pieces are narrow."""
    natural = [lettering.width(piece.label) + 1.0 for piece in pieces]
    least = [lettering.widest(piece.label) + 1.0 for piece in pieces]
    widths = [
        min(want, max(end - start - _APART, small, _LABEL_MOST))
        for want, small, (start, end) in zip(natural, least, spans, strict=True)
    ]
    room = width - _APART * (len(pieces) - 1)
    if fsum(widths) > room:
        widths = [wide * room / fsum(widths) for wide in widths]
    places: list[float] = []
    edge = 0.0
    for wide, (start, end) in zip(widths, spans, strict=True):
        places.append(max(edge, (start + end - wide) / 2))
        edge = places[-1] + wide + _APART
    limit = width
    for index in reversed(range(len(places))):
        places[index] = min(places[index], limit - widths[index])
        limit = places[index] - _APART
    return list(zip(places, widths, strict=True))


def count_picture(node: CountChart, lettering: Lettering, width: float) -> Picture:
    """The title, then one bar a row: its words at the left, its number at its end."""
    beside = width * _SHARE
    left = beside + _GAP
    room = _NUMBER + _SIGN * len(node.sign)
    longest = width - left - room
    most = max(1, node.most, *(row.count for row in node.rows))
    words: list[Words] = []
    strokes: list[Stroke] = []
    y = 0.0
    if node.title:
        words.append(Words(lines=((node.title, True),), x=0.0, y=0.0, width=width))
        y = lettering.height(words[0]) + _BETWEEN
    start = y
    for row in node.rows:
        tall = max(lettering.height(_beside(row.label, beside, 0.0)), _COUNT_TALL)
        middle = y + tall / 2
        words.append(_beside(row.label, beside, middle))
        long = longest * max(0, row.count) / most
        if long > 0:
            bar = Box(left, y + (tall - _COUNT_TALL) / 2, long, _COUNT_TALL)
            strokes += [hatching(bar, _COUNT_HATCH), Frame(bar, THIN)]
        number = (((Text(f"{row.count}{node.sign}", bold=True),), False),)
        words.append(Words(lines=number, x=left + long + 4.0, y=middle, width=room, hung="middle"))
        y += tall + _BETWEEN
    strokes.append(one_line(((left, max(0.0, start - 2)), (left, y - 2)), THIN))
    return Picture(width=width, height=y, items=(*words, *strokes), alt=node.alt or told_counts(node, lettering))


def told_counts(node: CountChart, lettering: Lettering) -> str:
    """The title and every count."""
    counts = (f"{lettering.said(row.label)}: {row.count}{node.sign}" for row in node.rows)
    return "; ".join(filter(None, (lettering.said(node.title), *counts)))


def _beside(label: Line, width: float, middle: float) -> Words:
    return Words(lines=((label, False),), x=0.0, y=middle, width=width, across="right", hung="middle")
