"""Figures that are read: what a reader with a ruler finds on the page, by pdfplumber and pypdf, is what was put into the node."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pdfplumber
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.chem.curve import Titration
from molewright.chem.equilibrium import Solute
from molewright.nodes.blocks import Block, Sheet
from molewright.nodes.drawing.label_places import PlotArea, label_places
from molewright.nodes.drawing.scales import readings, standing, value_at, window
from molewright.nodes.figures import Axis, BuretteFigure, BuretteView, CurveBand, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.render import latex, pdf, text
from shared import pdflatex
from shared.acids_and_bases import strong_acid, strong_base

MM = 72 / 25.4
PH_CURVES = json.loads((Path(__file__).parents[1] / "reference" / "ph_curves.json").read_text("utf-8"))["curves"]
needs_tex = pytest.mark.skipif(
    shutil.which("pdflatex") is None and not os.environ.get("CI"), reason="pdflatex is not on this machine"
)

EVERY_READING = [Decimal(place) / 20 for place in range(1000)]
_COUNTED = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


def words(said: str) -> Line:
    return (Text(said),)


def sheet(*blocks: Block) -> Sheet:
    return Sheet(title="Figures", subject="Subject", kind="questions", code="CODE1", blocks=blocks)


def burettes(*found: str, unit: str = "cm³") -> BuretteFigure:
    return BuretteFigure(tuple(BuretteView(words(f"run {n}"), Decimal(one)) for n, one in enumerate(found)), unit)


def axes(**more: Any) -> CurveFigure:
    return CurveFigure(
        across=Axis(
            name=words("volume of alkali added"),
            unit="cm³",
            low=Decimal(0),
            high=Decimal(50),
            step=Decimal(5),
            divided=5,
        ),
        up=Axis(name=words("pH"), unit="", low=Decimal(0), high=Decimal(14), step=Decimal(1), divided=2),
        **more,
    )


def drawn(titration: Titration) -> tuple[tuple[float, float], ...]:
    curve = titration.drawn(50.0, 160)
    return tuple(zip(curve.volumes_cm3, curve.phs, strict=True))


ETHANOIC = Titration(flask=(Solute((4.76,), 1, 0.1),), flask_cm3=25.0, titrant=(strong_base(0.1),))
MARKED = axes(
    points=drawn(ETHANOIC),
    marks=(
        CurveMark(25.0, 8.7, words("end point at 25.0 cm³")),
        CurveMark(12.5, 4.76, words("half-way")),
        CurveMark(27.0, 7.0, words("steep from 7 to 10"), 10.0),
    ),
    bands=(CurveBand(3.1, 4.4, words("methyl orange")), CurveBand(8.2, 10.0, words("phenolphthalein"))),
)


def page_of(block: Block) -> Any:
    return pdfplumber.open(io.BytesIO(pdf.render(sheet(block)))).pages[0]


def figure_alt(block: Block) -> str:
    """The alternative text of the one figure, as pypdf reads it from the structure tree."""
    root = pypdf.PdfReader(io.BytesIO(pdf.render(sheet(block))), strict=True).trailer["/Root"]
    waiting, found = [root["/StructTreeRoot"]], []
    while waiting:
        element = waiting.pop()
        if element.get("/S") == "/Figure":
            found.append(str(element["/Alt"]))
        kids = element.get("/K", [])
        kids = kids if isinstance(kids, list) else [kids]
        waiting += [kid.get_object() for kid in kids if not isinstance(kid.get_object(), int)]
    assert len(found) == 1
    return found[0]


# ---------------------------------------------------------------- burettes


def counted(told: str) -> Decimal:
    """The reading that someone finds who only hears where the meniscus stands: lines counted as on a real scale."""
    numbers = [int(found) for found in re.findall(r"numbered (\d+)", told)]
    lines = [_COUNTED.index(found) + 1 for found in re.findall("|".join(_COUNTED), told)]
    reading = Decimal(numbers[0]) + Decimal(lines[0] if lines else 0) / 10
    if not told.startswith("midway"):
        return reading
    if len(numbers) == 1 and len(lines) == 1:  # between a numbered line and the first one below it
        return reading - Decimal("0.05")
    return reading + Decimal("0.05")


def test_the_words_of_every_reading_lead_back_to_it() -> None:
    assert [counted(standing(reading)) for reading in EVERY_READING] == EVERY_READING


@pytest.mark.parametrize("reading", ["0.00", "0.05", "23.35", "23.95", "49.50"])
def test_a_window_shows_the_reading_and_numbered_lines_and_nothing_above_zero(reading: str) -> None:
    piece = window(Decimal(reading))
    lines = piece.divisions()
    assert piece.top < Decimal(reading) < piece.bottom
    assert lines[0].value >= 0
    assert lines[-1].value <= 50
    assert sum(bool(line.number) for line in lines) >= 2
    assert [line.number for line in lines if line.length == "long"] == [
        str(line.value)[:-2] for line in lines if not line.value % 1
    ]


def test_windows_of_readings_between_the_same_numbers_are_few() -> None:
    # the window must not tell the reading: ten readings share one
    assert len({window(Decimal(place) / 20) for place in range(400, 420)}) == 2


def lowest(crescent: Any) -> float:
    """The lowest place of a filled shape of Bézier curves, found by walking along them."""
    start, found = crescent["path"][0][1], []
    for kind, *points in crescent["path"][1:]:
        assert kind == "c"
        ys = [start[1], *(y for _, y in points)]
        for step in range(201):
            s = step / 200
            found.append(
                (1 - s) ** 3 * ys[0] + 3 * s * (1 - s) ** 2 * ys[1] + 3 * s * s * (1 - s) * ys[2] + s**3 * ys[3]
            )
        start = points[-1]
    return max(found)


@pytest.mark.parametrize("reading", ["0.70", "3.15", "23.35", "23.95", "31.50"])
def test_the_lowest_place_of_the_meniscus_stands_at_the_reading_on_the_printed_scale(reading: str) -> None:
    page = page_of(burettes(reading))
    scale = [line for line in page.lines if line["x1"] - line["x0"] > 10 and line["top"] == line["bottom"]]
    numbered = {}
    for word in page.extract_words():
        if re.fullmatch(r"\d{1,2}", word["text"]) and 80 < word["top"] < 300:
            middle = (word["top"] + word["bottom"]) / 2
            near = [line for line in scale if abs(line["top"] - middle) < 4]
            numbered[int(word["text"])] = max(near, key=lambda line: line["x1"] - line["x0"])["top"]
    low, high = min(numbered), max(numbered)
    assert numbered[low] < numbered[high], "the numbers rise downwards"
    between = {round(line["top"], 1) for line in scale if numbered[low] < line["top"] <= numbered[high]}
    assert len(between) == 10 * (high - low)
    bottom = lowest(max(page.curves, key=lambda one: one["x1"] - one["x0"]))
    found = low + (bottom - numbered[low]) / (numbered[high] - numbered[low]) * (high - low)
    assert found == pytest.approx(float(reading), abs=0.005)


@pytest.mark.parametrize("reading", ["3.15", "23.35", "31.90"])
def test_no_form_of_the_figure_says_the_reading(reading: str) -> None:
    block = burettes("1.05", reading)
    in_latex = re.sub(r"\([^()]*\)", "", latex.render(sheet(block)).decode())  # without the places of lines
    for form in (in_latex, text.render(sheet(block)).decode(), figure_alt(block)):
        assert reading not in form
    page_words = pypdf.PdfReader(io.BytesIO(pdf.render(sheet(block)))).pages[0].extract_text()
    assert reading not in page_words
    assert counted(figure_alt(block).split("run 1: the bottom of the meniscus is ")[1]) == Decimal(reading)


def test_text_tells_each_meniscus_by_its_lines() -> None:
    written = " ".join(text.render(sheet(burettes("0.30", "23.35", unit="mL"))).decode().split())
    assert "ten divisions to 1 mL" in written
    assert "run 0: the bottom of the meniscus is level with the third line below the line numbered 0." in written
    assert "run 1: the bottom of the meniscus is midway between the third and the fourth line below the line" in written


# ---------------------------------------------------------------- curves


def titrations() -> list[Any]:
    """The curves of OpenStax Chemistry 2e, 14.7, up to the volume of a burette, as they are drawn."""
    found = []
    for curve in PH_CURVES:
        acid = strong_acid(curve["acid_mol_dm3"])
        if curve["ka"]:
            from math import log10

            acid = Solute((-log10(curve["ka"]),), 1, curve["acid_mol_dm3"])
        made = Titration(flask=(acid,), flask_cm3=curve["flask_cm3"], titrant=(strong_base(curve["alkali_mol_dm3"]),))
        found.append(pytest.param(made, curve["printed"], id=curve["name"]))
    return found


@pytest.mark.parametrize(("titration", "printed"), titrations())
def test_the_drawn_points_pass_through_published_values(titration: Titration, printed: list[list[str]]) -> None:
    # OpenStax, Chemistry 2e, 14.7; straight pieces between drawn points may miss by less than a pen's width
    points = drawn(titration)
    for volume, ph in printed:
        assert value_at(points, float(volume)) == pytest.approx(float(ph), abs=0.03), volume


def test_a_ruler_on_the_page_finds_published_values() -> None:
    # CH3COOH with NaOH, OpenStax, Chemistry 2e, 14.7: pH 4.57 at 10, 5.35 at 20, 11.96 at 30, 12.36 at 40 cm3
    page = page_of(axes(points=drawn(ETHANOIC)))
    width, height = 122 * MM, 80 * MM
    path = max(page.curves, key=lambda one: len(one["pts"]))["pts"]
    zero = next(word for word in page.extract_words() if word["text"] == "50")
    right = (zero["x0"] + zero["x1"]) / 2
    left = right - width
    assert path[0][0] == pytest.approx(left, abs=0.3)
    frame = [line for line in page.lines if line["x1"] - line["x0"] > width - 1]
    foot, top = max(line["top"] for line in frame), min(line["top"] for line in frame)
    assert foot - top == pytest.approx(height, abs=0.5)
    places = tuple((50 * (x - left) / width, 14 * (foot - y) / height) for x, y in path)
    for volume, ph in ((10, 4.57), (20, 5.35), (30, 11.96), (40, 12.36)):
        assert value_at(places, volume) == pytest.approx(ph, abs=0.05)


def test_blank_axes_have_a_grid_and_no_curve() -> None:
    page = page_of(axes())
    assert not [one for one in page.curves if len(one["pts"]) > 4]
    level = {round(one["top"], 1) for one in page.lines if one["x1"] - one["x0"] > 300}
    assert len(level) == 29  # from 0 to 14 in halves
    assert "50" in page.extract_text()
    assert "volume of alkali added / cm³" in page.extract_text()


@pytest.mark.parametrize("block", [burettes("0.30", "23.35"), burettes(*["9.95"] * 6), axes(), MARKED])
def test_a_figure_keeps_to_the_margins(block: Block) -> None:
    page = page_of(block)
    letters = [one for one in page.chars if one["text"].strip()]
    for one in (*letters, *page.lines, *page.curves, *page.rects):
        assert one["x0"] >= 23 * MM - 1
        assert one["x1"] <= page.width - 18 * MM + 1


def test_a_figure_is_black_and_white_only() -> None:
    page = page_of(MARKED)
    drawn_things = (*page.chars, *page.lines, *page.curves, *page.rects)
    colours = {
        str(one[key]) for one in drawn_things for key in ("stroking_color", "non_stroking_color") if one.get(key)
    }
    assert {float(number) for number in re.findall(r"[\d.]+", " ".join(colours))} <= {0.0, 1.0}
    assert not re.search(r"color|gray!|black!", latex.render(sheet(MARKED)).decode().partition("\\begin{document}")[2])


def test_a_curve_is_told_in_words_with_its_values_marks_and_strips() -> None:
    told = figure_alt(MARKED)
    assert told.startswith("Curve, volume of alkali added / cm³ from 0 to 50 across, pH from 0 to 14 upwards")
    assert "points at 0 cubic centimetres: pH" in told
    assert "at 10 cubic centimetres: pH 4.6, at " in told
    assert "marked: end point at 25.0 cm³" in told
    assert "strip from 8.2 to 10.0: phenolphthalein" in told
    assert figure_alt(axes()).startswith("Blank axes to draw on")


def test_text_gives_the_curve_as_a_table_of_values() -> None:
    written = text.render(sheet(MARKED)).decode()
    assert max(map(len, written.split("\n"))) <= 78
    values = {}
    rows = [line.partition("|")[2].split() for line in written.split("\n") if re.match(r"(cm³|pH ) ", line)]
    for volumes, phs in zip(rows[::2], rows[1::2], strict=True):
        values.update(zip(volumes, phs, strict=True))
    # OpenStax, Chemistry 2e, 14.7, to one place
    assert (values["10"], values["15"], values["30"], values["40"]) == ("4.6", "4.9", "12.0", "12.4")
    assert len(values) == 51


def test_a_steep_part_is_told_more_closely_than_the_rest() -> None:
    told = [x for x, _ in readings(axes(points=drawn(ETHANOIC)), every=False)]
    assert {"24", "25", "26"} <= set(told)
    assert "37" not in told


@given(
    st.floats(1, 49), st.floats(0.5, 13.5), st.floats(0.5, 13.5), st.lists(st.floats(10, 60), min_size=4, max_size=4)
)
def test_words_beside_marks_stand_in_the_plot_and_clear_of_each_other(
    volume: float, low: float, high: float, wides: list[float]
) -> None:
    marks = (
        CurveMark(0.0, 3.0, words("a")),
        CurveMark(volume, 8.0, words("b")),
        CurveMark(volume / 2, 5.0, words("c")),
        CurveMark(min(volume + 2, 49), low, words("d"), high),
    )
    rooms = label_places(PlotArea(axes(marks=marks), 122.0, 80.0), [(wide, 4.2) for wide in wides], 1.0)
    for place, room in enumerate(rooms):
        assert room.x >= 0
        assert room.y >= 0
        assert room.x + room.wide <= 122.001
        assert room.y + room.tall <= 80.001
        assert not any(room.meets(other) for other in rooms[:place])


# ---------------------------------------------------------------- LaTeX


@pytest.mark.thorough
@needs_tex
def test_the_figures_compile_without_a_complaint_and_hold_their_words() -> None:
    made = sheet(burettes("0.30", "23.35"), axes(), MARKED)
    whole, log = pdflatex.compile_with_log(latex.render(made))
    assert pdflatex.problems(log) == []
    found = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(whole)).pages)
    for said in ("run 0", "23", "24", "volume of alkali added", "phenolphthalein", "end point at 25.0"):
        assert said in found


def test_latex_escapes_the_words_of_a_figure() -> None:
    hostile = BuretteFigure((BuretteView(words("50 % \\input{x} _"), Decimal("1.05")),), "cm³", alt="#1 \\x")
    written = latex.render(sheet(hostile)).decode()
    assert "\\input{x}" not in written
    assert "\\x}" not in written
