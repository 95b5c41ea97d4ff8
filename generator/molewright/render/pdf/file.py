"""Pages of content, the structure tree and a sheet's titles come in; the bytes of a PDF 1.7 file go out. Lays nothing.

The objects are written straight from what is known (ISO 32000-1, 7.5): fonts stay ready-made, and the file depends on the
sheets alone. Dates are left out and the identity is made from the content, so equal sheets give equal files. A file may hold several
sheets: each goes out as soon as it is added, and only the places of its objects are kept.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from molewright.nodes.blocks import Sheet
from molewright.render.pdf.claims import grey_profile, metadata, output_intent
from molewright.render.pdf.content import hexadecimal, readable
from molewright.render.pdf.fonts import embedded
from molewright.render.pdf.look import PAGE_HEIGHT, PAGE_WIDTH
from molewright.render.pdf.objects import Objects
from molewright.render.pdf.tags import Element, element_object, in_order, owners_of

_FONT_USED = re.compile(r"/(F\d\w*) [\d.]+ Tf")  # solidi inside strings are escaped, so this finds operators only


@dataclass(frozen=True, slots=True)
class Page:
    """The content of a page and the elements that own its marks, in the order of the marks."""

    content: str
    owners: list[Element]
    bookmarks: tuple[tuple[int, str, float], ...]  # depth, title, height on the page
    wide: bool = False  # on its side


class PdfFile:
    """One file that grows by sheets. `sink` takes its bytes piece by piece."""

    def __init__(self, sink: Callable[[bytes], object], title: str, subject: str, language: str) -> None:
        self._title, self._subject, self._language = readable(title), readable(subject), readable(language)
        self._objects = Objects(sink)
        self._catalog, self._tree = self._objects.reserve(), self._objects.reserve()
        self._resources, self._structure = self._objects.reserve(), self._objects.reserve()
        self._pages: list[int] = []
        self._marked: list[tuple[int, int, str, float]] = []  # page, depth, title, height: the bookmarks
        self._fonts: set[str] = set()
        self._owners: list[int] = []  # for each page the object that tells who owns its marks
        self._root = 0  # the element that stands at the top of the structure tree

    def add(self, pages: Sequence[Page], root: Element | None, above: int = 0) -> None:
        """Write some pages and their structure tree, which hangs below the element `above` or is the whole tree itself.

        Pages without a tree hold nothing that is read aloud.
        """
        objects = self._objects
        first = objects.reserve(len(pages))
        numbers = list(range(first, first + len(pages)))
        for number, page in zip(numbers, pages, strict=True):
            width, height = (PAGE_HEIGHT, PAGE_WIDTH) if page.wide else (PAGE_WIDTH, PAGE_HEIGHT)
            content = objects.add_stream("", page.content.encode("ascii"))
            objects.fill(
                number,
                f"<</Type /Page /Parent {self._tree} 0 R /MediaBox [0 0 {width:.2f} {height:.2f}] "
                f"/Resources {self._resources} 0 R /Contents {content} 0 R /StructParents {len(self._pages)} /Tabs /S>>",
            )
            self._pages.append(number)
            self._marked += [(number, *mark) for mark in page.bookmarks]
            self._fonts.update(_FONT_USED.findall(page.content))
        if root is not None:
            self._elements(root, above or self._structure, numbers)
            self._root = root.number
        self._owners += [objects.add(owners_of(page.owners)) for page in pages]

    def _elements(self, root: Element, above: int, numbers: list[int]) -> None:
        elements = in_order(root)
        first = self._objects.reserve(len(elements))
        for number, element in enumerate(elements, first):
            element.number = number
        for element in elements:
            parent = above if element.parent is None else element.parent.number
            self._objects.fill(element.number, element_object(element, parent, numbers))

    def under_one(self) -> int:
        """The number of an element that will stand above the trees of several sheets."""
        return self._objects.reserve()

    def finish(self, above: int = 0, below: Sequence[int] = ()) -> None:
        """Write what belongs to the whole file; `above` is the element that stands above the trees `below`."""
        objects = self._objects
        if above:
            objects.fill(
                above, f"<</Type /StructElem /S /Document /P {self._structure} 0 R /K [{_references(below)}]>>"
            )
            self._root = above
        objects.fill(self._resources, f"<</Font <<{self._embedded()}>> /ProcSet [/PDF /Text]>>")
        objects.fill(self._tree, f"<</Type /Pages /Count {len(self._pages)} /Kids [{_references(self._pages)}]>>")
        outline = _outline(objects, self._marked)
        described = objects.add_open_stream(
            "/Type /Metadata /Subtype /XML", metadata(self._title, self._subject, self._language)
        )
        meant = output_intent(objects.add_stream("/N 1 ", grey_profile()))
        about = f"<</Title {hexadecimal(self._title)} /Subject {hexadecimal(self._subject)} /Creator (Molewright)>>"
        told = objects.add(about)
        owned = " ".join(f"{page} {number} 0 R" for page, number in enumerate(self._owners))
        parents = objects.add(f"<</Nums [{owned}]>>")
        objects.fill(self._structure, f"<</Type /StructTreeRoot /K {self._root} 0 R /ParentTree {parents} 0 R>>")
        objects.fill(
            self._catalog,
            f"<</Type /Catalog /Pages {self._tree} 0 R /Lang {hexadecimal(self._language)} /MarkInfo <</Marked true>> "
            f"/StructTreeRoot {self._structure} 0 R /Metadata {described} 0 R {outline}/OutputIntents [{meant}] "
            "/ViewerPreferences <</DisplayDocTitle true>>>>",
        )
        objects.close(self._catalog, told)

    def _embedded(self) -> str:
        """The fonts that the pages use, each embedded; as the entries of a font dictionary."""
        objects = self._objects
        entries: list[str] = []
        for name in sorted(self._fonts):
            font = embedded(name)
            outlines = objects.add_stream(f"/Length1 {font.outline_length}", font.outlines, packed=True)
            mapping = objects.add_stream("", font.to_unicode, packed=True)
            descriptor = objects.add(f"<<{font.descriptor}/FontFile2 {outlines} 0 R>>")
            number = objects.add(f"<<{font.font}/FontDescriptor {descriptor} 0 R/ToUnicode {mapping} 0 R>>")
            entries.append(f"/{name} {number} 0 R")
        return " ".join(entries)


def written(sheet: Sheet, pages: Sequence[Page], root: Element) -> bytes:
    """The finished file of one sheet."""
    pieces: list[bytes] = []
    file = PdfFile(pieces.append, sheet.title, sheet.subject, sheet.language)
    file.add(pages, root)
    file.finish()
    return b"".join(pieces)


def _references(numbers: Iterable[int]) -> str:
    return " ".join(f"{number} 0 R" for number in numbers)


@dataclass(slots=True)
class _Bookmark:
    """One line of the outline and what hangs below it."""

    number: int
    title: str
    place: str
    below: list[_Bookmark]


def _outline(objects: Objects, marked: Sequence[tuple[int, int, str, float]]) -> str:
    """The bookmarks as an outline; a deeper one hangs below the last that is less deep. The entry for the catalog."""
    if not marked:
        return ""
    top = _Bookmark(objects.reserve(), "", "", [])
    open_now: list[tuple[int, _Bookmark]] = [(-1, top)]
    for page, depth, title, height in marked:
        while open_now[-1][0] >= depth:
            open_now.pop()
        bookmark = _Bookmark(objects.reserve(), title, f"[{page} 0 R /XYZ null {height:.1f} null]", [])
        open_now[-1][1].below.append(bookmark)
        open_now.append((depth, bookmark))
    objects.fill(top.number, f"<</Type /Outlines {_hung(objects, top)}>>")
    return f"/Outlines {top.number} 0 R /PageMode /UseOutlines "


def _hung(objects: Objects, above: _Bookmark) -> str:
    """Write what hangs below a bookmark; the entries that lead down to it."""
    below = above.below
    if not below:
        return ""
    for index, bookmark in enumerate(below):
        links = f"/Parent {above.number} 0 R "
        links += f"/Prev {below[index - 1].number} 0 R " if index else ""
        links += f"/Next {below[index + 1].number} 0 R " if index + 1 < len(below) else ""
        down = _hung(objects, bookmark)
        objects.fill(bookmark.number, f"<</Title {hexadecimal(bookmark.title)} /Dest {bookmark.place} {links}{down}>>")
    return f"/First {below[0].number} 0 R /Last {below[-1].number} 0 R /Count {_shown(above)}"


def _shown(above: _Bookmark) -> int:
    return sum(1 + _shown(bookmark) for bookmark in above.below)
