"""A sheet comes in; a Word document that a teacher can edit goes out: no macro, no link, and the same bytes each time.

The steps in order: blocks writes paragraphs and tables (lines sets their words, maths their equations, pictures their figures), package
puts them into a file with the styles of look. Word breaks the pages, so nothing here knows one. Words for abbreviations, which other
forms tell a screen reader, have no place in a Word document.
"""

from __future__ import annotations

import gc

from molewright.machine.collector import resting
from molewright.nodes.blocks import Sheet
from molewright.render.docx.blocks import BlockWriter
from molewright.render.docx.lines import upright
from molewright.render.docx.look import PageLook
from molewright.render.docx.markup import require
from molewright.render.docx.package import Package

SUFFIX = ".docx"


@resting()
def render(sheet: Sheet) -> bytes:
    """The sheet as a Word file. Raises Mistake for control characters."""
    made = _written(sheet)
    # The parts of a python-docx document point at each other. A run that makes many papers looks for such circles seldom, for it has
    # few others: the documents of a class of 300 would wait for it in 300 MB.
    gc.collect(1)
    return made


def _written(sheet: Sheet) -> bytes:
    look = PageLook(
        wide=sheet.wide, pupil=sheet.kind in ("questions", "answers", "data"), name=sheet.look, tint=sheet.tint
    )
    package = Package(sheet, look)
    writer = BlockWriter(sheet, look, package.embed)
    writer.blocks(sheet.blocks)
    body = "".join(writer.made)
    return package.written(upright(body) if look.wide_set else body)


def require_text(text: str) -> None:
    """Raises Mistake for a control character, or one that turns the order of letters round."""
    require(text)
