"""The numbered objects of a file, read back by pypdf: what goes into an object stream, where everything lies, what is embedded."""

from __future__ import annotations

import io
import re

import pypdf
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from molewright.render.pdf import render
from molewright.render.pdf.fonts import REGULAR, _face, embedded
from molewright.render.pdf.objects import _MOST_IN_A_STREAM, Objects
from molewright.render.pdf.outlines import lean
from shared.every_node import everything


def written(count: int) -> bytes:
    """A file of many small objects, each of which tells its number."""
    pieces: list[bytes] = []
    objects = Objects(pieces.append)
    root, first = objects.reserve(), objects.reserve(count)
    objects.add_stream("", b"a stream between them")
    for number in reversed(range(first, first + count)):
        objects.fill(number, f"<</Told {number}>>")
    objects.fill(root, "<</Type /Catalog>>")
    objects.close(root, root)
    return b"".join(pieces)


@pytest.mark.parametrize("count", [1, 300, _MOST_IN_A_STREAM + 300])
def test_every_object_is_found_where_the_table_says(count: int) -> None:
    reader = pypdf.PdfReader(io.BytesIO(written(count)), strict=True)
    told = [reader.get_object(number)["/Told"] for number in range(2, 2 + count)]
    assert told == list(range(2, 2 + count))


def test_dictionaries_lie_packed_and_streams_stand_by_themselves() -> None:
    made = render(everything())
    assert b"/StructElem" not in made
    heads = re.findall(rb"obj\n<<(.*?)>>\nstream", made)
    assert len(heads) == len(re.findall(rb"\d+ 0 obj\n", made)), "an object that is no stream stands by itself"
    assert made.startswith(b"%PDF-1.7\n")


@pytest.mark.parametrize("index", [0, 1, 2, 3])
def test_a_lean_face_has_the_outlines_and_widths_of_the_whole_one(index: int) -> None:
    ttf = _face(index).ttf
    whole = ttf.makeSubset([0, *map(ord, "ABCé½ßgÅ(₂⁻ρ")])
    before, after = TTFont(io.BytesIO(whole)), TTFont(io.BytesIO(lean(whole)), checkChecksums=2)
    shapes, lean_shapes = before.getGlyphSet(), after.getGlyphSet()
    assert before.getGlyphOrder() == after.getGlyphOrder()
    for name in before.getGlyphOrder():
        assert before["hmtx"][name] == after["hmtx"][name]
        pens = BoundsPen(shapes), BoundsPen(lean_shapes)
        shapes[name].draw(pens[0])
        lean_shapes[name].draw(pens[1])
        assert pens[0].bounds == pens[1].bounds
        assert not getattr(after["glyf"][name], "program", b"")
    assert len(lean(whole)) < 0.8 * len(whole)


def test_symbols_in_use_need_no_further_part_of_the_typeface() -> None:
    assert {_face(REGULAR).coded(letter, letter)[0] for letter in "ρνΔx₁⁻"} == {"F0"}
    assert len(embedded("F0").outlines) < 9000
