"""Sheets of one kind come in one by one; one file of them all grows in a folder, each sheet under a bookmark of its own."""

from __future__ import annotations

from molewright.machine.files import Staging
from molewright.nodes.blocks import Sheet
from molewright.render import joined, renderer

JOINABLE = ("pdf", "text")
_FORM_FEED = b"\x0c"
_MOST_WAITING = 500_000  # bytes that wait to be written


class JoinedSheets:
    """One file of many sheets. A PDF grows page by page; in plain text a form feed parts the sheets."""

    def __init__(self, staging: Staging, stem: str, form: str, title: str) -> None:
        self._staging = staging
        self._form = form
        self.name = stem
        self._file = f"{stem}{renderer(form).SUFFIX}"
        self._begun = False
        self._waiting = bytearray()
        self._pages = joined(title, self._piece) if form == "pdf" else None

    def _piece(self, content: bytes) -> None:
        """Keep a piece; many small ones are written at once."""
        self._waiting += content
        if len(self._waiting) >= _MOST_WAITING:
            self._write()

    def _write(self) -> None:
        if self._waiting:
            self._staging.append(self._file, bytes(self._waiting))
            self._waiting.clear()

    def add(self, sheet: Sheet, bookmark: str) -> int:
        """One more sheet; how many pages it has, 0 where the form has no pages."""
        if self._pages is not None:
            return self._pages.add(sheet, bookmark)
        self._piece((_FORM_FEED if self._begun else b"") + renderer(self._form).render(sheet))
        self._begun = True
        return 0

    @property
    def blank_pages(self) -> int:
        """Pages put in so that each sheet begins on a right-hand one."""
        return self._pages.blank_pages if self._pages is not None else 0

    def finish(self) -> None:
        """Nothing more is added."""
        if self._pages is not None:
            self._pages.finish()
        self._write()
        self._staging.finish(self._file)
