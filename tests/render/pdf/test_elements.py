"""The periodic table as PDF: on one wide page, large enough to read, a table to whoever hears it."""

from __future__ import annotations

import io
from typing import Any

import pdfplumber
import pypdf

from molewright.nodes.blocks import ElementTable, Heading, Items, Sheet
from molewright.nodes.inline import Text
from molewright.order.choices import MASSES
from molewright.render import renderer
from molewright.sheet.data_sheet import element_squares
from shared.for_each import for_each

A4_MM = (297.0, 210.0)


def rendered(masses: str) -> bytes:
    squares = element_squares(next(one for one in MASSES if one == masses))
    blocks = (
        Heading(1, (Text("Data"),)),
        ElementTable(squares, "Masses"),
        Items(tuple((Text("A rule."),) for _ in range(4))),
    )
    made = Sheet(title="Data", subject="Chemistry", kind="data", code="7KQ2", blocks=blocks, header="Data", wide=True)
    return renderer("pdf").render(made)


@for_each("masses", MASSES)
def test_all_of_it_stands_inside_one_wide_page(masses: str) -> None:
    with pdfplumber.open(io.BytesIO(rendered(masses))) as file:
        (page,) = file.pages
        assert (round(page.width / 72 * 25.4), round(page.height / 72 * 25.4)) == A4_MM
        margin = 12 / 25.4 * 72
        assert all(margin < letter["x0"] and letter["x1"] < page.width - margin for letter in page.chars)


@for_each("masses", [one for one in MASSES if one != "unrounded"])
def test_masses_are_at_least_of_ten_points(masses: str) -> None:
    expected = {square.mass for square in element_squares(next(one for one in MASSES if one == masses)) if square.mass}
    with pdfplumber.open(io.BytesIO(rendered(masses))) as file:
        words = file.pages[0].extract_words(extra_attrs=["size"])
    sizes = {word["text"]: word["size"] for word in words if word["text"] in expected and word["size"] > 9.6}
    assert set(sizes) == expected
    assert min(sizes.values()) >= 10 - 1e-6


def test_no_letter_leaves_its_square() -> None:
    """Between two neighbouring squares there is a rule, and no letter across it."""
    for masses in MASSES:
        with pdfplumber.open(io.BytesIO(rendered(masses))) as file:
            page = file.pages[0]
            upright = [rule for rule in page.rects if rule["width"] < 1 and rule["height"] > 10]
            assert len(upright) >= 2 * 118
            for letter in page.chars:
                middle = (letter["top"] + letter["bottom"]) / 2
                assert not any(
                    letter["x0"] < rule["x0"] and rule["x1"] < letter["x1"] and rule["top"] < middle < rule["bottom"]
                    for rule in upright
                ), letter["text"]


def roles(element: Any, found: dict[str, int]) -> dict[str, int]:
    if isinstance(element, pypdf.generic.IndirectObject):
        element = element.get_object()
    if isinstance(element, dict):
        role = str(element.get("/S", ""))
        found[role] = found.get(role, 0) + 1
        roles(element.get("/K"), found)
    elif isinstance(element, list):
        for one in element:
            roles(one, found)
    return found


def test_it_is_tagged_as_a_table_with_its_rows_and_headings() -> None:
    root = pypdf.PdfReader(io.BytesIO(rendered("one place"))).trailer["/Root"]["/StructTreeRoot"]
    found = roles(root["/K"], {})
    assert (found["/Table"], found["/TR"], found["/TH"], found["/TD"]) == (1, 1 + 9, 19 + 9, 9 * 18)
