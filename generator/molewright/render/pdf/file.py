"""Sheets that are ready for it come in; the bytes of a PDF 1.7 file go out. Lays nothing.

The objects are written straight from what is known (ISO 32000-1, 7.5): fonts stay ready-made, and the file depends on the
sheets alone. Dates are left out and the identity is made from the content, so equal sheets give equal files. A file may hold several
sheets: each goes out as soon as it is added, and only the places of its objects are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from molewright.render.pdf.claims import grey_profile, metadata, output_intent
from molewright.render.pdf.content import hexadecimal, readable
from molewright.render.pdf.fields import Field, empty_look, form_dictionary, widget_dictionary
from molewright.render.pdf.fonts import Embedded, embedded, typed
from molewright.render.pdf.look import PAGE_HEIGHT, PAGE_WIDTH
from molewright.render.pdf.objects import Objects
from molewright.render.pdf.ready import ReadySheet


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

    def add(self, sheet: ReadySheet, above: int = 0, called: str = "") -> int:
        """Write a sheet; its structure tree hangs below the element `above`, or is the whole tree itself.

        `called` is a bookmark that the sheet is found by, above its own. The number of the root of its tree, 0 where it has none.
        """
        objects = self._objects
        fields = [(number, each) for number, page in enumerate(sheet.pages) for each in page.fields]
        first = objects.reserve(len(sheet.pages) + len(fields))
        annotations = range(first + len(sheet.pages), first + len(sheet.pages) + len(fields))
        keys = len(self._owners)
        for number, page in enumerate(sheet.pages):
            width, height = (PAGE_HEIGHT, PAGE_WIDTH) if page.wide else (PAGE_WIDTH, PAGE_HEIGHT)
            content = objects.add_stream("", page.content, ready=True)
            held = [one for one, (at, _) in zip(annotations, fields, strict=True) if at == number]
            annotated = f"/Annots [{_references(held)}] " if held else ""
            objects.fill(
                first + number,
                f"<</Type /Page /Parent {self._tree} 0 R /MediaBox [0 0 {width:.2f} {height:.2f}] "
                f"/Resources {self._resources} 0 R /Contents {content} 0 R {annotated}/StructParents {keys + number} /Tabs /S>>",
            )
            self._pages.append(first + number)
            below = page.bookmarks
            if called:
                below = tuple((depth + 1, title, tall) for depth, title, tall in below)
                below = below if number else ((0, called, PAGE_HEIGHT), *below)
            self._marked += [(first + number, *mark) for mark in below]
        self._fonts |= sheet.fonts
        named = [first + number for number in sheet.numbers]
        if sheet.elements:
            named[0] = above or self._structure
        bodies = (sheet.bodies % tuple(named)).encode("ascii").split(b"\n")
        root = objects.fill_all(bodies)
        owners = root + sheet.elements
        self._owners += [f"{number} 0 R" for number in range(owners, owners + len(sheet.pages))]
        for number, (at, each) in zip(annotations, fields, strict=True):
            self._typed(each, number, first + at, first + each.element.number)
        if sheet.elements:
            self._root = root
        return root if sheet.elements else 0

    def _typed(self, each: Field, annotation: int, page: int, element: int) -> None:
        """Write a field to type in."""
        entries, content = empty_look(each)  # its own: whoever fills a field may write into what it looks like
        look = self._objects.add_stream(entries, content.encode("ascii"))
        self._objects.fill(annotation, widget_dictionary(each, page, look, len(self._owners)))
        self._owners.append(f"{element} 0 R")
        self._fields.append(annotation)

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
        outlines = objects.add_stream(f"/Length1 {font.outline_length}", font.outlines, ready=True)
        descriptor = objects.add(f"<<{font.descriptor}/FontFile2 {outlines} 0 R>>")
        mapping = objects.add_stream("", font.to_unicode, ready=True)
        return objects.add(f"<<{font.font}/FontDescriptor {descriptor} 0 R/ToUnicode {mapping} 0 R>>")

    def _form(self) -> str:
        """The entry of the catalog for what is filled in on screen."""
        if not self._fields:
            return ""
        return f"/AcroForm {self._objects.add(form_dictionary(self._fields, self._face(typed())))} 0 R "


def written(sheet: ReadySheet) -> bytes:
    """The finished file of one sheet."""
    pieces: list[bytes] = []
    file = PdfFile(pieces.append, sheet.title, sheet.subject, sheet.language)
    file.add(sheet)
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
