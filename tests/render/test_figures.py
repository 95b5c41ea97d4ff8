"""The one list of strokes and words in each form: all of its words are drawn, and nobody draws a figure by hand."""

from __future__ import annotations

import ast
import io
import os
import re
import shutil

import pypdf
import pytest

from molewright.nodes.blocks import QuestionBlock, Sheet
from molewright.nodes.drawing.pictures import pictures
from molewright.nodes.drawing.strokes import MM, Dots, Frame, Lines, Shape, Words
from molewright.nodes.figures import Figure
from molewright.nodes.inline import Gap, Line, Text
from molewright.render import latex, pdf
from molewright.render.latex.lines import LineWriter
from molewright.render.latex.small_type import SmallType
from molewright.render.pdf.figures import SmallType as PdfType
from molewright.render.pdf.look import COLUMN, PUPIL, ROOM
from molewright.render.pdf.typesetting import Typesetting
from molewright.render.text.lines import plain_line
from shared import pdflatex
from shared.every_node import sheet
from shared.for_each import for_each
from shared.modules import MODULES
from shared.pictures import FIGURES, HalfEms, flow

needs_tex = pytest.mark.skipif(
    shutil.which("pdflatex") is None and not os.environ.get("CI"), reason="pdflatex is not on this machine"
)
FORMS = ("molewright.render.pdf", "molewright.render.latex")
LAYOUTS = re.compile(r"molewright\.nodes\.drawing\.(?!pictures$|strokes$)")
WHOLE = {"BarFigure", "BuretteFigure", "CountChart", "CurveFigure", "Figure", "FlowFigure"}


def lines_of(node: Figure) -> list[Line]:
    """Every line of words that a figure shows."""
    made = pictures(node, HalfEms(), 450.0, 650.0)
    return [line for one in made for words in one.items if isinstance(words, Words) for line, _ in words.lines if line]


def without_rules(line: Line) -> Line:
    """The line with the unit alone for each blank, whose rule is drawn and not written."""
    return tuple(Text(piece.unit) if isinstance(piece, Gap) else piece for piece in line)


def squeezed(text: str) -> str:
    return "".join(text.split())


def tikz(node: Figure) -> str:
    whole = latex.render(sheet(node)).decode()
    return whole[whole.index(r"\begin{tikzpicture}") : whole.rindex(r"\end{tikzpicture}")]


@for_each("name", FIGURES)
def test_the_pdf_draws_every_text_of_the_list(name: str) -> None:
    pages = pypdf.PdfReader(io.BytesIO(pdf.render(sheet(FIGURES[name])))).pages
    found = squeezed("".join(page.extract_text() for page in pages))
    lines = [squeezed(plain_line(without_rules(line))) for line in lines_of(FIGURES[name])]
    for said in set(lines):
        assert found.count(said) >= lines.count(said), said


@for_each("name", FIGURES)
def test_latex_draws_every_text_of_the_list(name: str) -> None:
    drawn = tikz(FIGURES[name])
    for line in lines_of(FIGURES[name]):
        assert rf"\strut {LineWriter().line(line)}\strut" in drawn
    with_words = [
        words
        for one in pictures(FIGURES[name], SmallType(), 167 * MM, 247 * MM)
        for words in one.items
        if isinstance(words, Words) and any(line for line, _ in words.lines)
    ]
    assert drawn.count(r"\node[") == len(with_words)


@for_each("name", FIGURES)
def test_latex_draws_every_stroke_of_the_list(name: str) -> None:
    drawn = tikz(FIGURES[name])
    items = [one for each in pictures(FIGURES[name], SmallType(), 167 * MM, 247 * MM) for one in each.items]
    lines = [one for one in items if isinstance(one, Lines) and one.pieces]
    assert drawn.count(" -- ") == sum(len(piece) - 1 for one in lines for piece in one.pieces) + sum(
        1 + sum(len(side) == 1 for side in one.sides) for one in items if isinstance(one, Shape)
    )
    assert drawn.count("circle[") == sum(len(one.places) for one in items if isinstance(one, Dots))
    clipped = sum(one.within is not None for one in lines)
    assert drawn.count(r"\clip ") == clipped
    assert len(re.findall(r"\\draw\[[^]]*\] \S+ rectangle", drawn)) == sum(isinstance(one, Frame) for one in items)


