"""Pages of content, the structure tree and a sheet's titles come in; the bytes of a PDF 1.7 file go out. Lays nothing.

The objects are written straight from what is known (ISO 32000-1, 7.5): fonts stay ready-made, and the file depends on the
sheet alone. Dates are left out and the identity is made from the content, so equal sheets give equal files.
"""

from __future__ import annotations

import hashlib
import re
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from molewright.nodes.blocks import Sheet
from molewright.render.pdf.content import hexadecimal, readable
from molewright.render.pdf.fonts import embedded
from molewright.render.pdf.look import PAGE_HEIGHT, PAGE_WIDTH
from molewright.render.pdf.tags import Element, element_object, in_order, metadata, parent_tree

_FONT_USED = re.compile(r"/(F\d\w*) [\d.]+ Tf")  # solidi inside strings are escaped, so this finds operators only
_PACKED = 4  # zlib level: 6 gives 2 % smaller files and takes half as long again


@dataclass(frozen=True, slots=True)
class Page:
    """The content of a page and the elements that own its marks, in the order of the marks."""

    content: str
    owners: list[Element]
    bookmarks: tuple[tuple[int, str, float], ...]  # depth, title, height on the page


class _Objects:
    """The numbered objects of a file. A number may be given out before its object is written."""

    def __init__(self) -> None:
        self.bodies: list[bytes] = []

    def reserve(self, count: int = 1) -> int:
        """The number of the first of `count` objects that will be filled in later."""
        self.bodies += [b""] * count
        return len(self.bodies) - count + 1

    def fill(self, number: int, body: str) -> None:
        """Write a reserved object."""
        self.bodies[number - 1] = body.encode("ascii")

    def add(self, body: str) -> int:
        """Write the next object; its number."""
        self.bodies.append(body.encode("ascii"))
        return len(self.bodies)

    def add_stream(self, entries: str, content: bytes, *, packed: bool = False) -> int:
        """Write a stream, which is packed unless it already is; its number."""
        body = content if packed else zlib.compress(content, _PACKED)
        head = f"<<{entries}/Filter /FlateDecode /Length {len(body)}>>\nstream\n"
        self.bodies.append(b"%s%s\nendstream" % (head.encode("ascii"), body))
        return len(self.bodies)

    def file(self, root: int, about: int) -> bytes:
        """All objects with the table of their places."""
        parts = [b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"]
        at = len(parts[0])
        places: list[str] = []
        for number, body in enumerate(self.bodies, 1):
            part = b"%d 0 obj\n%s\nendobj\n" % (number, body)
            places.append(f"{at:010d} 00000 n \n")
            at += len(part)
            parts.append(part)
        count = len(places) + 1
        identity = hashlib.sha256(b"".join(parts)).hexdigest()[:32]
        parts.append(f"xref\n0 {count}\n0000000000 65535 f \n{''.join(places)}".encode("ascii"))
        trailer = f"/Size {count} /Root {root} 0 R /Info {about} 0 R /ID [<{identity}> <{identity}>]"
        parts.append(f"trailer\n<<{trailer}>>\nstartxref\n{at}\n%%EOF\n".encode("ascii"))
        return b"".join(parts)


def written(sheet: Sheet, pages: Sequence[Page], root: Element) -> bytes:
    """The finished file."""
    title, subject, language = readable(sheet.title), readable(sheet.subject), readable(sheet.language)
    objects = _Objects()
    catalog, tree = objects.reserve(), objects.reserve()
    first_page = objects.reserve(len(pages))
    numbers = list(range(first_page, first_page + len(pages)))
    resources = objects.add(f"<</Font <<{_fonts(objects, pages)}>> /ProcSet [/PDF /Text]>>")
    for index, (number, page) in enumerate(zip(numbers, pages, strict=True)):
        content = objects.add_stream("", page.content.encode("ascii"))
        objects.fill(
            number,
            f"<</Type /Page /Parent {tree} 0 R /MediaBox [0 0 {PAGE_WIDTH:.2f} {PAGE_HEIGHT:.2f}] "
            f"/Resources {resources} 0 R /Contents {content} 0 R /StructParents {index} /Tabs /S>>",
        )
    objects.fill(tree, f"<</Type /Pages /Count {len(pages)} /Kids [{_references(numbers)}]>>")
    outline = _outline(objects, pages, numbers)
    packet = metadata(title, subject, language)
    described = objects.add_stream("/Type /Metadata /Subtype /XML ", packet)
    about = objects.add(f"<</Title {hexadecimal(title)} /Subject {hexadecimal(subject)} /Creator (Molewright)>>")
    structure = _structure(objects, pages, root, numbers)
    objects.fill(
        catalog,
        f"<</Type /Catalog /Pages {tree} 0 R /Lang {hexadecimal(language)} /MarkInfo <</Marked true>> "
        f"/StructTreeRoot {structure} 0 R /Metadata {described} 0 R {outline}"
        "/ViewerPreferences <</DisplayDocTitle true>>>>",
    )
    return objects.file(catalog, about)


def _references(numbers: Iterable[int]) -> str:
    return " ".join(f"{number} 0 R" for number in numbers)


def _fonts(objects: _Objects, pages: Sequence[Page]) -> str:
    """The fonts that the pages use, each embedded; as the entries of a font dictionary."""
    entries: list[str] = []
    for name in sorted({name for page in pages for name in _FONT_USED.findall(page.content)}):
        font = embedded(name)
        outlines = objects.add_stream(f"/Length1 {font.outline_length}", font.outlines, packed=True)
        mapping = objects.add_stream("", font.to_unicode, packed=True)
        descriptor = objects.add(f"<<{font.descriptor}/FontFile2 {outlines} 0 R>>")
        number = objects.add(f"<<{font.font}/FontDescriptor {descriptor} 0 R/ToUnicode {mapping} 0 R>>")
        entries.append(f"/{name} {number} 0 R")
    return " ".join(entries)


@dataclass(slots=True)
class _Bookmark:
    """One line of the outline and what hangs below it."""

    number: int
    title: str
    place: str
    below: list[_Bookmark]


def _outline(objects: _Objects, pages: Sequence[Page], numbers: Sequence[int]) -> str:
    """The bookmarks as an outline; a deeper one hangs below the last that is less deep. The entry for the catalog."""
    marked = [(number, *mark) for number, page in zip(numbers, pages, strict=True) for mark in page.bookmarks]
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


def _hung(objects: _Objects, above: _Bookmark) -> str:
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


def _structure(objects: _Objects, pages: Sequence[Page], root: Element, numbers: list[int]) -> int:
    """Write the structure tree; the number of its root."""
    elements = in_order(root)
    tree = objects.reserve(1 + len(elements))
    for number, element in enumerate(elements, tree + 1):
        element.number = number
    for element in elements:
        parent = tree if element.parent is None else element.parent.number
        objects.fill(element.number, element_object(element, parent, numbers))
    parents = objects.add(parent_tree([page.owners for page in pages]))
    objects.fill(tree, f"<</Type /StructTreeRoot /K {root.number} 0 R /ParentTree {parents} 0 R>>")
    return tree
