"""Graphs of readings: what a reader with a ruler finds on the page is what was put into the node, in every form."""

from __future__ import annotations

import io
import os
import re
import shutil
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pdfplumber
import pypdf
import pytest

from molewright.nodes.blocks import Sheet
from molewright.nodes.drawing.label_places import PlotArea, label_places
from molewright.nodes.figures import Axis, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.render import latex, pdf, text
from shared import pdflatex

MM = 72 / 25.4
needs_tex = pytest.mark.skipif(
    shutil.which("pdflatex") is None and not os.environ.get("CI"), reason="pdflatex is not on this machine"
)
_VOLUMES = ("0.0", "4.0", "8.0", "12.0", "16.0", "20.0", "24.0")
_TEMPERATURES = ("18.0", "20.6", "22.8", "24.7", "26.6", "26.7", "26.2")
READINGS = tuple(zip(map(Decimal, _VOLUMES), map(Decimal, _TEMPERATURES), strict=True))
LINES = (((0.0, 18.0), (10.0, 23.8), (19.5, 27.8)), ((15.5, 27.3), (24.0, 26.2)))


def words(said: str) -> Line:
    return (Text(said),)


def graph(**more: Any) -> CurveFigure:
    return CurveFigure(
        across=Axis(
            name=words("volume of acid added"), unit="cm³", low=Decimal(0), high=Decimal(30), step=Decimal(5), divided=5
        ),
        up=Axis(name=words("temperature"), unit="°C", low=Decimal(17), high=Decimal(28), step=Decimal(1), divided=5),
        crosses=READINGS,
        **more,
    )


DRAWN = graph(lines=LINES, marks=(CurveMark(17.5, 27.0, words("end point at 17.5 cm³")),))


def sheet(block: CurveFigure) -> Sheet:
    return Sheet(title="Graphs", subject="Subject", kind="questions", code="CODE1", blocks=(block,))


def page_of(block: CurveFigure) -> Any:
    return pdfplumber.open(io.BytesIO(pdf.render(sheet(block)))).pages[0]


def corner(page: Any) -> tuple[float, float]:
    """Where both axes begin, by the paper's own lines."""
    right = next((word["x0"] + word["x1"]) / 2 for word in page.extract_words() if word["text"] == "30")
    frame = [line for line in page.lines if line["x1"] - line["x0"] > 122 * MM - 1]
    return right - 122 * MM, max(line["top"] for line in frame)


def slanting(page: Any) -> list[tuple[float, float]]:
    """The middles of the short slanting strokes, each once."""
    strokes = [one for one in page.lines if 3 < one["x1"] - one["x0"] < 8 and 3 < one["bottom"] - one["top"] < 8]
    middles = [((one["x0"] + one["x1"]) / 2, (one["top"] + one["bottom"]) / 2) for one in strokes]
    assert len(strokes) == 2 * len(READINGS)
    return sorted({(round(x, 1), round(y, 1)) for x, y in middles})


def test_a_ruler_on_the_page_finds_every_reading() -> None:
    page = page_of(graph())
    left, foot = corner(page)
    found = [(30 * (x - left) / (122 * MM), 17 + 11 * (foot - y) / (80 * MM)) for x, y in slanting(page)]
    assert len(found) == len(READINGS)
    for (x, y), (volume, height) in zip(found, READINGS, strict=True):
        assert x == pytest.approx(float(volume), abs=0.06)
        assert y == pytest.approx(float(height), abs=0.04)


def test_the_lines_are_drawn_only_where_they_are_given() -> None:
    def long_strokes(block: CurveFigure) -> int:
        page = page_of(block)
        slanted = [
            one for one in (*page.lines, *page.curves) if one["x1"] - one["x0"] > 60 and one["bottom"] - one["top"] > 4
        ]
        return len(slanted)

    assert long_strokes(graph(lines=LINES)) - long_strokes(graph()) == 2  # the axes are a path too


