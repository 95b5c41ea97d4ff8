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
from molewright.render.pdf.fields import Field, empty_look, form_dictionary, widget_dictionary
from molewright.render.pdf.fonts import Embedded, embedded, typed
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
    fields: tuple[Field, ...] = ()  # to type in


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
        self._owners: list[str] = []  # for each key of the parent tree who owns it: the marks of a page, or one field
        self._fields: list[int] = []
        self._root = 0  # the element that stands at the top of the structure tree

    def add(self, pages: Sequence[Page], root: Element | None, above: int = 0) -> None:
        """Write some pages and their structure tree, which hangs below the element `above` or is the whole tree itself.

        Pages without a tree hold nothing that is read aloud.
        """
        objects = self._objects
        first = objects.reserve(len(pages))
        numbers = list(range(first, first + len(pages)))
        keys = len(self._owners)
        annotations = [self._reserved(page.fields) for page in pages]
        for key, (number, page, held) in enumerate(zip(numbers, pages, annotations, strict=True), keys):
            width, height = (PAGE_HEIGHT, PAGE_WIDTH) if page.wide else (PAGE_WIDTH, PAGE_HEIGHT)
            content = objects.add_stream("", page.content.encode("ascii"))
            annotated = f"/Annots [{_references(held)}] " if held else ""
            objects.fill(
                number,
                f"<</Type /Page /Parent {self._tree} 0 R /MediaBox [0 0 {width:.2f} {height:.2f}] "
                f"/Resources {self._resources} 0 R /Contents {content} 0 R {annotated}/StructParents {key} /Tabs /S>>",
            )
            self._pages.append(number)
            self._marked += [(number, *mark) for mark in page.bookmarks]
            self._fonts.update(_FONT_USED.findall(page.content))
        if root is not None:
            self._elements(root, above or self._structure, numbers)
            self._root = root.number
        self._owners += [f"{objects.add(owners_of(page.owners))} 0 R" for page in pages]
        for number, page, held in zip(numbers, pages, annotations, strict=True):
            self._written(page.fields, held, number)

    def _reserved(self, fields: Sequence[Field]) -> list[int]:
        """Numbers for the annotations of fields, which their elements name."""
        first = self._objects.reserve(len(fields))
        for number, each in enumerate(fields, first):
            each.element.widget = (each.page, number)
        return list(range(first, first + len(fields)))

    def _written(self, fields: Sequence[Field], annotations: Sequence[int], page: int) -> None:
        for each, number in zip(fields, annotations, strict=True):
            entries, content = empty_look(each)  # its own: whoever fills a field may write into what it looks like
            look = self._objects.add_stream(entries, content.encode("ascii"))
            body = widget_dictionary(each, page, look, len(self._owners))
            self._objects.fill(number, body)
            self._owners.append(f"{each.element.number} 0 R")
            self._fields.append(number)

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
        owned = " ".join(f"{key} {owner}" for key, owner in enumerate(self._owners))
        parents = objects.add(f"<</Nums [{owned}]>>")
        objects.fill(self._structure, f"<</Type /StructTreeRoot /K {self._root} 0 R /ParentTree {parents} 0 R>>")
        objects.fill(
            self._catalog,
            f"<</Type /Catalog /Pages {self._tree} 0 R /Lang {hexadecimal(self._language)} /MarkInfo <</Marked true>> "
            f"/StructTreeRoot {self._structure} 0 R /Metadata {described} 0 R {outline}{self._form()}/OutputIntents [{meant}] "
            "/ViewerPreferences <</DisplayDocTitle true>>>>",
        )
        objects.close(self._catalog, told)

    def _embedded(self) -> str:
        """The fonts that the pages use, each embedded; as the entries of a font dictionary."""
        return " ".join(f"/{name} {self._face(embedded(name))} 0 R" for name in sorted(self._fonts))

    def _face(self, font: Embedded) -> int:
        objects = self._objects
        outlines = objects.add_stream(f"/Length1 {font.outline_length}", font.outlines, packed=True)
        descriptor = objects.add(f"<<{font.descriptor}/FontFile2 {outlines} 0 R>>")
        mapping = objects.add_stream("", font.to_unicode, packed=True)
        return objects.add(f"<<{font.font}/FontDescriptor {descriptor} 0 R/ToUnicode {mapping} 0 R>>")

    def _form(self) -> str:
        """The entry of the catalog for what is filled in on screen."""
        if not self._fields:
            return ""
        return f"/AcroForm {self._objects.add(form_dictionary(self._fields, self._face(typed())))} 0 R "


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
