"""The chart of counts in every form: bars in proportion, mono-safe, told to a screen reader, and never off the page."""

from __future__ import annotations

import io
import re

import pypdf
import pytest

from molewright.nodes.blocks import Sheet
from molewright.nodes.figures import CountChart, CountRow
from molewright.nodes.inline import Line, Text
from molewright.render import FORMS, renderer
from molewright.render.text.lines import COLUMNS
from shared.for_each import for_each


def words(text: str) -> Line:
    return (Text(text),)


CHART = CountChart(
    (
        CountRow(words("aliquot factor forgotten"), 12),
        CountRow(words("ratio upside down"), 6),
        CountRow(words("added"), 0),
    ),
    words("Slips of the class"),
)


def sheet(chart: CountChart) -> Sheet:
    return Sheet(title="Class report", subject="Titration", kind="report", code="CODE", blocks=(chart,))


def pdf(chart: CountChart) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(renderer("pdf").render(sheet(chart))), strict=True)


def elements(node: object, role: str) -> list[pypdf.generic.DictionaryObject]:
    found = []
    held = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(held, pypdf.generic.DictionaryObject):
        if held.get("/S") == role:
            found.append(held)
        kids = held.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            found += elements(kid, role)
    return found


def frames(content: str) -> list[float]:
    """Widths of the framed bars."""
    return [float(width) for width in re.findall(r"[-\d.]+ [-\d.]+ ([\d.]+) 9\.00 re S", content)]


def test_per_cents_are_drawn_on_a_scale_to_a_hundred_and_told_with_their_sign() -> None:
    plain = CountChart((CountRow(words("all"), 100), CountRow(words("half"), 50)))
    shares = CountChart((CountRow(words("half"), 50), CountRow(words("a fifth"), 20)), most=100, sign="\u00a0%")
    drawn = [pdf(chart).pages[0].get_contents() for chart in (plain, shares)]
    (_, half), (first, second) = (frames(one.get_data().decode("latin-1")) for one in drawn if one is not None)
    assert first == pytest.approx(half, rel=0.06)  # the sign takes a little room
    assert second / first == pytest.approx(0.4, abs=0.01)
    text = " ".join(pdf(shares).pages[0].extract_text().split())
    assert "50 %" in text
    assert "50\u00a0%" in renderer("text").render(sheet(shares)).decode()


def test_bars_of_the_pdf_are_in_proportion_and_hatched() -> None:
    content = pdf(CHART).pages[0].get_contents()
    assert content is not None
    drawn = content.get_data().decode("latin-1")
    twelve, six = frames(drawn)
    assert twelve == pytest.approx(2 * six, rel=1e-3)
    assert drawn.count(" W n ") == 2
    assert not re.search(r"\d (rg|RG|k|K)\b", drawn)  # black alone: no colour is set


def test_words_and_counts_of_the_pdf_are_text() -> None:
    text = pdf(CHART).pages[0].extract_text()
    for said in ("Slips of the class", "aliquot factor forgotten", "12", "ratio upside down", "6"):
        assert said in text


@pytest.mark.parametrize(
    ("alt", "told"),
    [
        ("", "Slips of the class; aliquot factor forgotten: 12; ratio upside down: 6; added: 0"),
        ("Two slips", "Two slips"),
    ],
)
def test_the_chart_is_a_figure_with_words_for_it(alt: str, told: str) -> None:
    reader = pdf(CountChart(CHART.rows, CHART.title, alt))
    (figure,) = elements(reader.trailer["/Root"]["/StructTreeRoot"], "/Figure")  # type: ignore[index]
    assert figure["/Alt"] == told
    assert "/BBox" in str(figure["/A"].get_object())


def test_a_chart_taller_than_a_page_is_told_in_words() -> None:
    many = CountChart(tuple(CountRow(words(f"slip number {number}"), number) for number in range(90)))
    text = "".join(page.extract_text() for page in pdf(many).pages)
    assert all(f"slip number {number}: {number}" in text for number in (0, 45, 89))


@for_each("form", FORMS)
def test_no_rows_no_chart_and_no_failure(form: str) -> None:
    renderer(form).render(sheet(CountChart(())))
    renderer(form).render(sheet(CountChart((CountRow((), 0),))))


def test_text_draws_one_sign_for_each_count_and_keeps_its_width() -> None:
    lines = renderer("text").render(sheet(CHART)).decode().splitlines()
    (twelve,) = [line for line in lines if line.startswith("aliquot")]
    assert twelve.endswith(f"| {'#' * 12} 12")
    large = CountChart((CountRow(words("long words " * 20), 3000), CountRow(words("b"), 1500)))
    lines = renderer("text").render(sheet(large)).decode().splitlines()
    assert max(map(len, lines)) <= COLUMNS
    counts = [line.count("#") for line in lines if "#" in line]
    assert counts[0] == 2 * counts[1] or counts[0] == 2 * counts[1] - 1


def test_latex_escapes_the_words_of_a_chart() -> None:
    source = renderer("latex").render(sheet(CountChart((CountRow(words(r"5 % & \input{x}"), 1),)))).decode()
    assert r"\input{x}" not in source
    assert r"\%" in source
