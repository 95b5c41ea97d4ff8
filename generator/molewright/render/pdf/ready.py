"""Pages and the structure tree of one sheet come in; all that a file needs of them goes out, packed, as values without any reference.

Objects are numbered from 0 in a sheet and from wherever the file has come to in a file: so a sheet can be made ready in one process and
put into a file in another. Writes no file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from molewright.nodes.blocks import Sheet
from molewright.render.pdf.fields import Field
from molewright.render.pdf.objects import packed
from molewright.render.pdf.tags import Element, in_order, with_places

_FONT_USED = re.compile(r"/(F\d\w*) [\d.]+ Tf")  # solidi inside strings are escaped, so this finds operators only


@dataclass(frozen=True, slots=True)
class Page:
    """The content of a page and the elements that own its marks, in the order of the marks."""

    content: str
    owners: list[Element]
    bookmarks: tuple[tuple[int, str, float], ...]  # depth, title, height on the page
    wide: bool = False  # on its side
    fields: tuple[Field, ...] = ()  # to type in


@dataclass(frozen=True, slots=True)
class ReadyPage:
    """One page, its content packed, and the fields that are typed into on it."""

    content: bytes
    bookmarks: tuple[tuple[int, str, float], ...]
    wide: bool
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadySheet:
    """A sheet as a file takes it. Its objects are, in this order: the pages, their fields, their contents, the elements of the tree,
    and for each page the list of those that own its marks.

    `bodies` are those of the elements and the lists, a line each, with %d wherever the number of an object stands: `numbers` are these,
    counted from the first page, but for the first, which is that of what stands above the tree.
    """

    title: str
    subject: str
    language: str
    pages: tuple[ReadyPage, ...]
    fonts: frozenset[str]
    bodies: str
    numbers: tuple[int, ...]
    elements: int  # how many, before the lists


def ready(sheet: Sheet, pages: Sequence[Page], root: Element | None) -> ReadySheet:
    """The sheet as a file takes it. Pages without a tree hold nothing that is read aloud."""
    fields = [each for page in pages for each in page.fields]
    for number, each in enumerate(fields, len(pages)):
        each.element.widget = (each.page, number)
    elements = [] if root is None else in_order(root)
    for number, element in enumerate(elements, 2 * len(pages) + len(fields)):
        element.number = number
    numbers: list[int] = []
    bodies = [with_places(element, numbers) for element in elements]
    bodies += [_owners(page.owners, numbers) for page in pages]
    for element in elements:
        element.kids.clear()  # a tree that points up and down is a circle, and would wait for the collector
    return ReadySheet(
        title=sheet.title,
        subject=sheet.subject,
        language=sheet.language,
        pages=tuple(
            ReadyPage(packed(page.content.encode("ascii")), page.bookmarks, page.wide, page.fields) for page in pages
        ),
        fonts=frozenset(name for page in pages for name in _FONT_USED.findall(page.content)),
        bodies="\n".join(bodies),
        numbers=tuple(numbers),
        elements=len(elements),
    )


def _owners(owners: Iterable[Element], numbers: list[int]) -> str:
    """The elements that own the marks of a page, in the order of the marks: what the parent tree holds for it."""
    held = [one.number for one in owners]
    numbers += held
    return f"[{' '.join(['%d 0 R'] * len(held))}]"
