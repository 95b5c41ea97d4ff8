"""Sheets of one kind come in one by one; one file of them all grows in a folder, each sheet under a bookmark of its own."""

from __future__ import annotations

from molewright.machine.files import Staging
from molewright.render import Many, ReadyPages, joined, renderer

JOINABLE = ("pdf", "text")
MOST_SHEETS = 500  # in one file: a larger one is slow to open, and to write it would need memory
_FORM_FEED = b"\x0c"
_MOST_WAITING = 500_000  # bytes that wait to be written


class JoinedSheets:
    """One file of many sheets, or as many as hold them all. A PDF grows page by page; in plain text a form feed parts the sheets."""

    def __init__(self, staging: Staging, stem: str, form: str, title: str, total: int) -> None:
        """`total` sheets will come; the files are numbered where there are several."""
        self._staging = staging
        self._form = form
        self._stem = stem
        self._title = title
        self._numbered = total > MOST_SHEETS
        self._done = 0
        self._waiting = bytearray()
        self._pages: Many | None = None
        self.blank_pages = 0  # put in so that each sheet begins on a right-hand page

    @property
    def _number(self) -> str:
        """Of the file that is written, where there are several."""
        return str((self._done + MOST_SHEETS - 1) // MOST_SHEETS) if self._numbered else ""

    @property
    def _file(self) -> str:
        return "-".join(filter(None, (self._stem, self._number))) + renderer(self._form).SUFFIX

    def _piece(self, content: bytes) -> None:
        """Keep a piece; many small ones are written at once."""
        self._waiting += content
        if len(self._waiting) >= _MOST_WAITING:
            self._write()

    def _write(self) -> None:
        if self._waiting:
            self._staging.append(self._file, bytes(self._waiting))
            self._waiting.clear()

    def add(self, sheet: ReadyPages | bytes, bookmark: str) -> int:
        """One more sheet that was made ready; how many pages it has, 0 where the form has no pages."""
        begun = self._done % MOST_SHEETS
        if self._done and not begun:
            self.finish()
        self._done += 1
        if isinstance(sheet, bytes):
            self._piece((_FORM_FEED if begun else b"") + sheet)
            return 0
        if self._pages is None:
            self._pages = joined(", ".join(filter(None, (self._title, self._number))), self._piece)
        return self._pages.add(sheet, bookmark)

    def finish(self) -> None:
        """Nothing more is added to the file that is written."""
        if self._pages is not None:
            self._pages.finish()
            self.blank_pages += self._pages.blank_pages
            self._pages = None
        self._write()
        self._staging.finish(self._file)
