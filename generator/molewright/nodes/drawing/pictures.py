"""A figure comes in; its pictures go out, or paragraphs that tell the same where no page holds so many words."""

from __future__ import annotations

from typing import assert_never

from molewright.nodes.blocks import Paragraph
from molewright.nodes.drawing.bars import bar_picture, count_picture
from molewright.nodes.drawing.burettes import burette_pictures
from molewright.nodes.drawing.curves import curve_picture
from molewright.nodes.drawing.flow import flow_picture
from molewright.nodes.drawing.scaled import scaled
from molewright.nodes.drawing.scales import standing
from molewright.nodes.drawing.strokes import Lettering, Picture
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, Figure, FlowFigure
from molewright.nodes.inline import Text


def pictures(node: Figure, lettering: Lettering, width: float, room: float, scale: float = 1.0) -> tuple[Picture, ...]:
    """Rows below each other in a column of a width on a page of a height, in points; () where there is nothing to show.

    They are laid out in the type that `lettering` measures and come out `scale` times as large.
    """
    return tuple(scaled(one, scale) for one in _pictures(node, lettering, width / scale, room / scale))


def _pictures(node: Figure, lettering: Lettering, width: float, room: float) -> tuple[Picture, ...]:
    match node:
        case FlowFigure():
            return (flow_picture(node, lettering, width),) if node.boxes else ()
        case BarFigure():
            return (bar_picture(node, lettering, width),) if node.pieces else ()
        case CountChart():
            return (count_picture(node, lettering, width),) if node.rows else ()
        case BuretteFigure():
            return burette_pictures(node, lettering, width) if node.views else ()
        case CurveFigure():
            return (curve_picture(node, lettering, width, room),)
        case _:
            assert_never(node)


def in_words(node: Figure) -> list[Paragraph]:
    """The figure told in order, for a page that cannot hold it. A curve always fits."""
    match node:
        case FlowFigure():
            return _flow_in_words(node)
        case BarFigure():
            return [Paragraph(node.total, "lead"), *(Paragraph(piece.label) for piece in node.pieces)]
        case CountChart():
            counts = (Paragraph((*row.label, Text(f": {row.count}"))) for row in node.rows)
            return [Paragraph(node.title, "lead"), *counts]
        case BuretteFigure():
            return [Paragraph((*view.label, Text(f": {standing(view.reading)}"))) for view in node.views]
        case CurveFigure():
            return []
        case _:
            assert_never(node)


def _flow_in_words(node: FlowFigure) -> list[Paragraph]:
    told: list[Paragraph] = []
    for index, box in enumerate(node.boxes):
        told.append(Paragraph(box.title, "lead"))
        told += [Paragraph(line) for line in (*box.lines, *box.found)]
        if index < min(len(node.boxes) - 1, len(node.arrows)):
            told.append(Paragraph((Text("→ "), *node.arrows[index])))
    return told
