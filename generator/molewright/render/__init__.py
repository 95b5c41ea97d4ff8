"""A sheet comes in, the bytes of one printed form go out; FORMS says which forms there are. Draws nothing itself."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Protocol, cast

from molewright.errors import Mistake, nearest, shortened
from molewright.nodes.blocks import Sheet

FORMS: dict[str, str] = {
    "pdf": "molewright.render.pdf",
    "latex": "molewright.render.latex",
    "html": "molewright.render.html",
    "text": "molewright.render.text",
    "docx": "molewright.render.docx",
}
PAGED = ("pdf",)
"""Forms whose pages are laid here, and so counted."""
PAGED_LATER = ("latex", "docx")
"""Forms whose pages are made by the program that turns them into paper. All others have none."""


class Renderer(Protocol):
    """What every module named in FORMS offers."""

    SUFFIX: str

    def render(self, sheet: Sheet) -> bytes:
        """The whole sheet in this form; equal sheets give equal bytes."""

    def require_text(self, text: str) -> None:
        """Raises Mistake for text that this form cannot show as it stands."""


class ReadyPages(Protocol):
    """A sheet drawn as PDF and made ready for a file of many: plain values, which can be sent from one process to another."""

    @property
    def language(self) -> str:
        """Of the sheet."""


class Many(Protocol):
    """One PDF file of many sheets, which grows sheet by sheet."""

    blank_pages: int

    def add(self, sheet: ReadyPages, bookmark: str) -> int:
        """One more sheet under a bookmark; how many pages it has."""

    def finish(self) -> None:
        """Nothing more is added."""


def joined(title: str, sink: Callable[[bytes], object]) -> Many:
    """A PDF file of many sheets, imported only now; `sink` takes its bytes piece by piece."""
    made = import_module("molewright.render.pdf.joined").Joined(sink, title)
    return cast(Many, made)


def ready(form: str, sheet: Sheet) -> ReadyPages | bytes:
    """The sheet made ready to be joined with others: drawn for `joined`, or of any form but PDF the bytes that stand in the file."""
    if form != "pdf":
        return renderer(form).render(sheet)
    made: ReadyPages = import_module(FORMS[form]).part(sheet)
    return made


def counted(form: str, sheet: Sheet) -> tuple[bytes, int]:
    """The whole sheet in a form, and how many pages it has: 0 where the form is not one of PAGED."""
    if form in PAGED:
        found: tuple[bytes, int] = import_module(FORMS[form]).counted(sheet)
        return found
    return renderer(form).render(sheet), 0


def starts(sheet: Sheet) -> dict[str, int]:
    """The page of the printed sheet that each of its headings stands on, the first being page 1."""
    found: dict[str, int] = import_module("molewright.render.pdf").starts(sheet)
    return found


def as_paper(sheet: Sheet) -> bytes:
    """The whole sheet as HTML that looks as on paper, on a dark screen too."""
    made: bytes = import_module("molewright.render.html").as_paper(sheet)
    return made


def fragment(sheet: Sheet) -> str:
    """The blocks of a sheet as HTML with their look, to stand in a page of another's."""
    made: str = import_module("molewright.render.html").fragment(sheet)
    return made


def placed(sheet: Sheet) -> str:
    """The blocks of a sheet as HTML without their look, for a page that links `look_of_placed` once."""
    made: str = import_module("molewright.render.html").placed(sheet)
    return made


def look_of_placed() -> str:
    """The style sheet for what `placed` makes."""
    made: str = import_module("molewright.render.html").look()
    return made


def renderer(form: str) -> Renderer:
    """The renderer of a form, imported only now. Raises Mistake for a form that is not in FORMS."""
    module = FORMS.get(form)
    if module is None:
        raise Mistake(
            f"the form {shortened(form)} is not known", expected=" or ".join(FORMS), near=nearest(form, FORMS)
        )
    return cast(Renderer, import_module(module))
