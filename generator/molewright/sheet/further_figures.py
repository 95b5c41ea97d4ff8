"""The facts of a figure come in; a figure's node with its words in the paper's style goes out. Reads no number off it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from molewright.chem.units import Unit
from molewright.further_parts.curves.graph import NUMBERED_CM3, GraphPicture, Scale
from molewright.further_parts.curves.ph_curve import CurvePicture
from molewright.further_parts.curves.rates import CoursePicture
from molewright.further_parts.pieces import Bottle, Chemical, Piece
from molewright.further_parts.reading.burette import BurettePicture
from molewright.nodes.figures import Axis, BuretteFigure, BuretteView, CurveBand, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.sheet.writer import Writer

Write = Callable[[Writer, Piece], Line]

_UNITS = {"thermometric graph": Unit.CELSIUS, "conductometric graph": Unit.MS_PER_CM}
_PH = Axis(name=(Text("pH"),), unit="", low=Decimal(0), high=Decimal(14), step=Decimal(1), divided=2)


def curve(writer: Writer, picture: CurvePicture, write: Write) -> CurveFigure:
    """A pH curve on axes that are the same for every titration of one kind."""
    across = writer.words.line("axis volume", 0, titrant=write(writer, picture.burette or Bottle(picture.titrant)))
    return CurveFigure(
        across=Axis(
            name=across,
            unit=writer.numbers.unit(Unit.CM3),
            low=Decimal(0),
            high=Decimal(picture.across_cm3),
            step=Decimal(NUMBERED_CM3),
            divided=picture.divided,
        ),
        up=_PH,
        points=picture.points,
        marks=tuple(
            CurveMark(spot.volume_cm3, spot.ph, write(writer, spot.label), spot.to_ph) for spot in picture.spots
        ),
        bands=tuple(CurveBand(float(strip.low), float(strip.high), (Text(strip.name),)) for strip in picture.strips),
    )


def graph(writer: Writer, picture: GraphPicture, write: Write) -> CurveFigure:
    """Readings on squared paper, with the lines through them where they are drawn."""
    across = writer.words.line("axis volume", 0, titrant=write(writer, Bottle(picture.titrant)))
    marks = (CurveMark(*picture.meeting, write(writer, picture.label)),) if picture.meeting else ()
    return CurveFigure(
        across=Axis(
            name=across,
            unit=writer.numbers.unit(Unit.CM3),
            low=Decimal(0),
            high=picture.across_cm3,
            step=Decimal(NUMBERED_CM3),
            divided=picture.across_divided,
        ),
        up=_axis(writer, writer.words.line(f"axis {picture.shows}"), _UNITS[picture.shows], picture.up),
        marks=marks,
        crosses=picture.readings,
        lines=picture.lines,
    )


def course(writer: Writer, picture: CoursePicture, write: Write) -> CurveFigure:
    """Concentrations of quenched samples against time, with the line through them where it is drawn."""
    followed = writer.words.line("axis concentration", 0, formula=write(writer, Chemical(picture.formula)))
    return CurveFigure(
        across=_axis(writer, writer.words.line("axis time"), Unit.MIN, picture.across),
        up=_axis(writer, followed, Unit.MOL_PER_DM3, picture.up),
        points=picture.curve,
        crosses=picture.points,
    )


def _axis(writer: Writer, name: Line, unit: Unit, scale: Scale) -> Axis:
    return Axis(
        name=name,
        unit=writer.numbers.unit(unit),
        low=scale.low,
        high=scale.high,
        step=scale.step,
        divided=scale.divided,
    )


def burettes(writer: Writer, picture: BurettePicture, write: Write) -> BuretteFigure:
    """Burettes seen close, side by side."""
    views = tuple(BuretteView(write(writer, label), reading) for label, reading in picture.views)
    return BuretteFigure(views, writer.numbers.unit(Unit.CM3))
