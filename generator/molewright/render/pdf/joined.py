"""Sheets that are ready come in one by one, the bytes of one tagged PDF go out piece by piece: a class set in the order of its list."""

from __future__ import annotations

from collections.abc import Callable

from molewright.nodes.blocks import Sheet
from molewright.render.pdf import file
from molewright.render.pdf.furniture import blank_page
from molewright.render.pdf.ready import Page, ReadySheet, ready


class Joined:
    """One file of several sheets, each beginning on a right-hand page: where one ends on such a page, a blank page is put in.

    `sink` takes the bytes; only the places of what was sent are kept, so that a large class needs no more memory than a small one.
    """

    def __init__(self, sink: Callable[[bytes], object], title: str) -> None:
        self._sink = sink
        self._title = title
        self._file: file.PdfFile | None = None
        self._above = 0
        self._roots: list[int] = []
        self.pages = 0
        self.blank_pages = 0

    def add(self, sheet: ReadySheet, bookmark: str) -> int:
        """One more sheet, under a bookmark of its own; how many pages it has."""
        if self._file is None:
            self._file = file.PdfFile(self._sink, self._title, sheet.subject, sheet.language)
            self._above = self._file.under_one()
        if self.pages % 2:
            self._file.add(_blank())
            self.blank_pages += 1
            self.pages += 1
        self._roots.append(self._file.add(sheet, self._above, bookmark))
        self.pages += len(sheet.pages)
        return len(sheet.pages)

    def finish(self) -> None:
        """Nothing more is added."""
        assert self._file is not None, "a joined file of no sheet"
        self._file.finish(self._above, self._roots)


def _blank() -> ReadySheet:
    """A page on which nothing is read aloud."""
    return ready(
        Sheet(title="", subject="", kind="questions", code="", blocks=()), [Page("\n".join(blank_page()), [], ())], None
    )
