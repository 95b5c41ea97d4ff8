"""The facts of a figure come in; a figure's node with its words in the paper's style goes out. Reads no number off it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from molewright.further_parts.curves.graph import NUMBERED_CM3, GraphPicture
from molewright.further_parts.curves.ph_curve import CurvePicture
from molewright.further_parts.pieces import Bottle, Piece
from molewright.further_parts.reading.burette import BurettePicture
from molewright.nodes.figures import Axis, BuretteFigure, BuretteView, CurveBand, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.sheet.writer import Writer

Write = Callable[[Writer, Piece], Line]

_VOLUME_CM3 = (Decimal(0), Decimal(50), Decimal(5), 5)  # from, to, numbered every, divided
_UNITS = {"thermometric graph": "°C", "conductometric graph": "mS cm⁻¹"}
_PH = (Decimal(0), Decimal(14), Decimal(1), 2)


def curve(writer: Writer, picture: CurvePicture, write: Write) -> CurveFigure:
    """A pH curve on axes that are the same for every titration from one burette."""
    across = writer.words.line("axis volume", 0, titrant=write(writer, Bottle(picture.titrant)))
    return CurveFigure(
        Axis(across, writer.numbers.unit("cm³"), *_VOLUME_CM3),
        Axis((Text("pH"),), "", *_PH),
        picture.points,
        tuple(CurveMark(spot.volume_cm3, spot.ph, write(writer, spot.label), spot.to_ph) for spot in picture.spots),
        tuple(CurveBand(float(strip.low), float(strip.high), (Text(strip.name),)) for strip in picture.strips),
    )


def graph(writer: Writer, picture: GraphPicture, write: Write) -> CurveFigure:
    """Readings on squared paper, with the lines through them where they are drawn."""
    across = writer.words.line("axis volume", 0, titrant=write(writer, Bottle(picture.titrant)))
    up = picture.up
    marks = (CurveMark(*picture.meeting, write(writer, picture.label)),) if picture.meeting else ()
    return CurveFigure(
        Axis(
            across,
            writer.numbers.unit("cm³"),
            Decimal(0),
            picture.across_cm3,
            Decimal(NUMBERED_CM3),
            picture.across_divided,
        ),
        Axis(writer.words.line(f"axis {picture.shows}"), _UNITS[picture.shows], up.low, up.high, up.step, up.divided),
        marks=marks,
        crosses=picture.readings,
        lines=picture.lines,
    )


def burettes(writer: Writer, picture: BurettePicture, write: Write) -> BuretteFigure:
    """Burettes seen close, side by side."""
    views = tuple(BuretteView(write(writer, label), reading) for label, reading in picture.views)
    return BuretteFigure(views, writer.numbers.unit("cm³"))
