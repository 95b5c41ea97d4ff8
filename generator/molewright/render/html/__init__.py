"""A sheet comes in; one HTML document that needs no other file goes out. No script, nothing loaded from outside.

The words are made here, the look stands in templates/html.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from molewright.machine import places
from molewright.machine.collector import resting
from molewright.machine.templates import templates_in
from molewright.nodes.blocks import Block, FrontBlock, Heading, Sheet, Together
from molewright.render.html.blocks import BlockWriter
from molewright.render.html.escape import css_string
from molewright.render.html.look import names, tints
from molewright.render.text.lines import plain_line

if TYPE_CHECKING:
    from molewright.machine.templates import Template

__all__ = ["SUFFIX", "fragment", "look", "placed", "render", "require_text"]

SUFFIX = ".html"


@resting()
def render(sheet: Sheet) -> bytes:
    """The whole sheet as a document in UTF-8, dark on a dark screen; equal sheets give equal bytes."""
    return _whole(sheet, "light dark", _look("dark.css"))


def as_paper(sheet: Sheet) -> bytes:
    """The same document as it looks on paper, on a dark screen too."""
    return _whole(sheet, "light", "")


def _whole(sheet: Sheet, schemes: str, more: str) -> bytes:
    title = _printed_title(sheet.blocks)
    return (
        _document()
        .render(
            sheet=sheet,
            names=names(sheet),
            header="" if sheet.header == title else sheet.header,
            titled=bool(title),
            code_in_css=css_string(sheet.code),
            look=look() + _look("page.css") + more,
            schemes=schemes,
            blocks=BlockWriter(sheet).blocks(sheet.blocks),
        )
        .encode()
    )


def fragment(sheet: Sheet) -> str:
    """The blocks of a sheet with their look, to stand in a page of another's, which they leave as it is."""
    return f"<style>{look()}</style>\n{placed(sheet)}"


def placed(sheet: Sheet) -> str:
    """The same blocks without their look: for a page that links `look` once for many of them."""
    return f'<div class="{names(sheet)} shown">\n{BlockWriter(sheet).blocks(sheet.blocks)}\n</div>\n'


def look() -> str:
    """The style sheet of what stands in a page of another's; every rule of it begins at `.molewright`."""
    return _look("sheet.css") + tints()


def require_text(text: str) -> None:
    """A browser shows every letter, and joins and orders them."""


def _printed_title(blocks: tuple[Block, ...]) -> str:
    """The heading that the sheet itself begins with, or ""."""
    for block in blocks[:2]:
        for one in block.blocks if isinstance(block, Together) else (block,):
            if isinstance(one, FrontBlock):
                return one.title
            if isinstance(one, Heading) and one.level == 1:
                return plain_line(one.line)
    return ""


@cache
def _look(name: str) -> str:
    return (places.templates() / "html" / name).read_text("utf-8")


@cache
def _document() -> Template:
    return templates_in("html", keep_trailing_newline=True).get_template("sheet.html.jinja")
