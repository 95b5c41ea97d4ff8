"""A sheet comes in, the bytes of a tagged PDF go out; equal sheets give equal bytes. Never changes the sheet.

The steps in order: blocks lays blocks into slabs (lines sets their text), slabs fills pages, pages draws them with running matter
around, tags keeps the structure tree, ready packs both, file writes the file; joined puts several sheets into one.
"""

from __future__ import annotations

from molewright.machine.collector import resting
from molewright.nodes.blocks import Sheet
from molewright.render.pdf import file, fonts, tags
from molewright.render.pdf.pages import drawn
from molewright.render.pdf.ready import ReadySheet, ready

SUFFIX = ".pdf"


def render(sheet: Sheet) -> bytes:
    """The sheet as a PDF file. Raises Mistake for text that cannot be printed as it stands."""
    return counted(sheet)[0]


@resting()
def counted(sheet: Sheet) -> tuple[bytes, int]:
    """The sheet as a PDF file, and how many pages it has."""
    found = _ready(sheet, tags.document())
    return file.written(found), len(found.pages)


@resting()
def part(sheet: Sheet) -> ReadySheet:
    """The sheet made ready for a file of several, for `joined.Joined`. Raises Mistake for text that cannot be printed."""
    return _ready(sheet, tags.part())


def _ready(sheet: Sheet, root: tags.Element) -> ReadySheet:
    return ready(sheet, drawn(sheet, root), root)


def starts(sheet: Sheet) -> dict[str, int]:
    """The page that each bookmark of a sheet leads to, the first being page 1."""
    pages = drawn(sheet, tags.document())
    return {title: number for number, page in enumerate(pages, 1) for _, title, _ in page.bookmarks}


def require_text(text: str) -> None:
    """Raises Mistake for text that the typeface lacks, or whose letters would have to be joined, stacked or set from right to left."""
    for word in text.split():
        for face in (fonts.REGULAR, fonts.BOLD):
            fonts.runs(word, face)