def test_the_alternative_text_tells_the_readings_as_they_are_written() -> None:
    whole = pdf.render(sheet(graph()))
    waiting = [pypdf.PdfReader(io.BytesIO(whole), strict=True).trailer["/Root"]["/StructTreeRoot"]]
    told = []
    while waiting:
        element = waiting.pop()
        if element.get("/S") == "/Figure":
            told.append(str(element["/Alt"]))
        kids = element.get("/K", [])
        kids = kids if isinstance(kids, list) else [kids]
        waiting += [kid.get_object() for kid in kids if not isinstance(kid.get_object(), int)]
    (alt,) = told
    assert alt.startswith(
        "Plotted points, volume of acid added / cm³ from 0 to 30 across, temperature / °C from 17 to 28"
    )
    assert "crosses at 0.0 cubic centimetres: 18.0 degrees Celsius, at 4.0 cubic centimetres: 20.6 degrees" in alt
    assert "straight line" not in alt


def test_text_gives_the_readings_as_a_table_and_the_lines_by_their_ends() -> None:
    written = text.render(sheet(DRAWN)).decode()
    assert max(map(len, written.split("\n"))) <= 78
    rows = [line.partition("|")[2].split() for line in written.split("\n") if re.match(r"(cm³|°C) +\|", line)]
    assert [tuple(map(Decimal, pair)) for pair in zip(rows[0], rows[1], strict=True)] == list(READINGS)
    assert "line from 0.0, 18.0 to 19.5, 27.8" in written
    assert "Marked: end point at 17.5 cm³" in written
    assert "blank axes" not in written


def test_words_beside_the_meeting_cover_no_cross_and_no_line_where_there_is_room() -> None:
    paper = PlotArea(DRAWN, 122.0, 80.0)
    (room,) = label_places(paper, [(40.0, 4.2)], 1.0)
    assert not any(room.holds(paper.x(float(x)), paper.y(float(y))) for x, y in READINGS)
    for line in LINES:
        for (x0, y0), (x1, y1) in pairwise(line):
            for part in range(21):
                assert not room.holds(paper.x(x0 + (x1 - x0) * part / 20), paper.y(y0 + (y1 - y0) * part / 20))


def places_in(line: str) -> list[tuple[float, float]]:
    """The places that a line of a picture in LaTeX names, in points of 1/72 inch from the upper left corner."""
    return [(float(x), float(y)) for x, y in re.findall(r"\((-?[\d.]+),(-?[\d.]+)\)", line)]


def test_every_reading_is_a_cross_in_latex_and_none_leaves_the_paper() -> None:
    written = latex.render(sheet(graph())).decode()
    picture = written.partition("\\begin{tikzpicture}")[2].partition("\\end{tikzpicture}")[0]
    lines = picture.split("\n")
    (drawn,) = [line for line in lines if line.count(" -- ") == 2 * len(READINGS)]
    (axes,) = [line for line in lines if "line width=1.17bp" in line]
    (_, top), (left, foot), (right, _) = places_in(axes)
    places = places_in(drawn)
    middles = [((x0 + x1) / 2, (y0 + y1) / 2) for (x0, y0), (x1, y1) in zip(places[::2], places[1::2], strict=True)]
    assert (right - left - 4, foot - top - 4) == pytest.approx((122 * MM, 80 * MM), abs=0.02)
    for (x, y), (volume, height) in zip(middles[::2], READINGS, strict=True):
        assert 30 * (x - left) / (122 * MM) == pytest.approx(float(volume), abs=0.01)
        assert 17 + 11 * (foot - y) / (80 * MM) == pytest.approx(float(height), abs=0.01)


@pytest.mark.thorough
@needs_tex
def test_graphs_compile_without_a_complaint() -> None:
    whole, log = pdflatex.compile_with_log(latex.render(sheet(DRAWN)))
    assert pdflatex.problems(log) == []
    found = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(whole)).pages)
    assert "temperature" in found
    assert "end point at 17.5" in found


def test_a_graph_is_black_and_white_and_keeps_to_the_margins() -> None:
    page = page_of(DRAWN)
    things = [*(one for one in page.chars if one["text"].strip()), *page.lines, *page.curves, *page.rects]
    assert all(one["x0"] >= 23 * MM - 1 and one["x1"] <= page.width - 18 * MM + 1 for one in things)
    colours = {str(one[key]) for one in things for key in ("stroking_color", "non_stroking_color") if one.get(key)}
    assert {float(number) for number in re.findall(r"[\d.]+", " ".join(colours))} <= {0.0, 1.0}
