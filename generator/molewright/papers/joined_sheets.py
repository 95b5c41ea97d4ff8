"""Sheets of one kind come in one by one; one file of them all grows in a folder, each sheet under a bookmark of its own."""

from __future__ import annotations

from molewright.machine.files import Staging
from molewright.nodes.blocks import Sheet
from molewright.render import joined, renderer

JOINABLE = ("pdf", "text")
_FORM_FEED = b"\x0c"


class JoinedSheets:
    """One file of many sheets. A PDF grows page by page; in plain text a form feed parts the sheets."""

    def __init__(self, staging: Staging, stem: str, form: str, title: str) -> None:
        self._staging = staging
        self._form = form
        self.name = stem
        self._file = f"{stem}{renderer(form).SUFFIX}"
        self._pages = joined(title, self._piece) if form == "pdf" else None
        self._begun = False

    def _piece(self, content: bytes) -> None:
        self._staging.append(self._file, content)

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
        self._staging.finish(self._file)
