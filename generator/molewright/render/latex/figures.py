"""Figures come in; TikZ pictures in LaTeX go out, in black and white only. Never loads a picture from anywhere.

One unit is a point of 1/72 inch, y downwards, as in the pictures; words stand where they are hung, however wide TeX sets them.
"""

from __future__ import annotations

from typing import assert_never

from molewright.nodes.drawing.pictures import pictures
from molewright.nodes.drawing.strokes import Box, Dots, Frame, Lines, Picture, Point, Shape, Stroke, Words
from molewright.nodes.figures import Figure
from molewright.nodes.inline import Line
from molewright.render.latex.escape import escape_plain
from molewright.render.latex.lines import LineWriter
from molewright.render.latex.small_type import SIZE, SmallType

_CAPITALS = 0.36  # half their height, in ems
_ROUND_WORDS = 1.0  # white round words that are cleared
_EDGES = {"left": ("west", 0.0, "left"), "centre": ("", 0.5, "center"), "right": ("east", 1.0, "right")}
_HUNG = {"top": "north", "middle": "", "foot": "south", "astride": "base"}


def figure(node: Figure, writer: LineWriter, width: float, room: float) -> str:
    """A figure in a column of a width on a page of a height, in points; "" where there is nothing to show."""
    made = pictures(node, SmallType(), width, room)
    if not made:
        return ""
    drawn = "\\par\\vskip 10pt\n".join(rf"\fitted{{{_picture(one, writer)}}}" for one in made)
    return f"\\leavevmode\\figureinwords{{{escape_plain(made[0].alt)}}}{{%\n{drawn}}}"


def _picture(picture: Picture, writer: LineWriter) -> str:
    lines = [rf"  \path (0,0) rectangle {_at((picture.width, picture.height))};"]
    for item in picture.items:
        lines.append(_words(item, writer) if isinstance(item, Words) else _inked(item))
    body = "\n".join(line for line in lines if line)
    return f"\\begin{{tikzpicture}}[x=1bp, y=-1bp, font=\\figuretype]\n{body}\n\\end{{tikzpicture}}"


# ---------------------------------------------------------------- words


def _words(words: Words, writer: LineWriter) -> str:
    lines = [(line, bold) for line, bold in words.lines if line]
    if not lines:
        return ""
    side, share, align = _EDGES[words.across]
    anchor = " ".join(filter(None, (_HUNG[words.hung], side))) or "center"
    inside = _ROUND_WORDS if words.cleared else 0.0
    options = [f"anchor={anchor}", f"inner sep={inside:g}bp", f"align={align}"]
    options += [f"text width={words.width:.2f}bp"] if SmallType().breaks(words) else []
    options += ["fill=white"] if words.cleared else []
    y = words.y + _CAPITALS * SIZE if words.hung == "astride" else words.y
    written = r" \\ ".join(_paragraph(line, bold, writer) for line, bold in lines)
    return rf"  \node[{', '.join(options)}] at {_at((words.x + share * words.width, y))} {{{written}}};"


def _paragraph(line: Line, bold: bool, writer: LineWriter) -> str:
    written = rf"\strut {writer.line(line)}\strut"
    return rf"{{\bfseries {written}}}" if bold else written


# ---------------------------------------------------------------- strokes


def _inked(stroke: Stroke) -> str:
    match stroke:
        case Lines():
            return _lines(stroke)
        case Frame():
            return rf"  \draw[line width={stroke.weight:g}bp] {_rectangle(stroke.box)};"
        case Dots():
            places = " ".join(rf"{_at(one)} circle[radius={stroke.size / 2:g}bp]" for one in stroke.places)
            return rf"  \fill {places};" if places else ""
        case Shape():
            return rf"  \fill {_at(stroke.start)}{''.join(map(_side, stroke.sides))} -- cycle;"
        case _:
            assert_never(stroke)


def _lines(stroke: Lines) -> str:
    if not stroke.pieces:
        return ""
    look = [f"line width={stroke.weight:g}bp"]
    if stroke.dashes:
        drawn, left_out = stroke.dashes
        look.append(f"dash pattern=on {drawn:g}bp off {left_out:g}bp")
    look += ["line cap=round, line join=round"] if stroke.rounded else []
    path = " ".join(" -- ".join(map(_at, piece)) for piece in stroke.pieces)
    draw = rf"  \draw[{', '.join(look)}] {path};"
    if stroke.within is None:
        return draw
    return rf"  \begin{{scope}}\clip {_rectangle(stroke.within)};{draw}\end{{scope}}"


def _side(side: tuple[Point, ...]) -> str:
    if len(side) == 1:
        return f" -- {_at(side[0])}"
    first, second, end = side
    return f" .. controls {_at(first)} and {_at(second)} .. {_at(end)}"


def _at(point: Point) -> str:
    return f"({point[0]:.2f},{point[1]:.2f})"


def _rectangle(box: Box) -> str:
    return f"{_at((box.x, box.y))} rectangle {_at((box.x + box.wide, box.y + box.tall))}"