@for_each("name", FIGURES)
def test_the_pdf_draws_every_stroke_of_the_list(name: str) -> None:
    """Paths begun, framed and filled, counted among the operators of the page."""
    (page,) = pypdf.PdfReader(io.BytesIO(pdf.render(sheet(FIGURES[name])))).pages
    content = page.get_contents()
    assert content is not None
    operators = content.get_data().decode("latin-1")
    setting = Typesetting(look=PUPIL, expansions=(), teacher=False, question_role="H2", lay=lambda *_: [])
    made = pictures(FIGURES[name], PdfType(setting), COLUMN, ROOM)
    items = [one for each in made for one in each.items]
    begun = sum(len(one.pieces) for one in items if isinstance(one, Lines))
    begun += sum(len(one.places) for one in items if isinstance(one, Dots))
    begun += sum(
        isinstance(piece, Gap) for one in items if isinstance(one, Words) for line, _ in one.lines for piece in line
    )
    shapes = sum(isinstance(one, Shape) for one in items)
    assert len(re.findall(r"[-\d.]+ [-\d.]+ m\b", operators)) == begun + shapes
    assert operators.count(" re S") == sum(isinstance(one, Frame) for one in items)
    assert operators.count(" re W n") == sum(isinstance(one, Lines) and one.within is not None for one in items)


def test_latex_tells_a_figure_that_has_no_words_of_its_own() -> None:
    written = latex.render(sheet(flow(2))).decode()
    assert "weighed bottle: holds portion w, then rinsed with water 0" in written


def test_a_narrower_place_gets_a_narrower_picture_in_latex() -> None:
    within = sheet(QuestionBlock(number=1, stem=(flow(4),), parts=(), marks=1))
    sizes = [
        float(found)
        for made in (sheet(flow(4)), within, sheet(flow(4), wide=True))
        for found in re.findall(r"\\path \(0,0\) rectangle \(([\d.]+),", latex.render(made).decode())
    ]
    assert sizes == pytest.approx([167 * MM, 158 * MM, 254 * MM], abs=0.01)


@pytest.mark.tex
@needs_tex
def test_all_pictures_compile_without_a_complaint() -> None:
    whole, log = pdflatex.compile_with_log(latex.render(sheet(*FIGURES.values())))
    assert pdflatex.problems(log) == []
    found = squeezed("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(whole)).pages))
    for said in ("volumetricflask", "totalofall", "Slipsoftheclass", "run5", "phenolphthalein", "temperature"):
        assert said in found


@for_each("form", FORMS)
def test_no_module_of_a_form_lays_out_a_figure(form: str) -> None:
    """None knows what is inside a figure, or any layout: the list is all that a form reads."""
    seen = 0
    for name, tree in MODULES.items():
        if not f"molewright.{name}".startswith(form):
            continue
        for node in ast.walk(tree):
            if not isinstance(node, ast.ImportFrom) or node.module is None:
                continue
            assert not LAYOUTS.match(node.module), f"{name}, line {node.lineno}"
            if node.module == "molewright.nodes.figures":
                seen += 1
                assert {one.name for one in node.names} <= WHOLE, f"{name}, line {node.lineno}"
    assert seen


def sheets_are_equal(first: Sheet, second: Sheet) -> bool:
    return latex.render(first) == latex.render(second) and pdf.render(first) == pdf.render(second)


def test_a_picture_remembers_nothing() -> None:
    assert sheets_are_equal(sheet(*FIGURES.values()), sheet(*FIGURES.values()))
